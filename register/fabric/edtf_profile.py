"""The part of EDTF that the register stores, and the days that each form covers.

Extended Date/Time Format: ISO 8601-2, Library of Congress specification of 4 February 2019. Stored are a
year, month, day, season (21 to 23) or decade (``189X``), with ``~ ? %`` at the end of any but a season, and
the one-of sets ``[a..b]``, ``[..b]``, ``[a..]`` and ``[a,b]`` of years, months and days. An interval is not
stored: every date here names an event, and an interval says how long something lasted.
"""

from __future__ import annotations

import re
from calendar import monthrange
from datetime import date
from functools import lru_cache
from typing import NamedTuple

BEGINNING = 0
END = 10_000_000
"""Day numbers of open ends, on the scale of ``date.toordinal``: outside every day that can be typed."""

FIRST_YEAR, LAST_YEAR = 1500, 2200
YEARS_EITHER_SIDE = 5
"""What ``~``, ``?`` and ``%`` add to a year or a decade; to a month they add a month, to a day a day (common
practice, no source)."""

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # not calendar.month_name, which follows the server's locale
_SEASONS = {21: (3, 5), 22: (6, 8), 23: (9, 11)}
_SINGLE = re.compile(r"([0-9]{3}X|[0-9]{4}(?:-[0-9]{2}){0,2})([~?%]?)")
_MEMBER = re.compile(r"[0-9]{4}(?:-[0-9]{2}){0,2}")


class DateError(ValueError):
    """A date that is refused; its text is a whole sentence for the person who typed it."""


