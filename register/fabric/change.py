"""What changed between two statements: work, or knowledge (method, section 12)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from register.fabric.figures import VehicleFigures, figures_on
from register.fabric.inputs import BASES, Reference, VehicleInputs
from register.fabric.interval import ONE


class Stated(NamedTuple):
    """What a statement was issued from: its frozen inputs, its day and its reference period."""

    inputs: VehicleInputs
    day: int
    reference: Reference


class PartChange(NamedTuple):
    """Percentage points that a part's contribution went up or down by. None where the figure's is None."""

    part: str
    work: Fraction | None
    knowledge: Fraction | None


@dataclass(frozen=True, slots=True)
class Change:
    """Differences of the best figure in percentage points; work and knowledge add up to the total.

    None where a figure they are the difference of does not exist. parts: those with a change, largest first.
    before, after: the figures of the two statements, whose bounds are printed side by side, undivided. known_better:
    those of the first one's day by the second one's inputs, which part work from knowledge.
    """

    vehicle: str
    basis: str
    total: Fraction | None
    work: Fraction | None
    knowledge: Fraction | None
    parts: tuple[PartChange, ...]
    before: VehicleFigures
    known_better: VehicleFigures
    after: VehicleFigures


def change(first: Stated, second: Stated, *, basis: str, include_wear: bool = False) -> Change:
    """From the first statement to the second, on one basis."""
    return changes(first, second, bases=(basis,), include_wear=include_wear)[basis]


def changes(
    first: Stated, second: Stated, *, bases: Iterable[str] = BASES, include_wear: bool = False
) -> dict[str, Change]:
    """The same on several bases.

    What the second statement's inputs say of the first one's day is set against what was known then; the
    rest is what happened in between.
    """
    bases = tuple(bases)

    def on(stated: Stated, day: int) -> dict[str, VehicleFigures]:
        return figures_on(
            stated.inputs, day=day, reference=stated.reference, bases=bases, include_wear=include_wear
        )

    figures = on(first, first.day), on(second, first.day), on(second, second.day)
    return {basis: _change(second, basis, *(one[basis] for one in figures)) for basis in bases}


def _change(
    second: Stated, basis: str, before: VehicleFigures, known_better: VehicleFigures, after: VehicleFigures
) -> Change:
    work, knowledge = _difference(after, known_better), _difference(known_better, before)
    return Change(
        vehicle=second.inputs.vehicle.key,
        basis=basis,
        total=_difference(after, before),
        work=work,
        knowledge=knowledge,
        parts=_parts(before, known_better, after, work is not None, knowledge is not None),
        before=before,
        known_better=known_better,
        after=after,
    )


def contributions(answer: VehicleFigures) -> Mapping[str, Fraction]:
    """The percentage points of each part that is in the best figure: 100 · w_best·f_best ÷ Σ w_best."""
    counted = [row for row in answer.rows if row.counts_in_best]
    total = sum(row.weight.best or 0 for row in counted if row.weight)
    found: dict[str, Fraction] = defaultdict(Fraction)
    for row in counted if total else ():
        if row.part is not None and row.weight is not None:
            found[row.part] += Fraction(100 * (row.weight.best or 0) * (row.f.best or 0), total * ONE)
    return found


def _parts(
    before: VehicleFigures, known_better: VehicleFigures, after: VehicleFigures, work: bool, knowledge: bool
) -> tuple[PartChange, ...]:
    first, between, second = contributions(before), contributions(known_better), contributions(after)
    nothing = Fraction(0)
    changed = []
    for part in {*first, *between, *second}:
        worked = second.get(part, nothing) - between.get(part, nothing)
        learned = between.get(part, nothing) - first.get(part, nothing)
        if worked or learned:
            changed.append((-abs(worked) - abs(learned), part, worked, learned))
    return tuple(
        PartChange(part, worked if work else None, learned if knowledge else None)
        for _, part, worked, learned in sorted(changed)
    )


def _difference(later: VehicleFigures, earlier: VehicleFigures) -> Fraction | None:
    if later.whole.best is None or earlier.whole.best is None:
        return None
    return later.whole.best - earlier.whole.best
