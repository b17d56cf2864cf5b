"""What became of the vehicle as it was at a reference date (method, section 8)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from register.fabric.bounds import WeightedRange
from register.fabric.dates import day_in_words
from register.fabric.fraction import MADE_SINCE, known, remaining, surviving
from register.fabric.inputs import Installation, Part, Reference, VehicleInputs
from register.fabric.interval import ONE, Interval
from register.fabric.occupancy import best_of, is_definite, occupancy, unstruck
from register.fabric.weights import UNIT, WEIGHTS

WITH_THIS, WITH_ANOTHER, IN_STORE = "with_this_vehicle", "with_another_vehicle", "in_store"
TRANSFERRED, RENEWED, LOST, NOT_ASSESSED = "transferred", "material_renewed", "lost", "not_assessed"
SHARES = (WITH_THIS, WITH_ANOTHER, IN_STORE, TRANSFERRED, RENEWED, LOST, NOT_ASSESSED)
"""What a part's weight may have become, in the order in which it is printed."""

LOST_BY = frozenset({"scrapped", "destroyed", "lost"})


class SurvivalRow(NamedTuple):
    """One part of the inventory.

    position: where it was on the last reference day. where: where it belongs on the day, a word of
    ``SHARES``. vehicle: the key of the vehicle it belongs to, "" for none. status: "" where it is not
    assessed. weight: its own (grams, 1, points), None: unweighted. s: what is left of it, against the
    reference day. f: how much of it may be with this vehicle. Both in 1/ONE.
    """

    part: str
    position: str
    where: str
    vehicle: str
    status: str
    weight: Interval | None
    s: Interval
    f: Interval


@dataclass(frozen=True, slots=True)
class Survival:
    """Percentages are exact, of ``weight`` (kg, parts or points); None: there is no such figure.

    low, high: the bounds of the share with this vehicle.
    """

    vehicle: str
    day: int
    reference: Reference
    basis: str
    include_wear: bool
    inventory: int
    unweighted: int
    weight: Fraction
    low: Fraction | None
    high: Fraction | None
    shares: Mapping[str, Fraction | None]
    rows: tuple[SurvivalRow, ...]

    @property
    def made_since(self) -> tuple[SurvivalRow, ...]:
        """Replicas and modern substitutes already in place then: surviving here, never retained original
        fabric.
        """
        return tuple(row for row in self.rows if row.status in MADE_SINCE)


def survival(
    inputs: VehicleInputs, *, day: int, reference: Reference, basis: str, include_wear: bool = False
) -> Survival:
    """The shares on ``day``. ValueError, with a sentence, for a day before the end of the reference date."""
    last = reference.span.latest
    if day < last:
        raise ValueError(
            f"Survival is counted from the end of the reference date: ask for "
            f"{day_in_words(date.fromordinal(last))}, or a later day."
        )
    rows = _rows(inputs, day, reference, basis, include_wear)
    weighed = [(row, row.weight) for row in rows if row.weight is not None]
    bounds = WeightedRange((weight.low, weight.high, row.f.low, row.f.high) for row, weight in weighed)
    total, kept = 0, dict.fromkeys(SHARES, 0)
    for row, weight in weighed:
        total += known(weight)
        for share, part in _shares(row):
            kept[share] += known(weight) * part
    low, high = bounds.least(), bounds.greatest()
    return Survival(
        vehicle=inputs.vehicle.key,
        day=day,
        reference=reference,
        basis=basis,
        include_wear=include_wear,
        inventory=len(rows),
        unweighted=len(rows) - len(weighed),
        weight=Fraction(total, UNIT[basis]),
        low=None if low is None else 100 * low / ONE,
        high=None if high is None else 100 * high / ONE,
        shares={share: Fraction(100 * kept[share], total * ONE) if total else None for share in SHARES},
        rows=rows,
    )


def _shares(row: SurvivalRow) -> Iterable[tuple[str, int]]:
    """What its weight goes to, in parts of ONE."""
    if row.where == LOST:
        return ((LOST, ONE),)
    if row.s.best is None:
        return ((NOT_ASSESSED, ONE),)
    return (row.where, row.s.best), (RENEWED, ONE - row.s.best)


def _inventory(inputs: VehicleInputs, last: int, include_wear: bool) -> list[Installation]:
    """The best installations on the last reference day, in the order of the positions, each part once."""
    found: dict[str, Installation] = {}
    for one in (there.best for there in occupancy(inputs, last)):
        if one is None or (inputs.positions[one.position].wear and not include_wear):
            continue
        other = found.get(one.part)
        found[one.part] = one if other is None else best_of((one, other), last) or one
    return list(found.values())


def _rows(
    inputs: VehicleInputs, day: int, reference: Reference, basis: str, include_wear: bool
) -> tuple[SurvivalRow, ...]:
    belonging: dict[str, list[Installation]] = {}
    for one in unstruck(inputs.installations, day):
        belonging.setdefault(one.part, []).append(one)
    weigh = WEIGHTS[basis]

    def row(then: Installation) -> SurvivalRow:
        part, now = inputs.parts[then.part], belonging.get(then.part, [])
        assessment, treatments = inputs.assessments.get(part.key), inputs.treatments.get(part.key, ())
        s = surviving(assessment, treatments, day)
        if assessment is not None:
            since = assessment.original_since or inputs.vehicle.built
            s = remaining(s, assessment, treatments, since, reference, day)
        here = [one for one in now if one.position in inputs.positions]
        f = Interval(
            s.low if any(is_definite(one, day) for one in here) else 0,
            None,
            s.high if here else 0,
        )
        where, vehicle = _whereabouts(part, best_of(now, day), inputs.vehicle.key, day)
        weight, _ = weigh(inputs.positions[then.position], part)
        return SurvivalRow(
            part.key, then.position, where, vehicle, assessment.status if assessment else "", weight, s, f
        )

    return tuple(row(then) for then in _inventory(inputs, reference.span.latest, include_wear))


def _whereabouts(part: Part, best: Installation | None, here: str, day: int) -> tuple[str, str]:
    """(where it belongs, the vehicle's key): belonging, not where it stands."""
    disposed = part.disposed is not None and part.disposed.best <= day
    if disposed and part.disposal in LOST_BY:
        return LOST, ""
    if best is not None:
        return (WITH_THIS if best.vehicle == here else WITH_ANOTHER), best.vehicle
    return (TRANSFERRED if disposed and part.disposal == TRANSFERRED else IN_STORE), ""
