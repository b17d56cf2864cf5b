"""The figures for one vehicle, day, reference and basis (method, section 7)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from register.fabric.account import FabricOf, Row, fabrics, rows
from register.fabric.fraction import COMPOSITION
from register.fabric.inputs import BASES, VISIBILITIES, Installation, Reference, VehicleInputs
from register.fabric.interval import ONE
from register.fabric.occupancy import Occupancy, occupancy, stand_ins
from register.fabric.sums import Sums
from register.fabric.weights import UNIT

MAJOR_GRADE = 3
"""Considerable; a part of this grade or a higher one that nobody weighed keeps a mass percentage back."""

FEW = 20
"""More than one item in so many unweighted keeps a mass percentage back (our own rule, no source)."""


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures of a vehicle, or of what is seen of it. Percentages are exact; None: there is no such
    figure.

    weight: Σ w_best in kg, items or points. composition: the percentage of each of the seven categories.
    """

    best: Fraction | None
    low: Fraction | None
    high: Fraction | None
    likely_low: float | None
    likely_high: float | None
    assessed_share: Fraction | None
    items: int
    wear: int
    temporary: int
    unweighted: int
    assumed: int
    no_best: int
    weight: Fraction
    composition: Mapping[str, Fraction | None]


@dataclass(frozen=True, slots=True)
class WholeVehicle:
    """Bounds that count what the register does not list, up to the vehicle's empty mass."""

    low: Fraction | None
    high: Fraction | None
    mass_accounted_for: Fraction | None


@dataclass(frozen=True, slots=True)
class VehicleFigures:
    """The answer and, above it, the question.

    whole: the figures of ``visibility``, or of all. by_visibility and rows are of the whole vehicle whatever
    ``visibility`` says; wear_rows are the occupied wear positions left out; stand_ins the temporary
    installations.
    """

    vehicle: str
    day: int
    reference: Reference
    basis: str
    evidence_floor: int
    visibility: str | None
    include_wear: bool
    whole: Figures
    by_visibility: Mapping[str, Figures]
    whole_vehicle: WholeVehicle | None
    rows: tuple[Row, ...]
    wear_rows: tuple[Row, ...]
    stand_ins: tuple[Installation, ...]

    @property
    def rows_asked_for(self) -> tuple[Row, ...]:
        """The rows that ``whole`` is made of."""
        if self.visibility is None:
            return self.rows
        return tuple(row for row in self.rows if row.visibility == self.visibility)


def figures(
    inputs: VehicleInputs,
    *,
    day: int,
    reference: Reference,
    basis: str,
    evidence_floor: int = 0,
    include_wear: bool = False,
    visibility: str | None = None,
) -> VehicleFigures:
    """The figures on one basis. ValueError for an unknown basis or visibility."""
    return figures_on(
        inputs,
        day=day,
        reference=reference,
        bases=(basis,),
        evidence_floor=evidence_floor,
        include_wear=include_wear,
        visibility=visibility,
    )[basis]


def figures_on(
    inputs: VehicleInputs,
    *,
    day: int,
    reference: Reference,
    bases: Iterable[str] = BASES,
    evidence_floor: int = 0,
    include_wear: bool = False,
    visibility: str | None = None,
) -> dict[str, VehicleFigures]:
    """The figures on several bases, what is fitted and how much of it is original being worked out once."""
    for basis in (bases := tuple(bases)):
        if basis not in BASES:
            raise ValueError(f"There is no basis “{basis}”: it is one of {', '.join(BASES)}.")
    if visibility is not None and visibility not in VISIBILITIES:
        raise ValueError(f"There is no visibility “{visibility}”: it is one of {', '.join(VISIBILITIES)}.")
    there = occupancy(inputs, day)
    fabric_of = fabrics(inputs, reference, day=day, evidence_floor=evidence_floor)
    stand_in = tuple(
        one for one in stand_ins(inputs, day) if include_wear or not inputs.positions[one.position].wear
    )

    def on(basis: str) -> VehicleFigures:
        counted, wear_rows = _parted(inputs, there, fabric_of, basis, include_wear)
        sums = _sums(inputs, counted, wear_rows, stand_in)
        all_sums = Sums.together(sums.values())
        asked = all_sums if visibility is None else sums[visibility]
        return VehicleFigures(
            vehicle=inputs.vehicle.key,
            day=day,
            reference=reference,
            basis=basis,
            evidence_floor=evidence_floor,
            visibility=visibility,
            include_wear=include_wear,
            whole=_figures(asked, basis, evidence_floor),
            by_visibility={seen: _figures(one, basis, evidence_floor) for seen, one in sums.items()},
            whole_vehicle=_whole_vehicle(inputs, all_sums, wear_rows)
            if basis == "mass" and not visibility
            else None,
            rows=counted,
            wear_rows=wear_rows,
            stand_ins=stand_in,
        )

    return {basis: on(basis) for basis in bases}


