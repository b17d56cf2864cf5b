"""What the figures of one vehicle depend on: plain frozen values, no database, no clock.

Days are proleptic Gregorian day numbers (``datetime.date.toordinal``); open ends are ``BEGINNING`` and ``END`` of
``register.fabric.dates``. Masses are whole grams, fractions whole millionths. Keys are lower-case ids.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from register.fabric.dates import Span
from register.fabric.interval import Interval

VISIBILITIES = ("in view", "close inspection", "hidden")
BASES = ("mass", "count", "significance")
STATUSES = ("original", "restored", "replica", "modern substitute")
GRADES = {"exceptional": 4, "considerable": 3, "some": 2, "little": 1, "intrusive": 0}


@dataclass(frozen=True, slots=True)
class Vehicle:
    key: str
    built: Span
    empty_mass: Interval | None = None


@dataclass(frozen=True, slots=True)
class Reference:
    """A reference period: its last day is ``span.latest``, it begins on ``span.earliest``."""

    label: str
    edtf: str
    span: Span
    default: bool = False


@dataclass(frozen=True, slots=True)
class Position:
    key: str
    vehicle: str
    visibility: str
    grade: int | None = None
    wear: bool = False
    design_mass: Interval | None = None


@dataclass(frozen=True, slots=True)
class Part:
    key: str
    mass: Interval | None = None
    disposal: str = ""
    disposed: Span | None = None


@dataclass(frozen=True, slots=True)
class Installation:
    """Part in position over [fitted, removed): spans already resolved against the vehicle's built date and
    tightened by ``seen on`` (``register.fabric.occupancy.resolve``). ``removed`` None: still fitted."""

    position: str
    part: str
    vehicle: str
    fitted: Span
    removed: Span | None = None
    temporary: bool = False
    visibility: str = ""


@dataclass(frozen=True, slots=True)
class Assessment:
    """The assessment in force of a part. ``original_since`` None: as built, of the vehicle it is original to."""

    part: str
    day: int
    status: str
    original_to: str = ""
    original_since: Span | None = None
    fraction: Interval | None = None
    strength: int = 0
    disputed: bool = False


@dataclass(frozen=True, slots=True)
class Treatment:
    part: str
    span: Span
    replaced: Interval


@dataclass(frozen=True, slots=True)
class VehicleInputs:
    """Everything that the figures of ``vehicle`` depend on.

    ``positions`` are this vehicle's. ``installations`` are those in this vehicle's positions and, for every part
    that was ever in one of them, those elsewhere (``vehicle`` tells which); with these, what other parts were in
    those positions elsewhere, since a part that is certainly there rules out one that only may be. ``parts``,
    ``assessments`` (in force: accepted, latest) and ``treatments`` are those of the parts that were ever here.
    """

    vehicle: Vehicle
    references: tuple[Reference, ...]
    positions: Mapping[str, Position]
    parts: Mapping[str, Part]
    installations: tuple[Installation, ...]
    assessments: Mapping[str, Assessment] = field(default_factory=dict)
    treatments: Mapping[str, tuple[Treatment, ...]] = field(default_factory=dict)
