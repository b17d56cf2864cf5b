"""What to find out next: by how much each item known would narrow the bounds (method, section 10).

Each item is taken out of the sums and put back settled, exactly; nothing is added up again.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from register.fabric.account import Row
from register.fabric.bounds import MovingBounds
from register.fabric.figures import VehicleFigures
from register.fabric.interval import ONE, Interval

KNOWN = "known already"
UNWEIGHTED = "unweighted"
NO_BEST = "not known what is fitted, so nothing to settle it at"
NOTHING_WEIGHS = "nothing else weighs anything"


Width = tuple[int, int]
"""Numerator and denominator, in 1/ONE."""


class ToFindOut(NamedTuple):
    """gain: percentage points by which the bounds would narrow, None where there is none to give; why: the
    reason for that, or what is not known of the item.
    """

    position: str
    part: str | None
    gain: Fraction | None
    why: str


@dataclass(frozen=True, slots=True)
class Survey:
    """width: of the bounds now, in percentage points, None without bounds. parts: largest gain first."""

    answer: VehicleFigures
    width: Fraction | None
    parts: tuple[ToFindOut, ...]


def survey(answer: VehicleFigures) -> Survey:
    """What to find out next for these figures: same day, reference, basis, evidence floor and visibility."""
    rows = answer.rows_asked_for
    bounds = MovingBounds((row.f.low, row.f.high) for row in rows)
    for row in rows:
        if row.weight is not None:
            bounds.put(row.weight.low, row.weight.high, row.f.low, row.f.high)
    width = bounds.width()
    found = [_to_find_out(row, bounds, width) for row in rows]
    found.sort(key=_largest_first)
    return Survey(answer, None if width is None else _points(*width), tuple(found))


def _largest_first(one: ToFindOut) -> tuple[bool, int, Fraction, str]:
    """Exact: gains alike to 18 decimals are compared as fractions, which is too slow for all of them."""
    gain = one.gain or Fraction(0)
    return one.gain is None, -(gain.numerator * ONE // gain.denominator), -gain, one.position


def _to_find_out(row: Row, bounds: MovingBounds, width: Width | None) -> ToFindOut:
    weight, f = row.weight, row.f
    if weight is None:
        return ToFindOut(row.position, row.part, None, UNWEIGHTED)
    if weight.best is None:
        return ToFindOut(row.position, row.part, None, NO_BEST)
    why = _not_known(row, weight, f)
    if width is None:
        return ToFindOut(row.position, row.part, None, NOTHING_WEIGHS)
    if why == KNOWN:
        return ToFindOut(row.position, row.part, Fraction(0), why)
    bounds.take(weight.low, weight.high, f.low, f.high)
    values = (0, ONE) if f.best is None else (f.best,)
    widths = [_settled(bounds, weight.best, value) for value in values]
    bounds.put(weight.low, weight.high, f.low, f.high)
    left = [one for one in widths if one is not None]
    if len(left) < len(widths):
        return ToFindOut(row.position, row.part, None, NOTHING_WEIGHS)
    return ToFindOut(row.position, row.part, _narrowing(width, left), why)


def _narrowing(width: Width, left: list[Width]) -> Fraction:
    """The width less the mean of those left, brought to lowest terms once."""
    part, whole = left[0]
    for other_part, other_whole in left[1:]:
        part, whole = part * other_whole + other_part * whole, whole * other_whole
    whole *= len(left)
    return _points(width[0] * whole - part * width[1], width[1] * whole)


def _points(part: int, whole: int) -> Fraction:
    """Percentage points of a difference of fractions in 1/ONE."""
    return Fraction(100 * part, whole * ONE)


def _settled(bounds: MovingBounds, weight: int, value: int) -> Width | None:
    """The width of the bounds with one more item, exactly known."""
    bounds.put(weight, weight, value, value)
    width = bounds.width()
    bounds.take(weight, weight, value, value)
    return width


def _not_known(row: Row, weight: Interval, f: Interval) -> str:
    if not row.certain:
        return "not certain what is fitted"
    loose_weight = weight.low != weight.high
    if f.best is None:
        return "weight not exact, and not assessed" if loose_weight else "not assessed"
    if f.low != f.high:
        return "weight and fraction not exact" if loose_weight else "fraction not exact"
    return "weight not exact" if loose_weight else KNOWN
