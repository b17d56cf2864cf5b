"""Historic dates: read as people write them, kept as EDTF, reckoned in days, said again in words.

The words are in ``register.fabric.date_words``, the stored forms and the days they cover in
``register.fabric.edtf_profile``.
"""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from register.fabric.date_hints import GENERAL
from register.fabric.date_words import day_in_words, edtf_in_words, edtf_of
from register.fabric.edtf_profile import BEGINNING, END, DateError, Span, quoted, span_of

__all__ = [
    "AS_BUILT", "BEGINNING", "END", "LONGEST", "DateError", "HistoricDate", "Span", "day_in_words",
    "in_words", "read_date", "read_day", "span_of",
]

AS_BUILT = "as built"
LONGEST = 100
"""Characters in the text of a date."""

_HYPHENS = str.maketrans("‐‑", "--")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class HistoricDate(NamedTuple):
    """A date as it was typed (ends stripped), and as it is stored: EDTF, or ``as built`` for as built."""

    text: str
    edtf: str


def read_date(text: str, *, as_built: bool = False) -> HistoricDate:
    """The date that ``text`` means, in any form of method.md, section 2, in capitals or not.

    ``as_built``: whether "as built" (the vehicle's built date) may be said. DateError where it cannot be
    read.
    """
    found = _read(text.strip())
    if found.edtf == AS_BUILT and not as_built:
        raise DateError(f"“As built” cannot be said here, where the date itself is wanted: {GENERAL}.")
    return found


def read_day(text: str) -> date:
    """A plain day, in the same forms. DateError where it is none, or less exact than a day."""
    edtf = _read(text.strip()).edtf
    if not _DAY.fullmatch(edtf):
        raise DateError(
            f"{quoted(text.strip())} is not a plain day: write the day, the month and the year, such as "
            "12 May 1894 or 12/05/1894."
        )
    return date.fromisoformat(edtf)


def in_words(edtf: str) -> str:
    """A stored date as it is printed: "between 1903 and 1907", "about 1894", "12 May 1894", "as built".

    Read again it covers the same days (``190X~`` aside, which no words say). DateError where ``edtf`` is not
    a stored form.
    """
    if edtf == AS_BUILT:
        return edtf
    span_of(edtf)
    return edtf_in_words(edtf)


@lru_cache(maxsize=50_000)
def _read(text: str) -> HistoricDate:
    if len(text) > LONGEST:
        raise DateError(
            f"This date has {len(text)} characters, and a date has at most {LONGEST}: write the date alone, "
            "and the rest where remarks or reasons go."
        )
    plain = " ".join(text.translate(_HYPHENS).split()).lower()
    if not plain:
        raise DateError(f"There is no date here: {GENERAL}.")
    if not plain.isprintable():
        raise DateError(f"This date holds a character that cannot be printed: type it again, and {GENERAL}.")
    if any(letter.isnumeric() and not letter.isascii() for letter in plain):
        raise DateError(f"{quoted(text)} holds digits other than 0 to 9: type plain digits, as in 1894.")
    if plain == AS_BUILT:
        return HistoricDate(text, AS_BUILT)
    edtf = edtf_of(plain)
    span_of(edtf)
    return HistoricDate(text, edtf)
