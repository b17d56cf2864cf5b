"""The inputs of a vehicle's figures as one run of bytes, and the SHA-256 of it: the data hash.

The bytes are canonical JSON (UTF-8, keys sorted, no blanks between), every list in an order of its own, so that the same
inputs give the same bytes whatever they were read from. Days are ISO days, ``null`` for an open end; masses are
[low, best, high] in whole grams, fractions in whole millionths; ids are in lower case. What enters no figure (a name, a
remark, a photograph) is not in them.
"""

from __future__ import annotations

import hashlib
import json
from datetime import date
from typing import Any

from register.fabric.dates import BEGINNING, END, Span
from register.fabric.inputs import (
    Assessment,
    Installation,
    Part,
    Position,
    Reference,
    Treatment,
    VehicleInputs,
)
from register.fabric.interval import Interval

FORMAT = "fabric register, inputs of figures, version 1"


def inputs_bytes(inputs: VehicleInputs) -> bytes:
    """What the figures of the vehicle are computed from. Installations of other vehicles' parts, which only survival asks
    for, are left out."""
    here = [one for one in inputs.installations if one.part in inputs.parts]
    return _canonical(
        {
            "format": FORMAT,
            "vehicle": {
                "vehicle_id": inputs.vehicle.key,
                "built": _span(inputs.vehicle.built),
                "empty_mass": _interval(inputs.vehicle.empty_mass),
            },
            "reference_periods": _sorted(map(_reference, inputs.references)),
            "positions": _sorted(map(_position, inputs.positions.values())),
            "parts": _sorted(map(_part, inputs.parts.values())),
            "installations": _sorted(map(_installation, here)),
            "assessments": _sorted(map(_assessment, inputs.assessments.values())),
            "treatments": _sorted(_treatment(one) for some in inputs.treatments.values() for one in some),
        }
    )


def data_hash(inputs: VehicleInputs) -> str:
    """SHA-256 of ``inputs_bytes``, in hexadecimal."""
    return hashlib.sha256(inputs_bytes(inputs)).hexdigest()


def _canonical(value: Any) -> bytes:
    return json.dumps(
        value, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
    ).encode()


def _sorted(rows: Any) -> list[dict[str, Any]]:
    return sorted(rows, key=_canonical)


def _day(number: int) -> str | None:
    return None if number in (BEGINNING, END) else date.fromordinal(number).isoformat()


def _span(span: Span | None) -> list[str | None] | None:
    """First day, best day, last day."""
    return None if span is None else [_day(one) for one in (span.earliest, span.best, span.latest)]


def _interval(interval: Interval | None) -> list[int | None] | None:
    return None if interval is None else [interval.low, interval.best, interval.high]


def _reference(one: Reference) -> dict[str, Any]:
    return {"label": one.label, "date": one.edtf, "days": _span(one.span), "default": one.default}


def _position(one: Position) -> dict[str, Any]:
    return {
        "position_id": one.key,
        "visibility": one.visibility,
        "grade": one.grade,
        "wear_part": one.wear,
        "design_mass": _interval(one.design_mass),
    }


def _part(one: Part) -> dict[str, Any]:
    return {
        "part_id": one.key,
        "mass": _interval(one.mass),
        "disposal": one.disposal,
        "disposal_date": _span(one.disposed),
    }


def _installation(one: Installation) -> dict[str, Any]:
    return {
        "position_id": one.position,
        "part_id": one.part,
        "vehicle_id": one.vehicle,
        "fitted": _span(one.fitted),
        "removed": _span(one.removed),
        "temporary": one.temporary,
        "visibility": one.visibility,
    }


def _assessment(one: Assessment) -> dict[str, Any]:
    return {
        "part_id": one.part,
        "assessed_on": _day(one.day),
        "status": one.status,
        "original_to": one.original_to,
        "original_since": _span(one.original_since),
        "fraction": _interval(one.fraction),
        "strength": one.strength,
        "disputed": one.disputed,
    }


def _treatment(one: Treatment) -> dict[str, Any]:
    return {"part_id": one.part, "date": _span(one.span), "replaced": _interval(one.replaced)}
