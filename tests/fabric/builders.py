"""Vehicles for tests, said as a foreman would say them.

engine = Engine(built="1894").item("frames", kg=6000, status="original").item("cab", kg=1000)
figures(engine.inputs(), day=day("2024-06-30"), reference=engine.as_built, basis="mass")
"""

from __future__ import annotations

from datetime import date

from register.fabric.dates import Span, read_date, span_of
from register.fabric.inputs import (
    Assessment,
    Installation,
    Part,
    Position,
    Reference,
    Treatment,
    Vehicle,
    VehicleInputs,
)
from register.fabric.interval import MILLION, Interval
from register.fabric.occupancy import resolve

Known = float | tuple[float, float, float] | None
"""A value, or its low, best and high."""

TODAY = date(2024, 6, 30).toordinal()


def day(iso: str) -> int:
    return date.fromisoformat(iso).toordinal()


def span(text: str) -> Span:
    return span_of(read_date(text).edtf)


def interval(value: Known, scale: int) -> Interval | None:
    """``value`` in whole numbers of 1/``scale``."""
    if value is None:
        return None
    low, best, high = value if isinstance(value, tuple) else (value, value, value)
    return Interval(round(low * scale), round(best * scale), round(high * scale))


def kilograms(value: Known) -> Interval | None:
    return interval(value, 1000)


def share(value: Known) -> Interval | None:
    return interval(value, MILLION)


class Engine:
    """A vehicle in the making; every method gives the engine back."""

    def __init__(self, key: str = "eng", built: str = "1894", empty_kg: Known = None) -> None:
        self.vehicle = Vehicle(key, span(built), kilograms(empty_kg))
        self.as_built = Reference("as built", read_date(built).edtf, span(built), default=True)
        self.references = [self.as_built]
        self.positions: dict[str, Position] = {}
        self.parts: dict[str, Part] = {}
        self.installations: list[Installation] = []
        self.assessments: dict[str, Assessment] = {}
        self.treatments: dict[str, list[Treatment]] = {}

    def reference(self, label: str, when: str) -> Reference:
        self.references.append(Reference(label, read_date(when).edtf, span(when)))
        return self.references[-1]

    def position(
        self,
        key: str,
        *,
        visibility: str = "in view",
        grade: int | None = None,
        wear: bool = False,
        design_kg: Known = None,
    ) -> Engine:
        self.positions[key] = Position(key, self.vehicle.key, visibility, grade, wear, kilograms(design_kg))
        return self

    def part(self, key: str, kg: Known = None, disposal: str = "", disposed: str = "") -> Engine:
        self.parts[key] = Part(key, kilograms(kg), disposal, span(disposed) if disposed else None)
        return self

    def fit(
        self,
        part: str,
        position: str,
        fitted: str | None = "as built",
        removed: str | None = None,
        *,
        seen_on: str | None = None,
        temporary: bool = False,
        visibility: str = "",
        vehicle: str = "",
    ) -> Engine:
        """``vehicle``: another one; its build dates play no part in the tests."""
        start, end = resolve(
            read_date(fitted, as_built=True) if fitted else None,
            day(seen_on) if seen_on else None,
            read_date(removed) if removed else None,
            self.vehicle.built,
        )
        where = vehicle or self.vehicle.key
        self.installations.append(Installation(position, part, where, start, end, temporary, visibility))
        return self

    def assess(
        self,
        part: str,
        status: str,
        fraction: Known = None,
        *,
        since: str | None = None,
        original_to: str | None = None,
        on: str = "2015-06-01",
        strength: int = 0,
        disputed: bool = False,
    ) -> Engine:
        self.assessments[part] = Assessment(
            part,
            day(on),
            status,
            self.vehicle.key if original_to is None else original_to,
            span(since) if since else None,
            share(fraction),
            strength,
            disputed,
        )
        return self

    def treat(self, part: str, when: str, replaced: Known) -> Engine:
        amount = share(replaced)
        assert amount is not None
        self.treatments.setdefault(part, []).append(Treatment(part, span(when), amount))
        return self

    def item(
        self,
        key: str,
        kg: Known = None,
        status: str = "",
        fraction: Known = None,
        *,
        fitted: str = "as built",
        removed: str | None = None,
        visibility: str = "in view",
        grade: int | None = None,
        wear: bool = False,
        since: str | None = None,
        original_to: str | None = None,
        strength: int = 0,
    ) -> Engine:
        """A position, a part of the same key in it, and, given a status, its assessment."""
        self.position(key, visibility=visibility, grade=grade, wear=wear)
        self.part(key, kg).fit(key, key, fitted, removed)
        if status:
            self.assess(key, status, fraction, since=since, original_to=original_to, strength=strength)
        return self

    def inputs(self) -> VehicleInputs:
        return VehicleInputs(
            vehicle=self.vehicle,
            references=tuple(self.references),
            positions=dict(self.positions),
            parts=dict(self.parts),
            installations=tuple(self.installations),
            assessments=dict(self.assessments),
            treatments={part: tuple(several) for part, several in self.treatments.items()},
        )
