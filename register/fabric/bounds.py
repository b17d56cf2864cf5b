"""The least and the greatest weighted average, where weights and values are known only within limits.

Every weight w lies in [w_low, w_high], every value f in [f_low, f_high], freely and independently. The
average Σ w·f ÷ Σ w is least with every f at its low end and, for some threshold, the weights of the items
with f below it high and those of the others low; the greatest likewise. W. M. Dong and F. S. Wong, "Fuzzy
weighted averages and implementation of the extension principle", Fuzzy Sets and Systems 21 (1987), pages
183-199 from memory; the threshold is found here by raising weights in the order of f for as long as that
helps.

Weights and values are whole numbers of any unit, so every answer is exact; it is in the unit of the values.
Choices of weights that add up to 0 give no average and are left out of account.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

Item = tuple[int, int, int, int]
"""w_low, w_high, f_low, f_high"""

Moving = dict[int, int]
"""By value, the Σ (w_high − w_low) of the items of that value whose weight can move."""


class WeightedRange:
    """The sums from which both bounds follow, gathered in any order."""

    __slots__ = ("high_moment", "low_moment", "moving_high", "moving_low", "weight")

    def __init__(self, items: Iterable[Item] = ()) -> None:
        self.weight = 0
        self.low_moment = 0
        self.high_moment = 0
        self.moving_low: Moving = {}
        self.moving_high: Moving = {}
        self.gather(items)

    def gather(self, items: Iterable[Item]) -> None:
        weight = low_moment = high_moment = 0
        lows, highs = self.moving_low, self.moving_high
        for w_low, w_high, f_low, f_high in items:
            weight += w_low
            low_moment += w_low * f_low
            high_moment += w_low * f_high
            if w_high > w_low:
                lows[f_low] = lows.get(f_low, 0) + w_high - w_low
                highs[f_high] = highs.get(f_high, 0) + w_high - w_low
        self.weight += weight
        self.low_moment += low_moment
        self.high_moment += high_moment

    @classmethod
    def together(cls, ranges: Iterable[WeightedRange]) -> WeightedRange:
        whole = cls()
        for one in ranges:
            whole.weight += one.weight
            whole.low_moment += one.low_moment
            whole.high_moment += one.high_moment
            for sums, more in ((whole.moving_low, one.moving_low), (whole.moving_high, one.moving_high)):
                for value, moving in more.items():
                    sums[value] = sums.get(value, 0) + moving
        return whole

    @property
    def greatest_weight(self) -> int:
        """Σ w_high."""
        return self.weight + sum(self.moving_low.values())

    def least(self) -> Fraction | None:
        """The low bound; None where nothing can weigh anything."""
        moment, weight, moving = self.low_moment, self.weight, self.moving_low
        for value in sorted(moving):
            if weight and value * weight >= moment:
                break
            moment += value * moving[value]
            weight += moving[value]
        return Fraction(moment, weight) if weight else None

    def greatest(self) -> Fraction | None:
        """The high bound; None where nothing can weigh anything."""
        moment, weight, moving = self.high_moment, self.weight, self.moving_high
        for value in sorted(moving, reverse=True):
            if weight and value * weight <= moment:
                break
            moment += value * moving[value]
            weight += moving[value]
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

    def shift(self, changes: WeightedRange) -> None:
        """Put in and take out many at once: the sums of what comes in less those of what goes out. One walk up the trees for
        each value, however many items have it."""
        self._low.shift(changes.weight, changes.low_moment, changes.moving_low)
        self._high.shift(changes.weight, -changes.high_moment, {-f: more for f, more in changes.moving_high.items()})

    def least(self) -> Fraction | None:
        found = self._low.least()
        return None if found is None else Fraction(*found)

    def greatest(self) -> Fraction | None:
        found = self._high.least()
        return None if found is None else Fraction(-found[0], found[1])

    def width(self) -> tuple[int, int] | None:
        """greatest − least as (numerator, denominator), not in lowest terms: quick, where there are many."""
        low, high = self._low.least(), self._high.least()
        if low is None or high is None:
            return None
        return -high[0] * low[1] - low[0] * high[1], high[1] * low[1]


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
        if more:
            self._climb(value, more)

    def shift(self, weight: int, moment: int, moving: Moving) -> None:
        self._weight += weight
        self._moment += moment
        for value, more in moving.items():
            if more:
                self._climb(value, more)

    def _climb(self, value: int, more: int) -> None:
        mores, moments, size = self._more, self._moments, len(self._more)
        rank, moment = self._rank[value], more * value
        while rank < size:
            mores[rank] += more
            moments[rank] += moment
            rank += rank & -rank

    def least(self) -> tuple[int, int] | None:
        """(moment, weight) of the least average; None where nothing can weigh anything."""
        values, mores, moments, size = self._values, self._more, self._moments, len(self._values)
        at, weight, moment, step = 0, self._weight, self._moment, self._top
        while step:
            upper = at + step
            if upper < size:
                heavier, higher = weight + mores[upper], moment + moments[upper]
                if not heavier or higher > values[upper] * heavier:
                    at, weight, moment = upper, heavier, higher
            step >>= 1
        if weight:
            return moment, weight
        # Nothing weighs anything up to this rank: the next value can be had alone.
        return (values[at + 1], 1) if at + 1 < size else None
