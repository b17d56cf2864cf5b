"""A measured amount as workshops write it, to exact fractions: units, ranges and tolerances.

Nothing is reckoned in floats: 1 lb = 0.45359237 kg and 1 in = 25.4 mm exactly (international yard and pound
agreement, 1959); the ton is the long ton of 2240 lb. What could mean two things is refused, both named.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

LONGEST = 60
"""Characters in the text of a quantity."""
GRAMS_IN_POUND = Fraction(45359237, 100_000)


class QuantityError(ValueError):
    """A quantity that is refused; its text is a whole sentence for the person who typed it."""


class Measure(NamedTuple):
    """Grams or millimetres, exact: low ≤ best ≤ high."""

    low: Fraction
    best: Fraction
    high: Fraction


class Unit(NamedTuple):
    """``size`` in grams or millimetres; ``family`` metric or imperial."""

    name: str
    size: Fraction
    family: str


@dataclass(frozen=True)
class Kind:
    """A sort of quantity: its units by every spelling, the unit of a bare number (None: it needs one), and
    the largest that is believed."""

    noun: str
    units: Mapping[str, Unit]
    bare: Unit | None
    limit: Fraction
    limit_words: str
    example: str


class _Amount(NamedTuple):
    """A value in grams or millimetres, or a bare number where there are no units."""

    value: Fraction
    units: tuple[Unit, ...]


def _units(*rows: tuple[str, Fraction, str]) -> dict[str, Unit]:
    """Rows of spellings (the first is the name), size and family."""
    return {
        spelling: Unit(spellings.split()[0], size, family)
        for spellings, size, family in rows
        for spelling in spellings.split()
    }


_MASS_UNITS = _units(
    ("t tonne tonnes", Fraction(1_000_000), "metric"),
    ("kg kgs", Fraction(1000), "metric"),
    ("g", Fraction(1), "metric"),
    ("ton tons", 2240 * GRAMS_IN_POUND, "imperial"),
    ("cwt cwts", 112 * GRAMS_IN_POUND, "imperial"),
    ("qr qrs", 28 * GRAMS_IN_POUND, "imperial"),
    ("st stone", 14 * GRAMS_IN_POUND, "imperial"),
    ("lb lbs", GRAMS_IN_POUND, "imperial"),
    ("oz", GRAMS_IN_POUND / 16, "imperial"),
)
MASS = Kind(
    noun="mass",
    units=_MASS_UNITS,
    bare=_MASS_UNITS["kg"],
    limit=Fraction(10**9),
    limit_words="1,000 tonnes",
    example="12.5 kg, 2 cwt 3 qr 14 lb, 10-12 kg or 12 kg ±10%",
)
LENGTH = Kind(
    noun="length",
    units=_units(
        ("m", Fraction(1000), "metric"),
        ("cm", Fraction(10), "metric"),
        ("mm", Fraction(1), "metric"),
        ("ft '", Fraction(3048, 10), "imperial"),
        ('in ins inch inches "', Fraction(254, 10), "imperial"),
    ),
    bare=None,
    limit=Fraction(10**6),
    limit_words="a kilometre",
    example="3 ft 6 in, 1 3/8 in, 1067 mm or 10-12 mm",
)

_LITRE = Fraction(10**6)
_VOLUME_UNITS = {
    spelling: Unit(name, size, family)
    for name, size, family, spellings in (
        ("m³", 1000 * _LITRE, "metric", ("cum",)),
        ("litre", _LITRE, "metric", ("l", "litre", "litres")),
        ("cm³", _LITRE / 1000, "metric", ("cucm",)),
        ("cu ft", Fraction(3048, 10) ** 3, "imperial", ("cuft",)),
        ("cu in", Fraction(254, 10) ** 3, "imperial", ("cuin",)),
    )
    for spelling in spellings
}
VOLUME = Kind(
    noun="volume",
    units=_VOLUME_UNITS,
    bare=None,
    limit=Fraction(10**15),
    limit_words="a million cubic metres",
    example="1.5 cu ft, 12 litres, 0.04 m³ or 30-32 cu in",
)
"""In mm³. A unit of several words or with a raised three is written in one word before it is read."""

_NUMBER = (
    r"(?:[0-9]+ [0-9]+/[0-9]+|[0-9]+/[0-9]+|[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]+)?|[0-9]*\.?[0-9]+)"
)
_ONE_NUMBER = re.compile(_NUMBER)
_TERM = re.compile(rf" ?({_NUMBER}) ?([a-z]+\.?|\"|')")
_TOLERANCE = re.compile(r" ?(?:±|\+/-|\+-) ?")
_RANGE = re.compile(r" ?- ?| to ")
_RANGE_OR_MIXED = re.compile(r"(?<![/0-9.])([0-9]+) ?- ?([0-9]+/[0-9]+)")

_AS_TYPED = {"–—−‐‑": "-", "″”“": '"', "′’‘": "'"}
_PLAIN_FRACTIONS = ("1/2", "1/3", "2/3", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8")
_VULGAR = dict(zip("½⅓⅔¼¾⅛⅜⅝⅞", _PLAIN_FRACTIONS, strict=True))
_TYPED = str.maketrans(
    {typed: plain for several, plain in _AS_TYPED.items() for typed in several}
    | {sign: f" {plain}" for sign, plain in _VULGAR.items()}
)

_REFUSED: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), why)
    for pattern, why in (
        (r"^[-+]?(?:nan|inf|infinity)\b", "is not a number that anything can measure: write a plain number"),
        (r"[0-9]\.?e[-+]?[0-9]", "is written with an exponent: write the number out, as in 1200"),
        (r"_", "has an underscore in it: write the digits together, as in 1000"),
        (r"^-|± ?-", "is negative: write a number of 0 or more"),
        (r"\.[0-9]+,|\.[0-9]+\.", "has a comma or a dot too many: write it with one dot, as in 1234.5"),
        (
            r",(?![0-9]{3}(?![0-9]))|(?<![0-9,])0[0-9]*,|(?<![0-9])[0-9]{4,},|(?<![0-9]),",
            "has a comma that does not divide thousands: write a dot for decimals, as in 1.5, and no comma",
        ),
        (r"[0-9] [0-9]{3}(?![0-9/])", "has a space inside a number: write the digits together, as in 1000"),
        (r"/ ?0+(?![0-9.])", "divides by zero: write a fraction such as 3/4"),
        (
            r"^(?:c\.?|ca\.?|circa|about|approx\.?|approximately) ?[0-9]|\?$|^[<>~]",
            "does not say how far out it may be: write a range or a tolerance, as in 10-12 kg or 12 kg ±10%",
        ),
        (
            r"\b(?:short|us|net|metric) tons?\b",
            "is not the ton used here, the long ton of 2240 lb: write a short ton as 2000 lb, a metric ton "
            "as 1 t",
        ),
    )
)


def plain_text(typed: str, noun: str, example: str) -> str:
    """``typed`` in lower case, with plain hyphens, quotes and fractions; QuantityError for what no number "
    "holds."""
    if not typed:
        raise QuantityError(f"There is no {noun} here: write one, such as {example}.")
    if len(typed) > LONGEST:
        raise QuantityError(
            f"This {noun} is {len(typed)} characters long, and {LONGEST} are enough: write it shorter, such "
            f"as {example}."
        )
    plain = " ".join(typed.translate(_TYPED).split()).lower()
    if not plain.isprintable():
        raise QuantityError(f"This {noun} holds a character that cannot be printed: type it as in {example}.")
    if any(letter.isnumeric() and not letter.isascii() for letter in plain):
        raise QuantityError(f"“{typed}” holds digits other than 0 to 9: type plain ones, as in {example}.")
    for pattern, why in _REFUSED:
        if pattern.search(plain):
            raise QuantityError(f"“{typed}” {why}.")
    return plain