class Span(NamedTuple):
    """Day numbers (``date.toordinal``) between which an event lies, and the day that stands for it."""

    earliest: int
    best: int
    latest: int

    @classmethod
    def between(cls, earliest: int, latest: int) -> Span:
        """The span whose best day is the middle, rounded down; of a span open at one end, the closed end.

        ValueError if it is empty or open at both ends.
        """
        if earliest > latest or (earliest <= BEGINNING and latest >= END):
            raise ValueError(f"no span from day {earliest} to {latest}: it is empty, or open at both ends")
        if earliest <= BEGINNING:
            return cls(earliest, latest, latest)
        return cls(earliest, earliest if latest >= END else (earliest + latest) // 2, latest)

    def tightened(self, *, earliest: int | None = None, latest: int | None = None) -> Span:
        """The part of this span from ``earliest`` to ``latest``; ValueError if nothing is left of it."""
        return Span.between(
            self.earliest if earliest is None else max(self.earliest, earliest),
            self.latest if latest is None else min(self.latest, latest),
        )


def quoted(text: str) -> str:
    return f"“{text}”"


@lru_cache(maxsize=50_000)
def span_of(edtf: str) -> Span:
    """The days covered by a stored date, widened where it is marked ``~``, ``?`` or ``%``.

    DateError for any other form, an impossible day, a year outside 1500 to 2200, a set that runs backwards.
    """
    if edtf.startswith(("[", "{")):
        return _set_span(edtf)
    found = _SINGLE.fullmatch(edtf)
    if not found:
        raise DateError(
            f"{quoted(edtf)} is not one of the EDTF forms used here: write a year (1894), a month (1894-05), "
            "a day (1894-05-12), a decade (189X), a season (1894-21) or a one-of set ([1903..1907])."
        )
    stem, mark = found.groups()
    strict = _strict_span(stem)
    return _widened(stem, strict) if mark else strict


def _strict_span(stem: str) -> Span:
    """Of a year, month, day, season or decade without a mark."""
    if stem.endswith("X"):
        first, last = _year(stem[:3] + "0"), _year(stem[:3] + "9")
        return Span.between(_month_start(first, 1), _month_end(last, 12))
    year, *rest = (int(piece) for piece in stem.split("-"))
    _year(stem[:4])
    if not rest:
        return Span.between(_month_start(year, 1), _month_end(year, 12))
    if len(rest) == 1 and rest[0] in _SEASONS:
        first, last = _SEASONS[rest[0]]
        return Span.between(_month_start(year, first), _month_end(year, last))
    month = rest[0]
    if not 1 <= month <= 12:
        raise DateError(
            f"{quoted(stem)} names month {month}, and months go from 1 to 12: write the month as in 1894-05."
        )
    if len(rest) == 1:
        return Span.between(_month_start(year, month), _month_end(year, month))
    day = rest[1]
    days = monthrange(year, month)[1]
    if not 1 <= day <= days:
        named = f"{MONTHS[month - 1]} {year}"
        raise DateError(
            f"There is no {day} {named}, since that month has {days} days: write the right day, or {named} "
            "if it is not known."
        )
    number = date(year, month, day).toordinal()
    return Span(number, number, number)


def _widened(stem: str, strict: Span) -> Span:
    first, last = date.fromordinal(strict.earliest), date.fromordinal(strict.latest)
    if len(stem) == 4:
        return Span.between(
            _month_start(first.year - YEARS_EITHER_SIDE, 1), _month_end(last.year + YEARS_EITHER_SIDE, 12)
        )
    if len(stem) == 7:
        if int(stem[5:]) in _SEASONS:
            raise DateError(
                f"{quoted(stem)} is a season, which cannot be marked ~, ? or %: write the season alone, or "
                f"about {stem[:4]}."
            )
        before, after = date.fromordinal(strict.earliest - 1), date.fromordinal(strict.latest + 1)
        return Span.between(before.replace(day=1).toordinal(), _month_end(after.year, after.month))
    return Span.between(strict.earliest - 1, strict.latest + 1)


def _set_span(edtf: str) -> Span:
    inner = edtf[1:-1]
    if edtf.startswith("{") or not edtf.endswith("]"):
        raise DateError(
            f"{quoted(edtf)} is not a one-of set: write [1903,1904] if it was one or the other, [1903..1907] "
            "if it was some time in those years."
        )
    if ".." not in inner:
        return _list_span(edtf, inner.split(","))
    start, end = inner.split("..", 1)
    if "," in inner or ".." in end or not (start or end):
        raise DateError(
            f"{quoted(edtf)} is a set of a kind not used here: write [1903..1907], [..1907], [1904..] or "
            "[1903,1904]."
        )
    earliest = _member_span(edtf, start).earliest if start else BEGINNING
    latest = _member_span(edtf, end).latest if end else END
    if latest < earliest:
        raise DateError(
            f"{quoted(edtf)} runs backwards: write the earlier date first, as in [{end}..{start}]."
        )
    return Span.between(earliest, latest)


def _list_span(edtf: str, members: list[str]) -> Span:
    if len(members) < 2:
        raise DateError(f"{quoted(edtf)} has one member only: write it without the brackets.")
    spans = [_member_span(edtf, member) for member in members]
    for position in range(1, len(spans)):
        if spans[position].latest < spans[position - 1].earliest:
            raise DateError(f"{quoted(edtf)} runs backwards: write the earlier date first.")
    return Span.between(min(span.earliest for span in spans), max(span.latest for span in spans))


def _member_span(edtf: str, member: str) -> Span:
    if member.endswith(("~", "?", "%")):
        raise DateError(
            f"{quoted(edtf)} has {member[-1]} inside a set, which is not used here: move the ends of the set "
            "outwards instead, as in [1898..1912]."
        )
    if not _MEMBER.fullmatch(member) or (len(member) == 7 and int(member[5:]) in (*_SEASONS, 24)):
        raise DateError(
            f"{quoted(edtf)} has {quoted(member)} inside a set, where only years, months and days go: write "
            "it as in [1903..1907] or [1887-04..1887-06]."
        )
    return _strict_span(member)


def _year(digits: str) -> int:
    year = int(digits)
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise DateError(
            f"The year {digits} is outside {FIRST_YEAR} to {LAST_YEAR}: check the year, and write it in full."
        )
    return year


def _month_start(year: int, month: int) -> int:
    return date(year, month, 1).toordinal()


def _month_end(year: int, month: int) -> int:
    return date(year, month, monthrange(year, month)[1]).toordinal()
