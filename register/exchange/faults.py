"""What is wrong in a file or a form: one fault, one line, saying where it is and what to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

SHOWN = 60
"""Characters of a value that are printed."""
MESSAGE = 900


@dataclass(frozen=True, slots=True)
class Fault:
    """table: the table (or the sheet or file) at fault, "" for the whole of what was read. row: its row as a
    spreadsheet numbers it, the header being row 1; None where the fault is in no row. value: what was
    found there."""

    table: str
    row: int | None
    column: str
    value: str
    message: str

    def __str__(self) -> str:
        """One line, whatever the value holds: ``parts row 17, mass "12 T": Ton or tonne? …``."""
        where = printable(self.table)
        if self.row is not None:
            where = f"{where} row {self.row}".lstrip()
        what = printable(self.column)
        if self.value:
            what = f'{what} "{printable(self.value)}"'.lstrip()
        place = ", ".join(part for part in (where, what) if part)
        message = printable(self.message, MESSAGE)
        return f"{place}: {message}" if place else message


class Refused(Exception):
    """An import that changes nothing: ``faults`` says why, ``str()`` prints them one a line, then their
    count."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = list(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        count = len(self.faults)
        total = f"{count:,} fault{'' if count == 1 else 's'}; nothing was imported."
        return "\n".join([*map(str, self.faults), total])


def printable(text: str, limit: int = SHOWN) -> str:
    """The text on one line, cut to ``limit`` characters, with everything that does not show written out.

    Line ends, control characters, zero-width and direction marks become ``\\n``, ``\\x00``, ``\\u200b``: a
    fault cannot forge a second line, and two ids that only look alike are seen to differ.
    """
    if len(text) > limit:
        text = text[: limit - 1] + "…"
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else _escape(letter) for letter in text)


def _escape(letter: str) -> str:
    return letter.encode("unicode_escape").decode("ascii")
