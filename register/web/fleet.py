"""The fleet at a glance: bounds by mass, filters and order in the address."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render

from register.fabric.vocabulary import VEHICLE_KINDS
from register.policy import may
from register.services.fleet import PAGE, SORTS, Asked, fleet_page
from register.services.search import LONGEST
from register.web.controls import Controls, controls_from
from register.web.tree import within

YES_NO = ("yes", "no")
FEW_OTHERS = 20
"""So many vehicles that are not in the fleet are named under it; the rest are a link away."""
NOT_A_SHARE = "Write a whole number from 0 to 99, such as 20."


@dataclass(frozen=True, slots=True)
class FleetControls:
    """What the address asks, how the share was typed, and what was wrong with it."""

    asked: Asked
    unassessed_text: str
    unassessed_error: str
    as_at: str

    @property
    def kinds(self) -> tuple[str, ...]:
        return VEHICLE_KINDS

    @property
    def sorts(self) -> dict[str, str]:
        return SORTS

    @property
    def is_filtered(self) -> bool:
        one = self.asked
        return bool(one.text or one.kind or one.in_fleet or one.published or one.unassessed is not None)

    @property
    def others_query(self) -> str:
        """The address part that lists those not in the fleet, with the same filters else."""
        one = self.asked
        kept = {"q": one.text, "kind": one.kind, "published": one.published, "as_at": self.as_at}
        return urlencode({**{name: value for name, value in kept.items() if value}, "fleet": "no"})

    @property
    def vehicle_query(self) -> str:
        """The day, handed on to the page of a vehicle; "" for today."""
        return f"?{urlencode({'as_at': self.as_at})}" if self.as_at else ""


def fleet(request: HttpRequest) -> HttpResponse:
    """Every vehicle in the fleet with its bounds; those that only gave or took parts stand apart."""
    controls = controls_from(request, date.today())
    filters = _asked(request.GET, controls)
    page = within(request.GET.get("page", "1"), 10_000)
    found = fleet_page(filters.asked, day=controls.question.day, page=page)
    context: dict[str, Any] = {
        "fleet": found,
        "page": Paginator(range(found.of), PAGE).get_page(found.number),
        "controls": controls,
        "filters": filters,
        "may_change": may(request.user, "change the register"),
        "has_errors": bool(controls.error or filters.unassessed_error),
    }
    if filters.asked.in_fleet == "no":
        context["others_page"] = Paginator(found.others, 50).get_page(page)
        context["others"] = list(context["others_page"].object_list)
    else:
        context["others"] = found.others[:FEW_OTHERS]
        context["more_others"] = len(found.others) - len(context["others"])
    return render(request, "vehicles/fleet.html", context)


def _asked(data: QueryDict, controls: Controls) -> FleetControls:
    """What is not among the answers is not asked for; a share that cannot be read is said."""
    kind, sort = data.get("kind", ""), data.get("sort", "number")
    in_fleet, published = data.get("fleet", ""), data.get("published", "")
    typed = data.get("unassessed", "").strip().removesuffix("%").strip()[:20]
    share = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 3 else None
    asked = Asked(
        data.get("q", "").replace("\0", "").strip()[:LONGEST],
        kind if kind in VEHICLE_KINDS else "",
        in_fleet if in_fleet in YES_NO else "",
        published if published in YES_NO else "",
        share,
        sort if sort in SORTS else "number",
    )
    wrong = NOT_A_SHARE if typed and share is None else ""
    as_at = data.get("as_at", "").strip()
    return FleetControls(asked, typed, wrong, controls.question.day.isoformat() if as_at and not controls.error else "")
