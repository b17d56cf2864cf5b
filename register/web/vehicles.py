"""The fleet, and the page of a vehicle."""

from __future__ import annotations

from datetime import date

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from register.documents.figure_view import figure_view
from register.models import Vehicle
from register.policy import may
from register.services.drawings import drawing_of
from register.services.inputs import NoSuch
from register.services.vehicle_page import account_of, accounts_of, tree_of, without_restricted
from register.web.controls import controls_from
from register.web.events import events_for
from register.web.tree import items, tree_rows


def fleet(request: HttpRequest) -> HttpResponse:
    """Every vehicle in the fleet with its bounds; those that only gave or took parts stand apart."""
    controls = controls_from(request, date.today())
    vehicles = sorted(Vehicle.objects.all(), key=lambda one: one.key)
    in_fleet = [one for one in vehicles if one.in_fleet]
    entries = [
        {"vehicle": account.vehicle, "view": figure_view(account.figures["mass"], account.inputs)}
        for account in accounts_of(in_fleet, controls.question)
    ]
    context = {
        "entries": entries,
        "others": [one for one in vehicles if not one.in_fleet],
        "controls": controls,
        "may_change": may(request.user, "change the register"),
    }
    return render(request, "vehicles/fleet.html", context)


def vehicle(request: HttpRequest, key: str) -> HttpResponse:
    """A vehicle as at any day, against any of its references, on any basis."""
    controls = controls_from(request, date.today())
    try:
        account = account_of(key, controls.question)
    except NoSuch:
        raise Http404 from None
    if not may(request.user, "read what is restricted"):
        account = without_restricted(account)
    views = {basis: figure_view(found, account.inputs) for basis, found in account.figures.items()}
    context = {
        "vehicle": account.vehicle,
        "controls": controls,
        "references": account.inputs.references,
        "reference": account.reference,
        "view": views[controls.question.basis],
        "views": views,
        "tree": tree_rows(
            account,
            tree_of(account),
            open_key=request.GET.get("in", "").lower(),
            page=request.GET.get("page", "1"),
        ),
        "events": events_for(request, account.vehicle),
        "drawing": drawing_of(account.vehicle.key, account.chosen.rows),
        "periods": account.labels.periods,
        "may_change": may(request.user, "change the register"),
        "crumbs": [("Vehicles", reverse("fleet")), (account.vehicle.full_name, "")],
    }
    return render(request, "vehicles/vehicle.html", context)


def computed(request: HttpRequest, key: str) -> HttpResponse:
    """How a figure was computed: each item, its weight, its fraction, its evidence."""
    controls = controls_from(request, date.today())
    try:
        account = account_of(key, controls.question)
    except NoSuch:
        raise Http404 from None
    if not may(request.user, "read what is restricted"):
        account = without_restricted(account)
    page = Paginator(account.chosen.rows, 200).get_page(request.GET.get("page"))
    context = {
        "vehicle": account.vehicle,
        "controls": controls,
        "references": account.inputs.references,
        "reference": account.reference,
        "view": figure_view(account.chosen, account.inputs),
        "page": page,
        "items": items(account, list(page.object_list)),
        "crumbs": [
            ("Vehicles", reverse("fleet")),
            (account.vehicle.full_name, reverse("vehicle", args=[account.vehicle.key])),
            ("How it was computed", ""),
        ],
    }
    return render(request, "vehicles/computed.html", context)
