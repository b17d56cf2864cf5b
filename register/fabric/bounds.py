"""The least and the greatest weighted average, where weights and values are known only within limits.

Every weight w lies in [w_low, w_high], every value f in [f_low, f_high], freely and independently. The
average Σ w·f ÷ Σ w is least with every f at its low end and, for some threshold, the weights of the items
with f below it high and those of the others low; the greatest likewise. W. M. Dong and F. S. Wong, "Fuzzy
weighted averages and implementation of the extension principle", Fuzzy Sets and Systems 21 (1987) 183-199;
the threshold is found here by raising weights in the order of f for as long as that helps.

Weights and values are whole numbers of any unit, so every answer is exact; it is in the unit of the values.
Choices of weights that add up to 0 give no average and are left out of account.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

Moving = list[tuple[int, int]]
"""(value, w_high − w_low) of each item whose weight can move."""


class WeightedRange:
    """The sums from which both bounds follow, gathered one item at a time, in any order."""

    __slots__ = ("high_moment", "low_moment", "moving_high", "moving_low", "weight")

    def __init__(self) -> None:
        self.weight = 0
        self.low_moment = 0
        self.high_moment = 0
        self.moving_low: Moving = []
        self.moving_high: Moving = []

    def add(self, w_low: int, w_high: int, f_low: int, f_high: int) -> None:
        self.weight += w_low
        self.low_moment += w_low * f_low
        self.high_moment += w_low * f_high
        if w_high > w_low:
            self.moving_low.append((f_low, w_high - w_low))
            self.moving_high.append((f_high, w_high - w_low))

    @classmethod
    def together(cls, ranges: Iterable[WeightedRange]) -> WeightedRange:
        whole = cls()
        for one in ranges:
            whole.weight += one.weight
            whole.low_moment += one.low_moment
            whole.high_moment += one.high_moment
            whole.moving_low += one.moving_low
            whole.moving_high += one.moving_high
        return whole

    @property
    def greatest_weight(self) -> int:
        """Σ w_high."""
        return self.weight + sum(more for _, more in self.moving_low)

    def least(self) -> Fraction | None:
        """The low bound; None where nothing can weigh anything."""
        moment, weight = self.low_moment, self.weight
        for value, more in sorted(self.moving_low):
            if weight and value * weight >= moment:
                break
            moment += value * more
            weight += more
        return Fraction(moment, weight) if weight else None

    def greatest(self) -> Fraction | None:
        """The high bound; None where nothing can weigh anything."""
        moment, weight = self.high_moment, self.weight
        for value, more in sorted(self.moving_high, reverse=True):
            if weight and value * weight <= moment:
                break
            moment += value * more
            weight += more
        return Fraction(moment, weight) if weight else None


class MovingBounds:
    """The same bounds where items come and go: O(log m) an item and a question, m being the number of values.

    ``values`` holds every (f_low, f_high) that will ever be put in: the ranks are fixed beforehand.
    """

    __slots__ = ("_high", "_low")

    def __init__(self, values: Iterable[tuple[int, int]]) -> None:
        lows, highs = set(), set()
        for f_low, f_high in values:
            lows.add(f_low)
            highs.add(-f_high)
        self._low = _Ladder(sorted(lows))
        self._high = _Ladder(sorted(highs))

    def put(self, w_low: int, w_high: int, f_low: int, f_high: int) -> None:
        self._low.put(w_low, w_high - w_low, f_low)
        self._high.put(w_low, w_high - w_low, -f_high)

    def take(self, w_low: int, w_high: int, f_low: int, f_high: int) -> None:
        self._low.put(-w_low, w_low - w_high, f_low)
        self._high.put(-w_low, w_low - w_high, -f_high)

    def least(self) -> Fraction | None:
        return self._low.least()

    def greatest(self) -> Fraction | None:
        negative = self._high.least()
        return None if negative is None else -negative


class _Ladder:
    """Fenwick trees over the ranks of the values: what the movable weight below a rank amounts to.

    The least average L is the root of Σ w_low·(f − L) + Σ over f < L of (w_high − w_low)·(f − L), which falls
    in L: the rank where it changes sign is found by walking down the tree.
    """

    __slots__ = ("_moment", "_moments", "_more", "_rank", "_top", "_values", "_weight")

    def __init__(self, values: list[int]) -> None:
        self._values = [0, *values]
        self._rank = {value: rank for rank, value in enumerate(values, start=1)}
        self._more = [0] * (len(values) + 1)
        self._moments = [0] * (len(values) + 1)
        self._top = 1 << len(values).bit_length() >> 1
        self._weight = 0
        self._moment = 0

    def put(self, weight: int, more: int, value: int) -> None:
        self._weight += weight
        self._moment += weight * value
        if not more:
            return
        rank, moment, size = self._rank[value], more * value, len(self._more)
        while rank < size:
            self._more[rank] += more
            self._moments[rank] += moment
            rank += rank & -rank

    def least(self) -> Fraction | None:
        values, size = self._values, len(self._values)
        at, weight, moment, step = 0, self._weight, self._moment, self._top
        while step:
            upper = at + step
            if upper < size:
                heavier, higher = weight + self._more[upper], moment + self._moments[upper]
                if not heavier or higher > values[upper] * heavier:
                    at, weight, moment = upper, heavier, higher
            step >>= 1
        if weight:
            return Fraction(moment, weight)
        # Nothing weighs anything up to this rank: the next value can be had alone.
        return Fraction(values[at + 1]) if at + 1 < size else None