def best_may_be_shown(figures: Figures) -> bool:
    """Whether at least half is assessed; a best figure for less gives way to "not enough assessed"."""
    return figures.best is not None and figures.assessed_share is not None and figures.assessed_share >= 50


def best_to_show(figures: Figures) -> Fraction | None:
    """The best figure where it may be shown, else None: what is worked out of a best figure is kept back with it."""
    return figures.best if best_may_be_shown(figures) else None


def whole_vehicle_first(answer: VehicleFigures) -> bool:
    """Whether the whole-vehicle bounds come first, the others being *of the weighted parts only*."""
    return answer.basis == "mass" and answer.whole.unweighted > 0


def mass_percentage_withheld(answer: VehicleFigures, inputs: VehicleInputs) -> bool:
    """Whether too much is unweighted for a statement, application or public page to give a percentage.

    Judged on all rows of the vehicle, whatever visibility was asked for. False on another basis.
    """
    if answer.basis != "mass":
        return False
    unweighted = [inputs.positions[row.position].grade for row in answer.rows if row.weight is None]
    if any(grade is not None and grade >= MAJOR_GRADE for grade in unweighted):
        return True
    return len(unweighted) * FEW > len(answer.rows)


def intrusive_items(answer: VehicleFigures, inputs: VehicleInputs) -> int:
    """How many items asked for are graded intrusive, and so carry no weight on the basis of significance."""
    return sum(inputs.positions[row.position].grade == 0 for row in answer.rows_asked_for)


def _parted(
    inputs: VehicleInputs, there: list[Occupancy], fabric_of: FabricOf, basis: str, include_wear: bool
) -> tuple[tuple[Row, ...], tuple[Row, ...]]:
    """(the rows that count, the wear rows left out)"""
    every = rows(inputs, there, fabric_of, basis)
    if include_wear:
        return tuple(every), ()
    counted: list[Row] = []
    wear: list[Row] = []
    for row in every:
        (wear if inputs.positions[row.position].wear else counted).append(row)
    return tuple(counted), tuple(wear)


def _sums(
    inputs: VehicleInputs, counted: Iterable[Row], wear_rows: Iterable[Row], stand_in: Iterable[Installation]
) -> dict[str, Sums]:
    """The sums of each visibility."""
    seen: dict[str, list[Row]] = {visibility: [] for visibility in VISIBILITIES}
    for row in counted:
        seen[row.visibility].append(row)
    sums = {visibility: Sums() for visibility in VISIBILITIES}
    for visibility, seen_rows in seen.items():
        sums[visibility].add(seen_rows)
    for row in wear_rows:
        sums[row.visibility].wear += 1
    for one in stand_in:
        sums[one.visibility or inputs.positions[one.position].visibility].temporary += 1
    return sums


def _figures(sums: Sums, basis: str, evidence_floor: int) -> Figures:
    best = sums.best() if evidence_floor == 0 else None
    likely_low, likely_high = (None, None) if best is None else sums.likely(best)
    return Figures(
        best=best,
        low=_percentage(sums.every_range.least()),
        high=_percentage(sums.every_range.greatest()),
        likely_low=likely_low,
        likely_high=likely_high,
        assessed_share=Fraction(100 * sums.assessed, sums.weight) if sums.weight else None,
        items=sums.items,
        wear=sums.wear,
        temporary=sums.temporary,
        unweighted=sums.unweighted,
        assumed=sums.assumed,
        no_best=sums.no_best,
        weight=Fraction(sums.weight, UNIT[basis]),
        composition={
            category: Fraction(100 * sums.shares[category], sums.weight * ONE) if sums.weight else None
            for category in COMPOSITION
        },
    )


def _whole_vehicle(inputs: VehicleInputs, sums: Sums, wear_rows: Iterable[Row]) -> WholeVehicle | None:
    """Both mass sums run over the wear parts too, though the bounds count them only if asked for."""
    empty = inputs.vehicle.empty_mass
    if empty is None:
        return None
    every = sums.every_range
    low, best, high = every.weight, sums.weight, every.greatest_weight
    for weight in (row.weight for row in wear_rows):
        if weight is not None:
            low, best, high = low + weight.low, best + (weight.best or 0), high + weight.high
    every.gather([(max(0, empty.low - high), max(0, empty.high - low), 0, ONE)])
    return WholeVehicle(
        low=_percentage(every.least()),
        high=_percentage(every.greatest()),
        mass_accounted_for=Fraction(100 * best, empty.best) if empty.best else None,
    )


def _percentage(ratio: Fraction | None) -> Fraction | None:
    """Of a fraction in 1/ONE."""
    return None if ratio is None else 100 * ratio / ONE
