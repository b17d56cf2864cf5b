"""The inputs of a vehicle with their labels, read from the database once for each version of her records."""

from __future__ import annotations

from collections.abc import Callable

from register.fabric.inputs import VehicleInputs
from register.models import Vehicle
from register.services.inputs import Labels, inputs_of_all
from register.services.kept import Kept
from register.services.vehicle_versions import version_of

_INPUTS: Kept[tuple[VehicleInputs, Labels]] = Kept(room=30_000)
"""By vehicle, and whether with rivals. The room is in positions and installations, of some 1.5 kB each."""


Read = Callable[[Vehicle], tuple[VehicleInputs, Labels]]


def kept_inputs(
    vehicle: Vehicle, *, rivals: bool = False, read: Read | None = None
) -> tuple[VehicleInputs, Labels]:
    """As ``inputs_of_all`` gives them, in no query where they are kept. ``vehicle`` is one of ``with_version``; of any
    other they are read anew. read: how, for whoever has the rows anyway."""
    asked, version = (vehicle.key, rivals), version_of(vehicle)
    found = _INPUTS.find(asked, version)
    if found is None:
        inputs, labels = read(vehicle) if read else _read(vehicle, rivals)
        size = len(inputs.positions) + len(inputs.installations)
        found = _INPUTS.keep(asked, version, (inputs, labels), size)
    return found


def _read(vehicle: Vehicle, rivals: bool) -> tuple[VehicleInputs, Labels]:
    labels = Labels()
    return inputs_of_all([vehicle], labels, rivals=rivals)[vehicle.key], labels
