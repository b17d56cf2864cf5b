"""The figures of a vehicle over its whole life, as steps (method, section 9).

One sweep with running sums in whole numbers: the steps are exactly what the figures of each day would be,
and the work grows as the number of dates.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from register.fabric.bounds import MovingBounds
from register.fabric.dates import BEGINNING
from register.fabric.inputs import Reference, VehicleInputs
from register.fabric.interval import ONE
from register.fabric.sweep import Moves, Stake, Sweep, calendar
from register.fabric.weights import UNIT


class Level(NamedTuple):
    """Percentages are exact, None where there is no such figure; weight in kg, items or points."""

    best: Fraction | None
    low: Fraction | None
    high: Fraction | None
    assessed_share: Fraction | None
    weight: Fraction


class Step(NamedTuple):
    """A level that holds from the day ``start`` until the next step.

    recorded: nothing happened to the vehicle on that day, something was found out.
    """

    start: int
    level: Level
    recorded: bool


@dataclass(frozen=True, slots=True)
class Timeline:
    """steps: oldest first, no two neighbours alike."""

    vehicle: str
    reference: Reference
    basis: str
    include_wear: bool
    steps: tuple[Step, ...]


def timeline(
    inputs: VehicleInputs, *, reference: Reference, basis: str, include_wear: bool = False
) -> Timeline:
    """Every step from the first date that concerns the vehicle on; before it nothing is said."""
    days = calendar(inputs, reference)
    swept = list(Sweep(inputs, reference, basis, include_wear).moves(days))
    sums = _RunningSums(swept, UNIT[basis])
    steps: list[Step] = []
    for day, moves in swept:
        sums.move(moves)
        if day <= BEGINNING or (steps and not moves):
            continue
        level = sums.level()
        if not steps or level != steps[-1].level:
            steps.append(Step(day, level, day in days.assessed and day not in days.other))
    return Timeline(inputs.vehicle.key, reference, basis, include_wear, tuple(steps))


class _RunningSums:
    def __init__(self, swept: list[tuple[int, Moves]], unit: int) -> None:
        stakes = (stake for _, moves in swept for move in moves for stake in move if stake is not None)
        self._bounds = MovingBounds((stake.f_low, stake.f_high) for stake in stakes)
        self._unit = unit
        self._weight = self._assessed = self._original = 0

    def move(self, moves: Moves) -> None:
        for before, after in moves:
            if before is not None:
                self._bounds.take(before.w_low, before.w_high, before.f_low, before.f_high)
                self._count(before, -1)
            if after is not None:
                self._bounds.put(after.w_low, after.w_high, after.f_low, after.f_high)
                self._count(after, 1)

    def _count(self, stake: Stake, sign: int) -> None:
        if stake.w_best is None:
            return
        self._weight += sign * stake.w_best
        if stake.f_best is not None:
            self._assessed += sign * stake.w_best
            self._original += sign * stake.w_best * stake.f_best

    def level(self) -> Level:
        low, high = self._bounds.least(), self._bounds.greatest()
        return Level(
            best=Fraction(100 * self._original, self._assessed * ONE) if self._assessed else None,
            low=None if low is None else 100 * low / ONE,
            high=None if high is None else 100 * high / ONE,
            assessed_share=Fraction(100 * self._assessed, self._weight) if self._weight else None,
            weight=Fraction(self._weight, self._unit),
        )
