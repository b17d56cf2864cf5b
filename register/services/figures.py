"""The figures of a vehicle in the register: load the inputs, ask the core, name things as they were typed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from register.exchange.values import key_of
from register.fabric.figures import VehicleFigures, figures_on
from register.fabric.figures_json import TypedIds
from register.fabric.inputs import BASES, VISIBILITIES, Reference, VehicleInputs
from register.models import Part, Position, Vehicle
from register.services.inputs import NoSuch, inputs_of, reference_named

MAX_FLOOR = 3


def vehicle_named(vehicle_id: str) -> Vehicle:
    """The vehicle with this id, compared without case. Raises NoSuch with the sentence."""
    found = Vehicle.objects.filter(key=key_of(vehicle_id)).first()
    if found is None:
        raise NoSuch(f"There is no vehicle {vehicle_id} in this register.")
    return found


def inputs_and_reference(vehicle_id: str, label: str | None = None) -> tuple[VehicleInputs, Reference]:
    """The inputs of a vehicle and the reference period asked for (the default if none). Raises NoSuch."""
    inputs = inputs_of(vehicle_named(vehicle_id).key)
    return inputs, reference_named(inputs, label)


def figures_of(
    vehicle_id: str,
    *,
    day: date,
    reference: str | None = None,
    bases: tuple[str, ...] = BASES,
    evidence_floor: int = 0,
    include_wear: bool = False,
    visibility: str | None = None,
) -> Mapping[str, VehicleFigures]:
    """Figures by basis. Raises NoSuch for an unknown vehicle or reference period, ValueError for other arguments."""
    inputs, period = inputs_and_reference(vehicle_id, reference)
    return figures_on(
        inputs,
        day=day.toordinal(),
        reference=period,
        bases=bases,
        evidence_floor=evidence_floor,
        include_wear=include_wear,
        visibility=visibility,
    )


def typed_ids(inputs: VehicleInputs) -> TypedIds:
    """Ids as typed, of the vehicle, its positions and the parts that were ever in it."""
    vehicle = Vehicle.objects.values_list("code", flat=True).get(key=inputs.vehicle.key)
    positions = dict(Position.objects.filter(vehicle=inputs.vehicle.key).values_list("key", "code"))
    parts = dict(
        Part.objects.filter(installations__position__vehicle=inputs.vehicle.key).values_list("key", "code")
    )
    return TypedIds(vehicle, positions, parts)


__all__ = [
    "BASES",
    "MAX_FLOOR",
    "VISIBILITIES",
    "figures_of",
    "inputs_and_reference",
    "typed_ids",
    "vehicle_named",
]
