"""What a vehicle and its main groups are worth, in words: the page, and the form for one of them."""

from __future__ import annotations

from typing import NamedTuple
from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Fault, Refused
from register.models import Position, SignificanceText, Vehicle
from register.policy import may
from register.services import significance_texts as service
from register.web.asking import asking
from register.web.proposal_forms import typed, unnamed
from register.web.versions import fields_of, version_field, version_seen


class Told(NamedTuple):
    """The whole, or a main group: its texts, those that are not written yet too."""

    name: str
    code: str
    grade: str
    reason: str
    texts: list[tuple[str, str]]
    text: SignificanceText | None
    address: str


def significance(request: HttpRequest, key: str) -> HttpResponse:
    """The whole and every main group, each with the grade of its position."""
    vehicle = _vehicle(key)
    found = service.texts_by_position(vehicle.key)
    told = [_told(vehicle, None, found.get(service.WHOLE))]
    told += [_told(vehicle, one, found.get(one.key)) for one in service.groups_of(vehicle.key)]
    context = {
        "vehicle": vehicle,
        "told": told,
        "may_write": may(request.user, "write significance"),
        "heading": "Significance",
        "under": f"{vehicle.full_name}: what it is worth, in words",
        "crumbs": _crumbs(vehicle, ("Significance", "")),
    }
    return render(request, "vehicles/significance.html", context)


def _told(vehicle: Vehicle, position: Position | None, text: SignificanceText | None) -> Told:
    key = position.key if position else service.WHOLE
    texts = service.texts_of(text)
    address = reverse("write-significance", args=[vehicle.key])
    return Told(
        position.name if position else "The whole vehicle",
        position.code if position else "",
        position.significance if position else "",
        position.significance_reason if position else "",
        [(one.label, texts[one.name]) for one in service.fields_for(key)],
        text,
        f"{address}?{urlencode({'of': position.code})}" if position else address,
    )


def write_significance(request: HttpRequest, key: str) -> HttpResponse:
    """The form for the whole, or for the main group that the address names; below it every version."""
    if not may(request.user, "write significance"):
        raise PermissionDenied("What a vehicle is worth is written by the heritage officer.")
    vehicle = _vehicle(key)
    position = _group(vehicle, request.GET.get("of", ""))
    of = position.key if position else service.WHOLE
    faults: list[Fault] = []
    texts = None
    if request.method == "POST":
        texts = typed(request.POST)
        try:
            service.put_significance(vehicle, of, texts, user=asking(request), after=version_seen(request))
        except Refused as refused:
            faults = refused.faults
        else:
            messages.success(request, "Recorded.")
            return redirect("significance", vehicle.key)
    found = service.texts_by_position(vehicle.key).get(of)
    fields = fields_of(service.fields_for(of), texts if texts is not None else service.texts_of(found), faults)
    fields.append(version_field(found))
    name = position.name if position else "The whole vehicle"
    page = reverse("significance", args=[vehicle.key])
    context = {
        "vehicle": vehicle,
        "fields": fields,
        "versions": service.history_of(vehicle.key, of),
        "general_errors": unnamed(faults, fields),
        "has_errors": bool(faults),
        "cancel_url": page,
        "heading": f"What it is worth: {name}",
        "under": vehicle.full_name,
        "crumbs": _crumbs(vehicle, ("Significance", page), (name, "")),
    }
    return render(request, "vehicles/write_significance.html", context, status=422 if faults else 200)


def _vehicle(key: str) -> Vehicle:
    found = Vehicle.objects.filter(key=key.lower()).first()
    if found is None:
        raise Http404
    return found


def _group(vehicle: Vehicle, of: str) -> Position | None:
    """The main group of that id, None for the whole. Raises Http404 where there is none."""
    if not of:
        return None
    found = next((one for one in service.groups_of(vehicle.key) if one.key == of.lower()), None)
    if found is None:
        raise Http404
    return found


def _crumbs(vehicle: Vehicle, *more: tuple[str, str]) -> list[tuple[str, str]]:
    return [("Vehicles", reverse("fleet")), (vehicle.full_name, reverse("vehicle", args=[vehicle.key])), *more]
