"""The figures of a statement, worked out from frozen rows alone: no database, no clock."""

from __future__ import annotations

from datetime import date
from typing import Any

from register.exchange.records import Register
from register.fabric.change import Stated
from register.fabric.figures import VehicleFigures, figures_on
from register.fabric.figures_json import TypedIds, as_json
from register.fabric.inputs import BASES
from register.fabric.survival import survival
from register.fabric.timeline import timeline
from register.services.inputs import inputs_from, reference_named
from register.services.statement_impact import effects_from, effects_json
from register.services.statement_texts import Texts

METHOD_VERSION = "1"
Json = dict[str, Any]


def stated(register: Register, vehicle: str, day: date, reference: str) -> Stated:
    """What a statement was issued from. Raises NoSuch."""
    inputs = inputs_from(register, vehicle)
    return Stated(inputs, day.toordinal(), reference_named(inputs, reference))


def typed_ids_of(register: Register, vehicle: str) -> TypedIds:
    """Ids as typed, from rows."""
    codes = {
        name: {key: row["_code"] for key, row in register.tables[name].items()} for name in ("positions", "parts")
    }
    return TypedIds(register.code("vehicles", vehicle), codes["positions"], codes["parts"])


def at_reference(told: Stated) -> VehicleFigures:
    """By mass, on the last day of the reference period, or on the statement's own where that is earlier: what loss is
    counted from."""
    day = min(told.reference.span.latest, told.day)
    return figures_on(told.inputs, day=day, reference=told.reference, bases=("mass",))["mass"]


def statement_figures(
    register: Register, vehicle: str, day: date, reference: str, texts: Texts | None = None
) -> Json:
    """Every figure that a statement can print: on each basis, against each reference period (the statement's first);
    survival against those that have begun; the timeline by mass; and with texts what they bear on: the figure of the
    reference date, from which loss is counted, and the effect of open proposals. Raises NoSuch."""
    told, ids = stated(register, vehicle, day, reference), typed_ids_of(register, vehicle)
    inputs = told.inputs
    periods = [told.reference, *(one for one in inputs.references if one is not told.reference)]
    fabric: list[Json] = []
    survived: list[Json] = []
    for period in periods:
        found = figures_on(inputs, day=told.day, reference=period)
        fabric += [as_json(found[basis], ids) for basis in BASES]
        if told.day >= period.span.latest:
            survived += [
                as_json(survival(inputs, day=told.day, reference=period, basis=basis), ids) for basis in BASES
            ]
    more: Json = {}
    if texts is not None:
        effects = effects_from(register, vehicle, day, told.reference.label, texts)
        more = {"at_reference": as_json(at_reference(told), ids), "proposals": effects_json(effects, ids)}
    return {
        "method_version": METHOD_VERSION,
        "vehicle": ids.vehicle,
        "as_at": day.isoformat(),
        "reference": told.reference.label,
        "fabric": fabric,
        "survival": survived,
        "timeline": as_json(timeline(inputs, reference=told.reference, basis="mass"), ids),
        **more,
    }