def one_number(text: str) -> Fraction | None:
    """A whole or mixed number, a fraction or a decimal, from ``plain_text``; None where it is something "
    "else."""
    return _number(text) if _ONE_NUMBER.fullmatch(text) else None


def measure(typed: str, kind: Kind) -> Measure:
    """One amount, a range (best: the middle) or an amount with a tolerance. QuantityError."""
    plain = re.sub(r"\blong (?=tons?\b)", "", plain_text(typed, kind.noun, kind.example))
    if found := _RANGE_OR_MIXED.search(plain):
        whole, part = found.groups()
        raise QuantityError(
            f"“{typed}” may be a range or a mixed number: write {whole} {part} for the number, or the unit "
            "at both ends for a range."
        )
    found_measure = _spread(typed, plain, kind)
    if found_measure.high > kind.limit:
        raise QuantityError(
            f"“{typed}” is more than {kind.limit_words}, which must be a slip: check the number and the unit."
        )
    return found_measure


def _spread(typed: str, plain: str, kind: Kind) -> Measure:
    centre, *tolerances = _TOLERANCE.split(plain)
    ends = _RANGE.split(centre)
    if len(tolerances) > 1 or len(ends) > 2 or (tolerances and len(ends) > 1):
        raise QuantityError(f"“{typed}” has several ranges or tolerances: write one, as in {kind.example}.")
    if len(ends) == 2:
        return _from_low_to_high(typed, ends[0], ends[1], kind)
    amount = _amount(typed, centre, kind)
    value = _value(typed, amount, amount, kind)
    margin = _margin(typed, tolerances[0], amount, value, kind) if tolerances else Fraction(0)
    if margin > value:
        raise QuantityError(
            f"“{typed}” goes below zero at its low end: write a smaller tolerance, or a range that starts at "
            "0."
        )
    return Measure(value - margin, value, value + margin)


