"""The sums over rows from which every figure of section 7 of the method follows, in whole numbers.

One visibility's sums added to another's are those of both, so a vehicle is gone through once.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import sqrt

from register.fabric.account import Row
from register.fabric.bounds import WeightedRange
from register.fabric.fraction import (
    COMPOSITION,
    MADE_SINCE,
    NEW_MATERIAL,
    NOT_ASSESSED,
    REFERENCE_FABRIC,
    PartFabric,
)
from register.fabric.interval import ONE, Interval

COVERAGE = 1.96
"""Standard uncertainties on either side of the best figure: 95 % of a normal distribution (JCGM 100:2008,
G.1).
"""

_MADE_SINCE = frozenset(MADE_SINCE.values())


Known = tuple[PartFabric, Interval, Interval, bool]
"""(fabric, weight, f, certain) of an assessed item with a best."""


class Sums:
    """weight: Σ w_best; assessed: that of the items in the best figure; shares: Σ w_best·(fraction) by
    category.

    The variance sums are in 36ths: U(x) = 36·u²(x) is a whole number for a triangle and for an either/or
    alike.
    """

    __slots__ = (
        "assessed", "assumed", "f_variance", "items", "known_range", "no_best", "other_range", "shares",
        "temporary", "unweighted", "w_variance", "w_variance_f", "w_variance_ff", "wear", "weight",
    )  # fmt: skip

    def __init__(self) -> None:
        self.items = self.wear = self.temporary = self.unweighted = self.assumed = self.no_best = 0
        self.weight = self.assessed = 0
        self.shares = dict.fromkeys(COMPOSITION, 0)
        self.known_range = WeightedRange()
        self.other_range = WeightedRange()
        self.w_variance = self.w_variance_f = self.w_variance_ff = self.f_variance = 0

    def add(self, rows: list[Row]) -> None:
        known: list[Known] = []
        other: list[tuple[Interval, Interval]] = []
        for _, _, _, fabric, weight, f, certain, assumed, no_best, _ in rows:
            if weight is None:
                self.unweighted += 1
                continue
            self.assumed += assumed
            if weight.best is None or f.best is None:
                self.no_best += no_best
                other.append((weight, f))
            else:
                known.append((fabric, weight, f, certain))
        self.items += len(rows)
        self.known_range.gather([(w.low, w.high, f.low, f.high) for _, w, f, _ in known])
        self.other_range.gather([(w.low, w.high, f.low, f.high) for w, f in other])
        not_assessed = sum([weight.best or 0 for weight, _ in other])
        assessed = sum([weight.best or 0 for _, weight, _, _ in known])
        self.assessed += assessed
        self.weight += assessed + not_assessed
        self.shares[NOT_ASSESSED] += not_assessed * ONE
        self._compose(known)
        self._vary(known)

    def _compose(self, known: list[Known]) -> None:
        shares = self.shares
        for fabric, weight, f, _ in known:
            category, w_best = fabric.category, weight.best or 0
            if category in _MADE_SINCE:
                shares[category] += w_best * ONE
                continue
            kept = w_best * ((f if category == REFERENCE_FABRIC else fabric.s).best or 0)
            shares[category] += kept
            shares[NEW_MATERIAL] += w_best * ONE - kept

    def _vary(self, known: list[Known]) -> None:
        for fabric, weight, f, certain in known:
            w_best, f_best = weight.best or 0, f.best or 0
            if weight.low != weight.high:
                variance = _triangle(weight.low, w_best, weight.high)
                self.w_variance += variance
                self.w_variance_f += variance * f_best
                self.w_variance_ff += variance * f_best * f_best
            if f.low != f.high:
                either_or = fabric.straddles or not certain
                variance = 9 * (f.high - f.low) ** 2 if either_or else _triangle(f.low, f_best, f.high)
                self.f_variance += variance * w_best * w_best

    @classmethod
    def together(cls, several: Iterable[Sums]) -> Sums:
        whole, several = cls(), tuple(several)
        for name in cls.__slots__:
            if name not in ("shares", "known_range", "other_range"):
                setattr(whole, name, sum(getattr(one, name) for one in several))
        whole.shares = {category: sum(one.shares[category] for one in several) for category in COMPOSITION}
        whole.known_range = WeightedRange.together(one.known_range for one in several)
        whole.other_range = WeightedRange.together(one.other_range for one in several)
        return whole

    @property
    def every_range(self) -> WeightedRange:
        """Of all weighted items, assessed or not."""
        return WeightedRange.together((self.known_range, self.other_range))

    def best(self) -> Fraction | None:
        """Σ w_best·f_best ÷ Σ w_best in per cent; f_best is 0 in every category but reference fabric."""
        if not self.assessed:
            return None
        return Fraction(100 * self.shares[REFERENCE_FABRIC], self.assessed * ONE)

    def likely(self, best: Fraction) -> tuple[float, float]:
        """The likely range about ``best``, clipped to the bounds of the assessed items.

        The law of propagation of uncertainty for independent inputs, JCGM 100:2008, 5.1.2: with R = N/D the
        ratio and U = 36·u², 36·D⁴·u²(R) = Σ (f·D − N)²·U(w) + D²·Σ w²·U(f), expanded so that it needs no
        second pass.
        """
        n, d = self.shares[REFERENCE_FABRIC], self.assessed
        spread = d * d * (self.w_variance_ff + self.f_variance)
        spread += n * n * self.w_variance - 2 * d * n * self.w_variance_f
        u = sqrt(spread / (36 * d**4 * ONE * ONE))
        low, high = self.known_range.least(), self.known_range.greatest()
        assert low is not None and high is not None  # something assessed weighs something
        aside = COVERAGE * 100 * u
        return (
            max(float(best) - aside, float(100 * low / ONE)),
            min(float(best) + aside, float(100 * high / ONE)),
        )


def _triangle(low: int, best: int, high: int) -> int:
    """36 times the variance of a triangular distribution."""
    return 2 * (low * low + best * best + high * high - low * best - low * high - best * high)
