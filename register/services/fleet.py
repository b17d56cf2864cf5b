"""The fleet: which vehicles are asked for, in what order, and what each has retained by mass.

Vehicles are set side by side by their bounds by mass alone, each against its own reference; never by count, which says
nothing between vehicles, and never by the best figure, which hides how much is not known.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from register.documents.figure_view import FigureView
from register.fabric.dates import span_of
from register.models import Vehicle
from register.services.search import answers, folded
from register.services.vehicle_page import fleet_views
from register.services.vehicle_versions import with_version

PAGE = 25
SLICE = 40
"""Vehicles whose inputs are in memory together."""

SORTS: dict[str, str] = {
    "number": "Number",
    "name": "Name",
    "built": "Built, oldest first",
    "most": "Most retained: lower bound, highest first",
    "least": "Least retained: upper bound, lowest first",
    "doubt": "Largest doubt: widest bounds first",
}
"""The orders. None of them is by a best figure, and none by count."""
BY_FIGURES = frozenset({"most", "least", "doubt"})


@dataclass(frozen=True, slots=True)
class Asked:
    """Which vehicles. text: as the search understands it; in_fleet, published: yes, no or "" for either;
    unassessed: more than so many per cent of the weight not assessed; what is not known counts as more."""

    text: str = ""
    kind: str = ""
    in_fleet: str = ""
    published: str = ""
    unassessed: int | None = None
    sort: str = "number"

    @property
    def needs_figures(self) -> bool:
        return self.sort in BY_FIGURES or self.unassessed is not None


@dataclass(frozen=True, slots=True)
class Entry:
    """A vehicle with what is said of it."""

    vehicle: Vehicle
    view: FigureView


@dataclass(frozen=True, slots=True)
class Fleet:
    """One page. number: which; of: vehicles in the fleet that answer; others: those that answer and are not in it."""

    entries: list[Entry]
    others: list[Vehicle]
    number: int
    pages: int
    of: int
    whole: int
    """Vehicles in the register at all."""

    @property
    def is_empty(self) -> bool:
        return not self.whole


def fleet_page(asked: Asked, *, day: date, page: int = 1) -> Fleet:
    """The vehicles that answer, a page at a time, in a number of queries that the size of the fleet does not change
    (one round more for every SLICE vehicles where the order or the filter needs everybody's figures)."""
    everybody = list(with_version(Vehicle.objects.order_by("key")))
    found = [one for one in everybody if _fits(one, asked)]
    fleet = [one for one in found if one.in_fleet]
    others = sorted((one for one in found if not one.in_fleet), key=_by_number)
    known: dict[str, Entry] = {}
    if asked.needs_figures:
        measures: dict[str, _Measure] = {}
        for start in range(0, len(fleet), SLICE):
            entries = _entries(fleet[start : start + SLICE], day)
            measures |= {one.vehicle.key: _measure(one.view) for one in entries}
            known = {one.vehicle.key: one for one in entries} if len(fleet) <= SLICE else {}
        fleet = [one for one in fleet if _is_unassessed(measures[one.key], asked.unassessed)]
        fleet.sort(key=lambda one: (_by_figures(asked.sort, measures[one.key]), _by_number(one)))
    if asked.sort not in BY_FIGURES:
        fleet.sort(key=ORDERS[asked.sort])
    pages = max(1, -(-len(fleet) // PAGE))
    number = min(max(page, 1), pages)
    shown = fleet[(number - 1) * PAGE : number * PAGE]
    entries = [known[one.key] for one in shown] if known else _entries(shown, day)
    return Fleet(entries, others, number, pages, len(fleet), len(everybody))


def _entries(vehicles: Sequence[Vehicle], day: date) -> list[Entry]:
    return [Entry(*pair) for pair in zip(vehicles, fleet_views(vehicles, day), strict=True)] if vehicles else []


def _fits(vehicle: Vehicle, asked: Asked) -> bool:
    if asked.kind and vehicle.kind != asked.kind:
        return False
    if asked.in_fleet and vehicle.in_fleet != (asked.in_fleet == "yes"):
        return False
    if asked.published and vehicle.published != (asked.published == "yes"):
        return False
    return not asked.text or answers(
        asked.text,
        {
            "code": vehicle.code,
            "name": vehicle.name,
            "full_name": vehicle.full_name,
            "number": vehicle.number,
            "former_numbers": vehicle.former_numbers,
            "tag": vehicle.tag,
            "builder": vehicle.builder,
            "works_number": vehicle.works_number,
        },
    )


@dataclass(frozen=True, slots=True)
class _Measure:
    low: Fraction | None
    high: Fraction | None
    unassessed: Fraction | None


def _measure(view: FigureView) -> _Measure:
    """What stands first on the page of the vehicle: where something has no mass, the bounds of the whole vehicle."""
    lead, share = view.lead, view.figures.assessed_share
    return _Measure(
        lead.low if lead else None, lead.high if lead else None, None if share is None else 100 - share
    )


def _is_unassessed(found: _Measure, more_than: int | None) -> bool:
    return more_than is None or found.unassessed is None or found.unassessed > more_than


def _by_figures(sort: str, found: _Measure) -> tuple[int, Fraction, Fraction]:
    """Those with no figure come last in every order."""
    if found.low is None or found.high is None:
        return 1, Fraction(0), Fraction(0)
    if sort == "most":
        return 0, -found.low, -found.high
    if sort == "least":
        return 0, found.high, found.low
    return 0, found.low - found.high, found.low


def _natural(text: str) -> list[tuple[int, int, str]]:
    """So that 9 stands before 12, and numbers before letters."""
    pieces = re.findall(r"\d+|\D+", folded(text))
    return [(0, int(one), "") if one.isdecimal() else (1, 0, one) for one in pieces]


def _by_number(vehicle: Vehicle) -> tuple[bool, list[tuple[int, int, str]], str]:
    return not vehicle.number, _natural(vehicle.number or vehicle.name), vehicle.key


ORDERS: dict[str, Callable[[Vehicle], tuple[object, ...]]] = {
    "number": _by_number,
    "name": lambda one: (_natural(one.name), one.key),
    "built": lambda one: (span_of(one.built_edtf), _natural(one.name), one.key),
}
