"""The inputs of a vehicle as plain tables of numbers, for whoever recomputes a figure without this program."""

from __future__ import annotations

from datetime import date

from register.exchange.frozen import Sheet
from register.fabric.change import Stated
from register.fabric.dates import BEGINNING, END, Span
from register.fabric.figures_json import TypedIds
from register.fabric.inputs import Installation
from register.fabric.interval import Interval


def read_tables(stated: Stated, ids: TypedIds, vehicles: dict[str, str]) -> list[Sheet]:
    """Days as ISO dates (an open end empty), masses in grams, shares in millionths. Ids as typed; vehicles: likewise, by
    key."""
    inputs, parts, positions = stated.inputs, ids.parts, ids.positions
    vehicle = inputs.vehicle
    question = [
        ids.vehicle,
        _day(stated.day),
        stated.reference.label,
        *_span(stated.reference.span),
        *_span(vehicle.built),
        *_ends(vehicle.empty_mass),
    ]
    return [
        ("question", ("vehicle", "as_at", "reference", *_days("reference"), *_days("built"), *_trio("empty_mass")), [question]),
        (
            "positions",
            ("position_id", "visibility", "grade", "wear", *_trio("design_mass")),
            [
                [positions[one.key], one.visibility, "" if one.grade is None else str(one.grade), _yes(one.wear), *_ends(one.design_mass)]
                for one in inputs.positions.values()
            ],
        ),
        ("parts", ("part_id", *_trio("mass")), [[parts[one.key], *_ends(one.mass)] for one in inputs.parts.values()]),
        (
            "installations",
            ("position_id", "part_id", "vehicle", *_days("fitted"), "removed", *_days("removed"), "temporary", "visibility"),
            [_stay(one, ids, vehicles) for one in inputs.installations],
        ),
        (
            "assessments",
            ("part_id", "assessed_on", "status", "original_here", "since", *_days("since"), *_trio("fraction"), "strength", "disputed"),
            [
                [
                    parts[one.part], _day(one.day), one.status, _yes(one.original_to == vehicle.key), _yes(one.original_since is not None),
                    *_span(one.original_since), *_ends(one.fraction), str(one.strength), _yes(one.disputed),
                ]
                for one in inputs.assessments.values()
            ],
        ),
        (
            "treatments",
            ("part_id", *_days("date"), *_trio("replaced")),
            [
                [parts[part], *_span(one.span), *_ends(one.replaced)]
                for part, done in inputs.treatments.items()
                for one in done
            ],
        ),
    ]  # fmt: skip


def _stay(one: Installation, ids: TypedIds, vehicles: dict[str, str]) -> list[str]:
    return [
        ids.positions[one.position],
        ids.parts[one.part],
        vehicles[one.vehicle],
        *_span(one.fitted),
        _yes(one.removed is not None),
        *_span(one.removed),
        _yes(one.temporary),
        one.visibility,
    ]


def _days(name: str) -> tuple[str, str, str]:
    return f"{name}_earliest", f"{name}_best_day", f"{name}_latest"


def _trio(name: str) -> tuple[str, str, str]:
    return f"{name}_low", f"{name}_best", f"{name}_high"


def _day(number: int) -> str:
    return date.fromordinal(number).isoformat()


def _span(span: Span | None) -> list[str]:
    if span is None:
        return ["", "", ""]
    return [
        "" if span.earliest <= BEGINNING else _day(span.earliest),
        _day(span.best),
        "" if span.latest >= END else _day(span.latest),
    ]


def _ends(interval: Interval | None) -> list[str]:
    return ["", "", ""] if interval is None else [str(interval.low), str(interval.best), str(interval.high)]


def _yes(value: bool) -> str:
    return "yes" if value else "no"
