"""The figure if historic fabric that belonged to another vehicle first counted as original too.

Not a figure of the method of its own: the same sums (sections 5 to 7) with the surviving fraction put in
place of the original one for the parts of that category. A statement prints it beside the figure, so that
nobody has to guess how much of the answer would hang on it.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from register.fabric.account import Row
from register.fabric.bounds import WeightedRange
from register.fabric.fraction import FROM_ELSEWHERE
from register.fabric.interval import ONE, Interval


class WithElsewhere(NamedTuple):
    """Exact percentages. best: over the assessed items alone; None without one."""

    low: Fraction
    best: Fraction | None
    high: Fraction


def with_elsewhere(rows: Iterable[Row]) -> WithElsewhere | None:
    """The bounds and the best figure over weighted rows; None where nothing has a weight."""
    weighed = [(row, row.weight, _counted(row)) for row in rows if row.weight is not None]
    bounds = WeightedRange((weight.low, weight.high, f.low, f.high) for _, weight, f in weighed)
    low, high = bounds.least(), bounds.greatest()
    if low is None or high is None:
        return None
    above = below = 0
    for row, weight, f in weighed:
        if row.counts_in_best and f.best is not None:
            above += (weight.best or 0) * f.best
            below += weight.best or 0
    best = Fraction(100 * above, below * ONE) if below else None
    return WithElsewhere(100 * low / ONE, best, 100 * high / ONE)


def _counted(row: Row) -> Interval:
    """Its original fraction, or what has survived of it if it came from elsewhere."""
    if row.category != FROM_ELSEWHERE:
        return row.f
    if row.certain:
        return row.s
    return Interval(min(row.f.low, row.s.low), row.s.best, max(row.f.high, row.s.high))
