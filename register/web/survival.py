"""What became of a vehicle as it was: how much of it is left, and where."""

from __future__ import annotations

from typing import Any, NamedTuple

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from register.documents.figure_view import figure_view
from register.documents.survival_view import survival_view
from register.fabric.survival import LOST, Survival, SurvivalRow
from register.fabric.survival import survival as survival_of
from register.models import Vehicle
from register.services.vehicle_page import Account
from register.web.asked import account_asked, crumbs_to

PAGE = 100


class WhereItIs(NamedTuple):
    """A part of the reference vehicle, where it was, and where it belongs on the day."""

    position: str
    part_key: str
    part: str
    status: str
    where: str
    vehicle: Vehicle | None
    left: str
    weight: str


def survival(request: HttpRequest, key: str) -> HttpResponse:
    """By category, and part by part, at any day from the end of the reference date on."""
    controls, account = account_asked(request, key, rivals=True)
    asked = controls.question
    context: dict[str, Any] = {
        "vehicle": account.vehicle,
        "controls": controls,
        "references": account.inputs.references,
        "reference": account.reference,
        "view": figure_view(account.chosen, account.inputs),
        "crumbs": crumbs_to(account, "What became of the original"),
    }
    try:
        found = survival_of(
            account.inputs,
            day=asked.day.toordinal(),
            reference=account.reference,
            basis=asked.basis,
            include_wear=asked.include_wear,
        )
    except ValueError as sentence:
        return render(request, "vehicles/survival.html", context | {"too_early": str(sentence)})
    told = survival_view(found)
    page = Paginator(told.parts, PAGE).get_page(request.GET.get("page"))
    context |= {"told": told, "page": page, "rows": _rows(account, found, list(page.object_list))}
    return render(request, "vehicles/survival.html", context)


def _rows(account: Account, found: Survival, rows: list[SurvivalRow]) -> list[WhereItIs]:
    told = survival_view(found)
    elsewhere = {row.vehicle for row in rows if row.vehicle and row.vehicle != found.vehicle}
    vehicles = Vehicle.objects.in_bulk(elsewhere) if elsewhere else {}
    listed = []
    for row in rows:
        label = account.labels.parts[row.part]
        listed.append(
            WhereItIs(
                account.labels.positions[row.position].name,
                row.part if label.code else "",
                f"{label.code} {label.name}".strip(),
                row.status or "not assessed",
                row.where,
                vehicles.get(row.vehicle),
                "" if row.where == LOST else told.left_of(row),
                told.weight_of(row),
            )
        )
    return listed
