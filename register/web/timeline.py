"""How a vehicle's figures went since it was built: the chart, and the table of the same figures."""

from __future__ import annotations

from typing import Any, NamedTuple
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from register.documents.figure_view import figure_view
from register.documents.step_band import Event as Balloon
from register.documents.timeline_view import StepRow, TimelineView, events_within, timeline_view
from register.models import Event, Vehicle
from register.services.vehicle_page import timeline_of
from register.web.asked import account_asked, crumbs_to
from register.web.controls import Controls
from register.web.events import days_of, events_for

PAGE = 100
MARKED = ("rebuilt", "accident", "withdrawn", "preserved", "overhaul", "owner", "renumbered", "livery", "other")
"""Kinds of events that get a balloon, those that change a vehicle most first. An examination changes none."""
BALLOONS = 12


class MarkedEvent(NamedTuple):
    """An event with its balloon, and the step that holds from its best day."""

    balloon: Balloon
    event: Event
    step: StepRow | None


def timeline(request: HttpRequest, key: str) -> HttpResponse:
    """Against any of its reference periods, on any basis; each step leads to the whole page of that day."""
    controls, account = account_asked(request, key)
    asked = controls.question
    told = timeline_view(timeline_of(account), asked.day.toordinal())
    marked = _marked(events_for(request, account.vehicle), account.vehicle, told)
    page = Paginator(told.rows, PAGE).get_page(request.GET.get("page"))
    context: dict[str, Any] = {
        "vehicle": account.vehicle,
        "controls": controls,
        "references": account.inputs.references,
        "reference": account.reference,
        "view": figure_view(account.chosen, account.inputs),
        "told": told,
        "marked": marked,
        "balloons": [one.balloon for one in marked],
        "page": page,
        "rows": [(row, _address_part(controls, row)) for row in page.object_list],
        "crumbs": crumbs_to(account, "Since it was built"),
    }
    return render(request, "vehicles/timeline.html", context)


def _address_part(controls: Controls, row: StepRow) -> str:
    return urlencode({**controls.parameters(), "as_at": row.iso})


def _marked(events: list[Event], vehicle: Vehicle, told: TimelineView) -> list[MarkedEvent]:
    """The events of the chart with their numbers, in the order of their days."""
    dated = [(days_of(one, vehicle).best, one) for one in events if one.kind in MARKED]
    shown = {one.day for one in events_within(told, [Balloon("", day) for day, _ in dated])}
    dated = sorted(
        ((day, one) for day, one in dated if day in shown), key=lambda pair: MARKED.index(pair[1].kind)
    )
    chosen = sorted(dated[:BALLOONS], key=lambda pair: (pair[0], pair[1].key))
    return [
        MarkedEvent(Balloon(str(number), day), event, told.on(day))
        for number, (day, event) in enumerate(chosen, 1)
    ]


