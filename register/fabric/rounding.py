"""How exact figures are rounded where they are printed (method, section 13).

Every figure is first rounded to six decimals, half up; then a low bound goes down and a high bound up to
what is printed, so that no printed bound is narrower than the exact one by more than a millionth of a point.
Half up is away from zero for a loss as for a gain.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

SIX = 10**6
NO_FIGURE = "–"
"""What stands where there is no figure."""

Number = Fraction | float | int


def millionths(value: Number) -> int:
    """``value`` in whole millionths, rounded half up. ValueError or OverflowError for NaN or an infinity."""
    return _half_up(Fraction(value) * SIX)


def to_six(value: Number) -> float:
    """``value`` rounded to six decimals, half up: what JSON holds."""
    return millionths(value) / SIX


def shown(value: Number | None, decimals: int = 1) -> str:
    """A figure as printed, with ``decimals`` (0 or 1) decimals: the nearest, half up."""
    return NO_FIGURE if value is None else _written(_half_up(_scaled(value, decimals)), decimals)


def shown_low(value: Number | None, decimals: int = 1) -> str:
    """A low bound as printed: downwards."""
    return NO_FIGURE if value is None else _written(floor(_scaled(value, decimals)), decimals)


def shown_high(value: Number | None, decimals: int = 1) -> str:
    """A high bound as printed: upwards."""
    return NO_FIGURE if value is None else _written(ceil(_scaled(value, decimals)), decimals)


def shown_change(value: Number | None, decimals: int = 1) -> str:
    """A difference of two figures as printed, with its sign: +1.5, −0.2, 0.0."""
    if value is None:
        return NO_FIGURE
    whole = _half_up(_scaled(value, decimals))
    return f"+{_written(whole, decimals)}" if whole > 0 else _written(whole, decimals)


def shown_kg(value: Number | None) -> str:
    """A mass in kg to the gram, thousands apart, without noughts that say nothing: 1,005.802 kg."""
    if value is None:
        return NO_FIGURE
    kilograms, grams = divmod(_half_up(Fraction(value) * 1000), 1000)
    return f"{kilograms:,}" + (f".{grams:03}".rstrip("0") if grams else "") + " kg"


def _scaled(value: Number, decimals: int) -> Fraction:
    return Fraction(millionths(value) * 10**decimals, SIX)


def _half_up(value: Fraction) -> int:
    size = floor(abs(value) + Fraction(1, 2))
    return size if value >= 0 else -size


def _written(whole: int, decimals: int) -> str:
    sign = "−" if whole < 0 else ""
    if not decimals:
        return f"{sign}{abs(whole)}"
    units, rest = divmod(abs(whole), 10**decimals)
    return f"{sign}{units}.{rest:0{decimals}}"
