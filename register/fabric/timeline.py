"""The figures of a vehicle over its whole life, as steps (method, section 9).

One sweep with running sums in whole numbers: the steps are exactly what the figures of each day would be,
and the work grows as the number of dates.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from register.fabric.bounds import MovingBounds, WeightedRange
from register.fabric.dates import BEGINNING
from register.fabric.inputs import Reference, VehicleInputs
from register.fabric.interval import ONE
from register.fabric.sweep import Moves, Sweep, calendar
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
        changes = WeightedRange()
        lows, highs = changes.moving_low, changes.moving_high
        for move in moves:
            for stake, sign in zip(move, (-1, 1), strict=True):
                if stake is None:
                    continue
                w_low, w_best, w_high, f_low, f_best, f_high = stake
                changes.weight += sign * w_low
                changes.low_moment += sign * w_low * f_low
                changes.high_moment += sign * w_low * f_high
                if w_high > w_low:
                    lows[f_low] = lows.get(f_low, 0) + sign * (w_high - w_low)
                    highs[f_high] = highs.get(f_high, 0) + sign * (w_high - w_low)
                if w_best is not None:
                    self._weight += sign * w_best
                    if f_best is not None:
                        self._assessed += sign * w_best
                        self._original += sign * w_best * f_best
        self._bounds.shift(changes)

    def level(self) -> Level:
        low, high = self._bounds.least(), self._bounds.greatest()
        return Level(
            best=Fraction(100 * self._original, self._assessed * ONE) if self._assessed else None,
            low=None if low is None else 100 * low / ONE,
            high=None if high is None else 100 * high / ONE,
            assessed_share=Fraction(100 * self._assessed, self._weight) if self._weight else None,
            weight=Fraction(self._weight, self._unit),
        )
