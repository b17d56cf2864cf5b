"""The first evening: a new vehicle with her positions, from a short list for her kind or from another vehicle."""

from __future__ import annotations

import secrets
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Fault, Refused
from register.exchange.schema import TABLES
from register.models import Vehicle
from register.policy import may
from register.services.change_sets import Conflicted
from register.services.new_vehicle import add_positions, new_vehicle, starter_lists
from register.web.asking import asking, token_of
from register.web.record_form import FormField, form_fields, texts_from

ASKED = (
    "vehicle_id",
    "name",
    "number",
    "kind",
    "builder",
    "works_number",
    "built",
    "heritage_from",
    "empty_mass",
    "identity_basis",
    "summary",
)
HIDDEN = frozenset(column.name for column in TABLES["vehicles"].columns) - frozenset(ASKED)
CHANGED_MEANWHILE = "Somebody else changed these positions just now. Look again, and save again."


def new(request: HttpRequest) -> HttpResponse:
    """A vehicle, and her positions if a list or another vehicle is chosen, in one act."""
    _ask(request)
    faults: list[Fault] = []
    texts = texts_from("vehicles", request.POST)
    if request.method == "POST":
        texts = {name: text for name, text in texts.items() if name in ASKED}
        try:
            new_vehicle(
                vehicle=texts,
                **_chosen(request),
                user=asking(request),
                token=token_of(request),
            )
        except Refused as refused:
            faults = refused.faults
        except Conflicted:
            faults = [Fault("positions", None, "", "", CHANGED_MEANWHILE)]
        else:
            messages.success(request, "Recorded.")
            return redirect("vehicle", texts["vehicle_id"].strip().lower())
    own = form_fields("vehicles", texts, faults, editing=False, hidden=HIDDEN)
    return _page(
        request,
        [*own, *_fields_of_positions(request, faults)],
        faults,
        heading="New vehicle",
        back=reverse("fleet"),
        crumbs=[("Vehicles", reverse("fleet")), ("New vehicle", "")],
    )


def positions(request: HttpRequest, key: str) -> HttpResponse:
    """Positions for a vehicle that is there already."""
    _ask(request)
    vehicle = Vehicle.objects.filter(key=key.lower()).first() if key.isprintable() else None
    if vehicle is None:
        raise Http404
    faults: list[Fault] = []
    if request.method == "POST":
        try:
            add_positions(
                vehicle_id=vehicle.code,
                **_chosen(request),
                user=asking(request),
                token=token_of(request),
            )
        except Refused as refused:
            faults = refused.faults
        except Conflicted:
            faults = [Fault("positions", None, "", "", CHANGED_MEANWHILE)]
        else:
            messages.success(request, "Recorded.")
            return redirect("vehicle", vehicle.key)
    address = reverse("vehicle", args=[vehicle.key])
    return _page(
        request,
        _fields_of_positions(request, faults, of=vehicle),
        faults,
        heading=f"Positions for {vehicle.full_name}",
        back=address,
        crumbs=[("Vehicles", reverse("fleet")), (vehicle.full_name, address), ("Positions", "")],
    )


def _ask(request: HttpRequest) -> None:
    if not may(request.user, "change the register"):
        raise PermissionDenied("Changing the register is for the heritage officer.")


def _chosen(request: HttpRequest) -> dict[str, str]:
    """What the two fields of positions say, as the services take it."""
    chosen = request.POST.get("positions", "")[:200]
    what, _, name = chosen.partition(":")
    return {
        "list_name": name if what == "list" else "",
        "from_vehicle": name if what == "copy" else "",
        "prefix": request.POST.get("prefix", "")[:200],
    }


def _fields_of_positions(
    request: HttpRequest, faults: list[Fault], *, of: Vehicle | None = None
) -> list[FormField]:
    errors = {fault.column: fault.message for fault in reversed(faults)}
    error = errors.get("list_name") or errors.get("from_vehicle", "")
    chosen = request.POST.get("positions", request.GET.get("positions", ""))
    return [
        FormField(
            "positions",
            "Her positions",
            "select",
            chosen,
            "the places where parts are fitted. A short list is our own (common practice, no source): strike out "
            "and add what she has otherwise. Of another vehicle the places are copied, never the parts in them",
            "",
            of is not None,
            (("", "Choose one" if of else "None yet"), *_lists(), *_vehicles(of)),
            error=error,
        ),
        FormField(
            "prefix",
            "Ids of positions begin with",
            "text",
            request.POST.get("prefix", ""),
            "left empty, it is the id of the vehicle",
            "W31, for W31-BR-HAND",
            False,
            error=errors.get("prefix", ""),
        ),
    ]


def _lists() -> list[tuple[str, str]]:
    return [
        (f"list:{one.name}", f"Short list: {one.title} ({len(one.positions)} positions)")
        for one in starter_lists()
    ]


def _vehicles(of: Vehicle | None) -> list[tuple[str, str]]:
    found = Vehicle.objects.annotate(places=Count("positions")).filter(places__gt=0).order_by("key")
    return [
        (f"copy:{one.code}", f"As {one.full_name} ({one.places} positions)")
        for one in found
        if of is None or one.key != of.key
    ]


def _page(
    request: HttpRequest, fields: list[FormField], faults: list[Fault], **more: Any
) -> HttpResponse:
    known = {field.name for field in fields}
    context = {
        "fields": fields,
        "faults": faults,
        "general_errors": list(
            dict.fromkeys(
                fault.message
                for fault in faults
                if fault.column not in known | {"list_name", "from_vehicle"}
            )
        ),
        "token": secrets.token_urlsafe(24),
        "starters": starter_lists(),
        **more,
    }
    return render(request, "vehicles/new.html", context, status=422 if faults else 200)