def _from_low_to_high(typed: str, start: str, end: str, kind: Kind) -> Measure:
    low, high = _amount(typed, start, kind), _amount(typed, end, kind)
    if low.units and not high.units:
        raise QuantityError(f"“{typed}” has a unit at the low end only: write it at the high end too.")
    _refuse_two_tons(typed, (*low.units, *high.units))
    first, last = _value(typed, low, high, kind), _value(typed, high, high, kind)
    if first > last:
        raise QuantityError(f"“{typed}” runs backwards: write the smaller {kind.noun} first.")
    return Measure(first, (first + last) / 2, last)


def _margin(typed: str, tolerance: str, amount: _Amount, value: Fraction, kind: Kind) -> Fraction:
    if tolerance.endswith("%"):
        percent = one_number(tolerance[:-1].rstrip())
        if percent is None:
            raise QuantityError(f"“{typed}” has a tolerance that cannot be read: write ±10% or ±2 kg.")
        return value * percent / 100
    margin = _amount(typed, tolerance, kind)
    _refuse_two_tons(typed, (*amount.units, *margin.units))
    return _value(typed, margin, amount, kind)


def _value(typed: str, amount: _Amount, beside: _Amount, kind: Kind) -> Fraction:
    """In grams or millimetres; a bare number has the one unit of the amount ``beside`` it, else the bare "
    "unit."""
    if amount.units:
        return amount.value
    if len(beside.units) > 1:
        raise QuantityError(f"“{typed}” has a number without a unit beside several units: write its unit.")
    unit = beside.units[0] if beside.units else kind.bare
    if unit is None:
        raise QuantityError(f"“{typed}” has no unit: write the {kind.noun} with one, such as {kind.example}.")
    return amount.value * unit.size


def _amount(typed: str, text: str, kind: Kind) -> _Amount:
    """Numbers with their units, the largest first; or one bare number."""
    if (bare := one_number(text)) is not None:
        return _Amount(bare, ())
    terms = tuple(_terms(typed, text, kind))
    units = tuple(unit for _, unit in terms)
    _refuse_two_tons(typed, units)
    if len({unit.family for unit in units}) > 1:
        raise QuantityError(f"“{typed}” mixes metric and imperial units: write it in one or the other.")
    for (_, larger), (number, smaller) in pairwise(terms):
        if smaller.size >= larger.size:
            raise QuantityError(
                f"“{typed}” has {smaller.name} after {larger.name}: write the larger unit first, and each "
                "once."
            )
        if number * smaller.size >= larger.size:
            raise QuantityError(
                f"“{typed}” has so many {smaller.name} that they make up a whole {larger.name}: carry them "
                f"over to {larger.name}, or check the numbers."
            )
    return _Amount(sum((number * unit.size for number, unit in terms), Fraction(0)), units)


def _terms(typed: str, text: str, kind: Kind) -> Iterator[tuple[Fraction, Unit]]:
    place = 0
    while place < max(len(text), 1):  # an empty text is refused like any other that does not match
        found = _TERM.match(text, place)
        if not found:
            raise QuantityError(f"“{typed}” cannot be read as a {kind.noun}: write it as in {kind.example}.")
        spelling = found[2].rstrip(".")
        if spelling not in kind.units:
            names = ", ".join(dict.fromkeys(unit.name for unit in kind.units.values()))
            raise QuantityError(f"“{typed}” has the unit “{spelling}”, not known here: use one of {names}.")
        yield _number(found[1]), kind.units[spelling]
        place = found.end()


def _refuse_two_tons(typed: str, units: tuple[Unit, ...]) -> None:
    names = {unit.name for unit in units}
    if "t" in names and names & {"cwt", "qr", "st", "lb", "oz"}:
        raise QuantityError(
            f"“{typed}” has t beside imperial units, so that t may be a ton: write ton if it is, or all in "
            "metric."
        )


def _number(text: str) -> Fraction:
    """Of text that matches ``_NUMBER`` and divides by no zero."""
    whole, _, part = text.rpartition(" ")
    return Fraction(whole or 0) + Fraction(part.replace(",", ""))
