"""The rows of each vehicle, cut out of the whole register in one pass: what the figures of one depend on, survival aside."""

from __future__ import annotations

from collections import defaultdict

from register.exchange.records import Register, Row
from register.fabric.inputs import VehicleInputs
from register.services.inputs import inputs_from

OF_A_PART = ("assessments", "treatments", "citations")


def inputs_by_vehicle(register: Register) -> dict[str, VehicleInputs]:
    """The inputs of every vehicle by key: those of ``inputs_from`` without rivals elsewhere, of which no retained
    figure knows."""
    tables = register.tables
    own: dict[str, dict[str, Row]] = defaultdict(dict)
    for key, row in tables["positions"].items():
        own[row["vehicle_id"]][key] = row
    stays: dict[str, dict[str, Row]] = defaultdict(dict)
    been_in: dict[str, set[str]] = defaultdict(set)
    for key, row in tables["installations"].items():
        stays[row["part_id"]][key] = row
        been_in[tables["positions"][row["position_id"]]["vehicle_id"]].add(row["part_id"])
    periods: dict[str, dict[str, Row]] = defaultdict(dict)
    for key, row in tables["reference_periods"].items():
        periods[row["vehicle_id"]][key] = row
    of_parts = {name: _by_part(register, name) for name in OF_A_PART}

    def slice_of(vehicle: str) -> Register:
        parts = been_in[vehicle]
        made = Register()
        made.tables |= {
            "vehicles": tables["vehicles"],
            "sources": tables["sources"],
            "reference_periods": periods[vehicle],
            "parts": {part: tables["parts"][part] for part in parts},
            "installations": {key: row for part in parts for key, row in stays[part].items()},
        }
        made.tables["positions"] = own[vehicle] | {
            row["position_id"]: tables["positions"][row["position_id"]]
            for row in made.tables["installations"].values()
        }
        for name, rows in of_parts.items():
            made.tables[name] = {key: row for part in parts for key, row in rows.get(part, {}).items()}
        return made

    return {vehicle: inputs_from(slice_of(vehicle), vehicle) for vehicle in tables["vehicles"]}


def _by_part(register: Register, name: str) -> dict[str, dict[str, Row]]:
    found: dict[str, dict[str, Row]] = defaultdict(dict)
    for key, row in register.tables[name].items():
        found[row["part_id"]][key] = row
    return found
