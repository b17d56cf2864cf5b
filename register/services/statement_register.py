"""The rows of a statement as a register value, for the overlay of its open proposals: what has been read is not read again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from register.exchange.records import Register
from register.exchange.schema import TABLES
from register.exchange.values import key_of
from register.models import Part, Place, Position, Source, Vehicle
from register.services.loading import retired_among
from register.services.proposal_steps import register_for
from register.services.statement_rows import StatementRows
from register.services.tables import fields_of, row_from

Steps = Iterable[Mapping[str, str]]


def register_for_effects(rows: StatementRows, steps: Steps) -> Register:
    """What ``register_for`` gives as far as it bears on this vehicle's figures: in five queries where the steps concern its own
    positions, its own parts and new ones. Where they name a part or a position of elsewhere, it is ``register_for``."""
    listed = list(steps)
    named = {key_of(step["part_id"]) for step in listed} - rows.parts.keys()
    positions = {key_of(step["position_id"]) for step in listed if "position_id" in step}
    if positions - rows.positions.keys() or Part.objects.filter(key__in=named).exists():
        return register_for(rows.vehicle, listed)
    register = Register(retired=retired_among(named))
    elsewhere = {one.position_id for one in rows.all_stays} - rows.positions.keys()
    tables: dict[str, Iterable[Any]] = {
        "vehicles": Vehicle.objects.all(),
        "places": Place.objects.all(),
        "reference_periods": rows.periods,
        "positions": [*rows.positions.values(), *Position.objects.filter(key__in=elsewhere)],
        "parts": {one.part_id: one.part for one in rows.all_stays}.values(),
        "installations": rows.all_stays,
        "assessments": rows.assessments,
        "treatments": rows.treatments,
        "sources": _sources(rows),
        "citations": rows.citations,
        "movements": [one for some in rows.movements.values() for one in some],
    }
    for name, found in tables.items():
        fields = fields_of(TABLES[name])
        for one in found:
            register.tables[name][one.key] = row_from(TABLES[name], tuple(getattr(one, field) for field in fields))
    return register


def _sources(rows: StatementRows) -> Iterable[Source]:
    return {one.source_id: one.source for one in rows.citations}.values()
