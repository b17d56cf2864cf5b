"""Quantities, weights and dates of a line: read where they can be, else the sentence that asks.

Weights are multiplied exactly and rounded to the gram once. One reading holds the text that the exchange
format takes, so that what is previewed is what is stored.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from register.exchange.flat_list.roles import fold
from register.exchange.flat_list.status_words import NO_ANSWER, SAID_AS_BUILT
from register.fabric.dates import HistoricDate, day_in_words, read_date, span_of
from register.fabric.measures import MASS, Measure, measure
from register.fabric.quantities import read_count, read_mass, write_mass

AGREE = Fraction(1, 50)
"""How far a written total may be from number times weight, as a share (common practice, no source): people
round."""
_BARE = re.compile(r"[0-9.,]+(?: ?(?:-|–|to) ?[0-9.,]+)?(?: ?(?:±|\+/-) ?[0-9.]+ ?%)?")
_PARTS = re.compile(r" ?(?:/|&|;|\+|, | and ) ?")


@dataclass(frozen=True, slots=True)
class Reading:
    """text: what the cell of the exchange format holds, "" where nothing is stored. doubt: why that cell
    wants a second look. asked: the question, "" where there is none. suggestion: its probable answer."""

    text: str = ""
    doubt: str = ""
    asked: str = ""
    suggestion: str = ""


NOTHING = Reading()


# --- how many ---------------------------------------------------------------------------------------------


def read_quantity(cell: str) -> tuple[int | None, Reading]:
    """The number of pieces, None where it is not known; an empty cell is one thing and is not asked about."""
    plain = cell.strip()
    if not plain:
        return None, NOTHING
    digits = re.fullmatch(r"([0-9]+)(?:\.0+)?(?: ?(?:off|no|nr|pcs|x))?", fold(plain))
    try:
        count = read_count(digits[1] if digits else plain)
    except ValueError:
        why = f"How many are there? “{plain}” is no number."
        return None, Reading(doubt=why, asked=f"{why} Nothing is stored as a number until somebody counts.")
    return count, Reading(str(count))


# --- how heavy --------------------------------------------------------------------------------------------


def read_weight(
    each: str,
    total: str,
    either: str,
    quantity: int | None,
    *,
    counted: bool,
    units: tuple[str, str, str] = ("", "", ""),
) -> Reading:
    """The mass of the whole line.

    each, total, either: the cells (``either`` does not say whether of one or of all); units: of bare numbers
    in them. counted: whether a quantity was written at all. A weight that is refused, or a total that
    disagrees, is asked about and the part stays unweighed.
    """
    try:
        one, whole, loose = (
            _measured(cell, unit) for cell, unit in zip((each, total, either), units, strict=True)
        )
    except ValueError as sentence:
        return Reading(doubt=str(sentence), asked=f"{sentence} It is left unweighed until then.")
    several = (quantity or 1) > 1 or (counted and quantity is None)
    if loose is not None and one is None and whole is None:
        if several:
            return _of_one_or_all(loose, either, quantity)
        whole = loose
    if one is not None and counted and quantity is None:
        return _ask(
            f"Each weighs {each.strip()}, and how many there are is not known, so that the weight of all "
            "is not."
        )
    if one is None:
        return (
            NOTHING
            if whole is None
            else _stored(whole, total.strip() or either.strip(), units[1] if total.strip() else units[2], 1)
        )
    count = quantity or 1
    if whole is not None and not _agree(one, whole, count):
        return _ask(
            f"{count} of {each.strip()} each make {_in_kilograms(one, count)}, and the total says "
            f"{total.strip()}: which is right?"
        )
    return _stored(one, each.strip(), units[0], count)


def _measured(cell: str, unit: str) -> Measure | None:
    text = cell.strip()
    if not text or fold(text) in NO_ANSWER:
        return None
    text = f"{text} {unit}" if unit and _BARE.fullmatch(text) else text
    read_mass(text)  # refuses what may be tons or tonnes
    return measure(text, MASS)


def _stored(weight: Measure, typed: str, unit: str, count: int) -> Reading:
    if count == 1:
        return Reading(f"{typed} {unit or 'kg'}" if _BARE.fullmatch(typed) else typed)
    return Reading(_in_kilograms(weight, count))


def _in_kilograms(weight: Measure, count: int) -> str:
    low, best, high = (write_mass(math.floor(value * count + Fraction(1, 2))) for value in weight)
    return best if low == high else f"{low.removesuffix(' kg')}-{high}"


def _agree(one: Measure, whole: Measure, count: int) -> bool:
    return one.low * count * (1 - AGREE) <= whole.high and whole.low <= one.high * count * (1 + AGREE)


def _of_one_or_all(weight: Measure, typed: str, quantity: int | None) -> Reading:
    of_all = f" ({_in_kilograms(weight, quantity)} together)" if quantity else ""
    return _ask(f"Does {typed.strip()} weigh one of them{of_all} or all of them?")


def _ask(sentence: str) -> Reading:
    return Reading(doubt=sentence, asked=f"{sentence} It is left unweighed until then.")


# --- when -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WhenReading:
    """reading: of the date of fitting. second: another date in the same cell, that of some later work."""

    reading: Reading
    second: str = ""


def read_when(cell: str, what: str = "fitted") -> WhenReading:
    """A date of a list, in whatever words; what cannot be read is asked."""
    text = cell.strip()
    if not text or fold(text) in NO_ANSWER:
        return WhenReading(NOTHING)
    if fold(text) in SAID_AS_BUILT:
        return WhenReading(Reading("as built"))
    try:
        return WhenReading(Reading(read_date(text, as_built=True).text))
    except ValueError as sentence:
        pieces = _PARTS.split(text)
        if len(pieces) == 2 and fold(pieces[0]) in SAID_AS_BUILT and (later := _plain_date(pieces[1])):
            asked = (
                f"“{text}” holds two dates: as built, and some work of {pieces[1]}. Is that so, or was it "
                f"renewed altogether in {pieces[1]}?"
            )
            return WhenReading(Reading("as built", doubt=asked, asked=asked, suggestion="as built"), later)
        asked = f"When was it {what}? {_month_or_day(text) or sentence}"
        return WhenReading(Reading(doubt=asked, asked=asked, suggestion=_probably(text)))


def _plain_date(text: str) -> str:
    try:
        return read_date(text.strip()).text
    except ValueError:
        return ""


_NAMED = re.compile(r"([a-z]{3,9})[ .'’-]+([0-9]{2})", re.IGNORECASE)


def _month_or_day(text: str) -> str:
    """``Mar-11`` may be a month or a day; "" for any other text."""
    found = _NAMED.fullmatch(text)
    if (
        not found
        or not _plain_date(f"{found[1]} 2000")
        or not 1 <= int(found[2]) <= 31
        or not _plain_date(f"1 {found[1]} 2000")
    ):
        return ""
    month, number = found.groups()
    return (
        f"“{text}” may be a month ({month} of a year that ends in {number}) or a day ({number} {month} of "
        "some year): write it in full."
    )


def _probably(text: str) -> str:
    """What a date that is refused for want of digits probably means; "" where nothing is probable."""
    if decade := re.fullmatch(r"([0-9]{3})\?", text):
        return f"between {decade[1]}0 and {decade[1]}9"
    found = _NAMED.fullmatch(text)
    return _plain_date(f"{found[1]} 20{found[2]}") if found and int(found[2]) < 30 else ""


def by_day(text: str) -> str:
    """``by 30 September 2019``: some time not after a plain day."""
    return f"by {text}"


def latest_before(removed: HistoricDate) -> str:
    """A date of fitting for something of which only the loss is dated: it was there by then."""
    return by_day(day_in_words(date.fromordinal(span_of(removed.edtf).best)))
