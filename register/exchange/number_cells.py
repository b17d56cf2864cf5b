"""What a number, a date or a boolean in a workbook means in a column: its text, or why it cannot be taken.

A spreadsheet turns what is typed into what it believes is meant. What can be understood is taken and, where
that may have lost something, counted; what is likely to be a spreadsheet's own doing is refused.
"""

from __future__ import annotations

import math
import re
from datetime import date, timedelta
from decimal import Decimal

from register.exchange.cells import BadCell, Cell

DATE, TIME = "date", "time"
IDS = ("id", "ref", "person")
_MOST_EXACT = 10**15
_DATE_FORMATS = {*range(14, 18), 22, *range(27, 32), 36, *range(50, 55), 57, 58}
_TIME_FORMATS = {18, 19, 20, 21, *range(32, 36), 45, 46, 47, 55, 56}
_LITERAL = re.compile(r'"[^"]*"|\\.|_.|\*.|\[(?![hms]+\])[^\]]*\]', re.IGNORECASE)
_FIRST_DAY_1900 = 61
"""1 March 1900: from 0 to it spreadsheets that hold 1900 for a leap year and those that do not differ by a
day. Those that hold it for one have no day below 0, and the others agree on what it is."""
_FIRST_GREGORIAN = date(1583, 1, 1)
_LAST_DAY = date.max


def format_kind(number: int, code: str | None) -> str:
    """ "date", "time" (of day, or a duration) or "" for a number format: its built-in number, its code if it
    has one.

    Built-in numbers: ECMA-376, part 1, 18.8.30.
    """
    if code is None:
        return DATE if number in _DATE_FORMATS else TIME if number in _TIME_FORMATS else ""
    bare = _LITERAL.sub("", code.split(";")[0]).lower()
    if "general" in bare or (re.search(r"[0#?]", bare) and not re.search(r"[ydhs]", bare)):
        return ""
    if re.search(r"[yd]", bare):
        return DATE
    if re.search(r"[hs]", bare):
        return TIME
    return DATE if "m" in bare else ""


def plain_number(text: str) -> str | None:
    """A stored number as it is shown: 412.0 is 412, and 0.30000000000000004 is 0.3, since spreadsheets keep
    fifteen figures. None where it is no number."""
    if text.isdigit() and text.isascii() and len(text) < 16:
        return str(int(text))
    try:
        number = float(text)
    except ValueError:
        return None
    if not math.isfinite(number) or "_" in text:
        return None
    shown = format(Decimal(f"{number:.15g}"), "f")
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def day_of(text: str, from_1904: bool) -> date | None:
    """The day of a serial number; None where it is not certain, after 9999, or with a time of day.

    Serial 1 is 1 January 1900 in one system and 2 January 1904 in the other (ECMA-376, part 1, 18.17.4.1);
    one below 0 counts back from 30 December 1899 or 1 January 1904.
    """
    try:
        serial = float(text)
    except ValueError:
        return None
    if not math.isfinite(serial) or abs(serial - round(serial)) > 1e-6:
        return None
    start, uncertain = (date(1904, 1, 1), 0) if from_1904 else (date(1899, 12, 30), _FIRST_DAY_1900)
    days = round(serial)
    if 0 <= days < uncertain or not (_FIRST_GREGORIAN - start).days <= days <= (_LAST_DAY - start).days:
        return None
    return start + timedelta(days=days)


class NumberCells:
    """Turns the number cells of one workbook into text. from_1904: its days are counted from 1 January
    1904."""

    def __init__(self, from_1904: bool) -> None:
        self.from_1904 = from_1904

    def from_number(self, kind: str, text: str, place: str) -> Cell:
        """kind: of the column. A whole number in an id column is its digits, in a date column a year."""
        shown = plain_number(text)
        if shown is None:
            return BadCell(text[:40], f"The cell {place} holds a number that cannot be read: type it again.")
        if kind in IDS and (not shown.isdigit() or int(shown) >= _MOST_EXACT):
            return BadCell(
                shown,
                f"The cell {place} holds a number where an id is due, and not a whole one of at most 15 "
                "digits: format the "
                "column as text, and type the id again.",
            )
        if kind in (DATE, "day") and not (shown.isdigit() and len(shown) == 4):
            return BadCell(
                shown,
                f"The cell {place} holds a number where a date is due, and only a year can be a number: "
                "format the cell as "
                "text, and type the date, such as 12 May 1894.",
            )
        return shown

    def from_date(self, kind: str, text: str, place: str) -> Cell:
        """A date cell is that day, in a date column and in a text; anywhere else it is a spreadsheet's
        own doing."""
        day = day_of(text, self.from_1904)
        if day is None:
            return BadCell(
                text[:40],
                f"The cell {place} is formatted as a date, but {self._why_no_day(text)}: format the cell as "
                "text, and "
                "type the date, such as 12 May 1894.",
            )
        return self.a_day(kind, day, place)

    def a_day(self, kind: str, day: date, place: str) -> Cell:
        if kind in (DATE, "day", "text", "words"):
            return day.isoformat()
        what = "an id" if kind in ("id", "ref") else "a person" if kind == "person" else f"a {kind}"
        return BadCell(
            day.isoformat(),
            f"The cell {place} holds a date where {what} is due; a spreadsheet makes dates of texts such as "
            "3-4. "
            "Format the column as text, and type it again.",
        )

    def from_iso(self, kind: str, text: str, place: str) -> Cell:
        """A cell of type ``d``: a day or a time written out."""
        found = re.fullmatch(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(?:T00:00(?::00(?:\.0+)?)?Z?)?", text)
        try:
            day = date.fromisoformat(found[1]) if found else None
        except ValueError:
            day = None
        return self.a_time(text, place) if day is None else self.a_day(kind, day, place)

    def from_boolean(self, kind: str, text: str, place: str) -> Cell:
        shown = "TRUE" if text.strip() in ("1", "true") else "FALSE"
        if kind in IDS:
            return BadCell(
                shown,
                f"The cell {place} holds yes or no ({shown}) where an id is due: format the column as text, "
                "and type it again.",
            )
        return shown

    def a_time(self, text: str, place: str) -> Cell:
        return BadCell(
            text[:40],
            f"The cell {place} holds a time of day or a length of time; a spreadsheet makes times of texts "
            "such as 4:30. "
            "Format the cell as text, and type it again.",
        )

    def _why_no_day(self, text: str) -> str:
        shown = plain_number(text) or text[:40]
        if not shown.isdigit() or self.from_1904:
            return f"holds {shown}, which is no plain day"
        if int(shown) < _FIRST_DAY_1900:
            return f"holds {shown}, a day before 1 March 1900, where spreadsheets differ by a day"
        return f"holds {shown}, a day after the year 9999"
