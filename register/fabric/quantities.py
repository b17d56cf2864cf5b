"""Masses, lengths, shares and numbers of pieces: read as typed, written so that they read back the same.

How an amount is spelt is in ``register.fabric.measures``.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache

from register.fabric.interval import MILLION, Interval
from register.fabric.measures import (
    GRAMS_IN_POUND,
    LENGTH,
    LONGEST,
    MASS,
    VOLUME,
    Measure,
    QuantityError,
    measure,
    one_number,
    plain_text,
)

__all__ = [
    "LONGEST", "MOST_PIECES", "Measure", "QuantityError", "in_workshop_units", "read_count", "read_fraction",
    "read_length", "read_mass", "read_volume", "write_fraction", "write_mass",
]

MOST_PIECES = 1_000_000
_TON_OR_TONNE = re.compile(r"(?<![A-Za-z])T(?![A-Za-z])")
_SHARES = "0.63, 63% or 3/4"


@lru_cache(maxsize=50_000)
def read_mass(text: str) -> Interval:
    """Whole grams, each of low, best and high rounded half up; a bare number is kilograms. QuantityError."""
    typed = text.strip()
    if len(typed) <= LONGEST and _TON_OR_TONNE.search(typed):
        raise QuantityError(f"“{typed}” may be tons or tonnes: write ton for the long ton, t for the tonne.")
    found = measure(typed, MASS)
    return Interval(_half_up(found.low), _half_up(found.best), _half_up(found.high))


@lru_cache(maxsize=10_000)
def read_length(text: str) -> Measure:
    """Millimetres as exact fractions; a unit is required. QuantityError."""
    return measure(text.strip(), LENGTH)


_CUBED = re.compile(
    r"(?:\b(?:cu|cubic)\.? ?(ft|feet|foot|in|inch|inches|m|metres?|cm)\b\.?"
    r"|(?<![a-z])(ft|in|m|cm)(?:³|\^?3)(?![0-9]))",
    re.IGNORECASE,
)
_PLAIN_UNIT = {"feet": "ft", "foot": "ft", "inch": "in", "inches": "in", "metre": "m", "metres": "m"}


@lru_cache(maxsize=10_000)
def read_volume(text: str) -> Measure:
    """Cubic millimetres as exact fractions; a unit is required. QuantityError."""
    typed = text.strip()
    if len(typed) > LONGEST:
        return measure(typed, VOLUME)

    def in_one_word(found: re.Match[str]) -> str:
        unit = (found[1] or found[2]).lower()
        return "cu" + _PLAIN_UNIT.get(unit, unit)

    return measure(_CUBED.sub(in_one_word, typed), VOLUME)


@lru_cache(maxsize=10_000)
def read_fraction(text: str) -> int:
    """Whole millionths, rounded half up, of "0.63", "63%" or "3/4". QuantityError below 0 or above 1."""
    typed = text.strip()
    plain = plain_text(typed, "share", _SHARES)
    number = one_number(plain.removesuffix("%").rstrip())
    if number is None:
        raise QuantityError(f"“{typed}” cannot be read as a share: write one number, such as {_SHARES}.")
    value = number / 100 if plain.endswith("%") else number
    if value > 1:
        raise QuantityError(f"“{typed}” is more than the whole: write a share up to 1, such as {_SHARES}.")
    return _half_up(value * MILLION)


def read_count(text: str) -> int:
    """A whole number from 1 to a million, in the digits 0 to 9. QuantityError."""
    typed = text.strip()
    if not re.fullmatch(r"[0-9]{1,7}", typed) or not 1 <= int(typed) <= MOST_PIECES:
        shown = f"“{typed}”" if typed and len(typed) <= LONGEST and typed.isprintable() else "This"
        raise QuantityError(
            f"{shown} is not a number of pieces: write a whole number from 1 to {MOST_PIECES}, in plain "
            "digits."
        )
    return int(typed)


def write_mass(grams: int) -> str:
    """``12.5 kg``, exact; ``read_mass`` reads the same grams. ValueError below 0."""
    return f"{_decimal(grams, 3)} kg"


def write_fraction(millionths: int) -> str:
    """``0.63``, exact; ``read_fraction`` reads the same millionths. ValueError below 0."""
    return _decimal(millionths, 6)


def in_workshop_units(grams: int) -> str:
    """To the nearest pound: ``2 cwt 3 qr 14 lb``, ``1 ton 4 cwt``; what rounds to none is ``under 1 lb``."""
    pounds = _half_up(grams / GRAMS_IN_POUND)
    if not pounds:
        return "under 1 lb" if grams else "0 lb"
    words = []
    for name, size in (("ton", 2240), ("cwt", 112), ("qr", 28), ("lb", 1)):
        number, pounds = divmod(pounds, size)
        if number:
            words.append(f"{number} {name}")
    return " ".join(words)


def _decimal(number: int, places: int) -> str:
    if number < 0:
        raise ValueError(f"a mass or a share is never negative, and {number} is")
    whole, rest = divmod(number, 10**places)
    return f"{whole}.{rest:0{places}}".rstrip("0") if rest else str(whole)


def _half_up(value: Fraction) -> int:
    """Of a value of 0 or more."""
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)
