"""The inputs of a vehicle with their labels, read from the database once for each version of her records."""

from __future__ import annotations

from register.fabric.inputs import VehicleInputs
from register.models import Vehicle
from register.services.inputs import Labels, inputs_of_all
from register.services.kept import Kept
from register.services.vehicle_versions import version_of

_INPUTS: Kept[tuple[VehicleInputs, Labels]] = Kept(room=30_000)
"""By vehicle, and whether with rivals. The room is in positions and installations, of some 1.5 kB each."""


def kept_inputs(vehicle: Vehicle, *, rivals: bool = False) -> tuple[VehicleInputs, Labels]:
    """As ``inputs_of_all`` gives them, in no query where they are kept. ``vehicle`` is one of ``with_version``; of any
    other they are read anew."""
    asked, version = (vehicle.key, rivals), version_of(vehicle)
    found = _INPUTS.find(asked, version)
    if found is None:
        labels = Labels()
        inputs = inputs_of_all([vehicle], labels, rivals=rivals)[vehicle.key]
        size = len(inputs.positions) + len(inputs.installations)
        found = _INPUTS.keep(asked, version, (inputs, labels), size)
    return found
