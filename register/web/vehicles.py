"""The page of a vehicle, and how its figures were computed."""

from __future__ import annotations

from datetime import date
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from register.documents.figure_view import figure_view
from register.policy import may
from register.services.drawings import drawing_of
from register.services.findings import open_count
from register.services.photograph_records import photographs_of
from register.services.vehicle_page import Account, tree_of
from register.web.asked import account_asked
from register.web.events import events_for
from register.web.next_steps import what_next
from register.web.tree import items, tree_rows
from register.web.tree_filter import listed, tree_filter


def vehicle(request: HttpRequest, key: str) -> HttpResponse:
    """A vehicle as at any day, against any of its references, on any basis; its positions, or those asked for."""
    controls, account = account_asked(request, key)
    views = {basis: figure_view(found, account.inputs) for basis, found in account.figures.items()}
    context = {
        "vehicle": account.vehicle,
        "controls": controls,
        "references": account.inputs.references,
        "reference": account.reference,
        "view": views[controls.question.basis],
        "views": views,
        "events": events_for(request, account.vehicle),
        **what_next(request, account),
        "photographs": photographs_of(request.user, vehicle=account.vehicle.key),
        "photographs_of": urlencode({"vehicle": account.vehicle.code}),
        "may_add": may(request.user, "record finds"),
        "drawing": drawing_of(account.vehicle.key, account.chosen.rows),
        "periods": account.labels.periods,
        "findings_open": open_count(account.vehicle, day=date.today()),
        "may_change": may(request.user, "change the register"),
        "crumbs": [("Vehicles", reverse("fleet")), (account.vehicle.full_name, "")],
    }
    return render(request, "vehicles/vehicle.html", context | _positions(request, account))


def _positions(request: HttpRequest, account: Account) -> dict[str, Any]:
    """What the section on positions shows: what the address asks for, else the tree."""
    asked, data = tree_filter(request.GET), request.GET
    found: dict[str, Any] = {"filter": asked}
    if asked.asks:
        found["listed"], found["rows"] = listed(account, tree_of(account), asked, data.get("page", "1"))
    else:
        found["tree"] = tree_rows(
            account,
            tree_of(account),
            open_key=data.get("in", "").lower(),
            page=data.get("page", "1"),
            tops_page=data.get("assemblies", ""),
        )
    return found


def computed(request: HttpRequest, key: str) -> HttpResponse:
    """How a figure was computed: each item, its weight, its fraction, its evidence."""
    controls, account = account_asked(request, key)
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
