"""A quantity that is not known exactly: low, best, high, in whole numbers.

Masses are whole grams and fractions whole millionths (or, inside the core, whole parts of ``ONE``), so that
running sums never drift and a figure is the same on every machine.
"""

from __future__ import annotations

from dataclasses import dataclass

MILLION = 1_000_000
ONE = 10**18
"""A whole part. Surviving and original fractions are whole numbers of 1/ONE inside the core."""


@dataclass(frozen=True, slots=True)
class Interval:
    """low ≤ best ≤ high; ``best`` None where only the ends are known.

    Raises ValueError where the three are out of order: a disordered interval cannot be built.
    """

    low: int
    best: int | None
    high: int

    def __post_init__(self) -> None:
        middle = self.low if self.best is None else self.best
        if not self.low <= middle <= self.high:
            raise ValueError(f"low {self.low}, best {self.best} and high {self.high} are out of order")

    @classmethod
    def exactly(cls, value: int) -> Interval:
        return cls(value, value, value)

    @property
    def is_exact(self) -> bool:
        return self.low == self.high and self.best is not None
