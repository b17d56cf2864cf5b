"""The policy of a vehicle: what is laid down, the form, and every version that there was."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Fault, Refused
from register.models import Vehicle
from register.policy import may
from register.services import vehicle_policies as service
from register.web.asking import asking
from register.web.proposal_forms import typed, unnamed
from register.web.proposals import ask
from register.web.versions import fields_of, version_field, version_seen


def vehicle_policy(request: HttpRequest, key: str) -> HttpResponse:
    """What the railway has laid down for a vehicle."""
    ask(request, "read proposals")
    may_change = may(request.user, "decide proposals")
    if request.method not in ("GET", "HEAD", "OPTIONS") and not may_change:
        raise PermissionDenied("A vehicle's policy is laid down by the heritage officer.")
    vehicle = Vehicle.objects.filter(key=key.lower()).first()
    if vehicle is None:
        raise Http404
    faults: list[Fault] = []
    texts = None
    if request.method == "POST":
        texts = typed(request.POST)
        try:
            service.put_policy(vehicle, texts, user=asking(request), after=version_seen(request))
        except Refused as refused:
            faults = refused.faults
        else:
            messages.success(request, "Recorded.")
            return redirect("vehicle-policy", vehicle.key)
    found = service.policy_of(vehicle.key)
    fields = fields_of(service.FIELDS, texts if texts is not None else service.texts_of(found), faults)
    fields.append(version_field(found))
    context = {
        "vehicle": vehicle,
        "policy": found,
        "may_change": may_change,
        "fields": fields,
        "versions": service.history_of(vehicle.key),
        "general_errors": unnamed(faults, fields),
        "has_errors": bool(faults),
        "cancel_url": reverse("vehicle", args=[vehicle.key]),
        "heading": "Policy",
        "under": vehicle.full_name,
        "crumbs": [
            ("Vehicles", reverse("fleet")),
            (vehicle.full_name, reverse("vehicle", args=[vehicle.key])),
            ("Policy", ""),
        ],
    }
    return render(request, "vehicles/policy.html", context, status=422 if faults else 200)
