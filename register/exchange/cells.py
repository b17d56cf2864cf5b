"""What a file format hands over before anything is understood: tables of cells, each with its row number."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from register.exchange.faults import Fault

LIMIT = 500_000
"""Rows of one table in one file."""
MAX_FILE = 100 * 1024 * 1024
"""Bytes of one file."""
MAX_COLUMNS = 200
"""Columns in use: no table has nearly so many."""


class BadCell(NamedTuple):
    """A cell that its format could not turn into text: what it shows, and the sentence."""

    text: str
    message: str


Cell = str | BadCell


class BrokenTable(ValueError):
    """Reading cannot go on: the sentence, and the row if it is in one."""

    def __init__(self, message: str, row: int | None = None) -> None:
        super().__init__(message)
        self.row = row


@dataclass(slots=True)
class RawTable:
    """One table of a file. ``rows`` gives (row number, cells), must be read before the next table is asked
    for, and raises BrokenTable where it cannot be read on. ragged: a row may have fewer cells than the
    header."""

    name: str
    header: Sequence[Cell]
    rows: Iterator[tuple[int, Sequence[Cell]]]
    header_line: int = 1
    ragged: bool = False


@dataclass(slots=True)
class Findings:
    """What a reader tells beside the tables: faults, sentences for the preview, and what it had to
    interpret."""

    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    ids_from_numbers: int = 0
    formulas: int = 0


def too_many_rows() -> BrokenTable:
    return BrokenTable(
        f"A table has at most {LIMIT:,} rows: split the file, and import one part after the other."
    )


def too_large(size: int) -> BrokenTable:
    return BrokenTable(
        f"The file has {size // 1024**2:,} MB, and at most {MAX_FILE // 1024**2} are read: split it, and "
        "import one "
        "part after the other."
    )


def text_of(cell: Cell) -> str:
    return cell if isinstance(cell, str) else cell.text


def column_letters(index: int) -> str:
    """The letters over a spreadsheet's column: 0 is A, 25 Z, 26 AA."""
    letters = ""
    number = index + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def without_trailing_blanks(cells: Sequence[Cell]) -> Sequence[Cell]:
    """The cells up to the last that holds anything: spreadsheets write empty columns at the end of every
    row."""
    end = len(cells)
    while end and _is_blank(cells[end - 1]):
        end -= 1
    return cells[:end]


def is_blank_row(cells: Sequence[Cell]) -> bool:
    return all(_is_blank(cell) for cell in cells)


def _is_blank(cell: Cell) -> bool:
    return isinstance(cell, str) and (not cell or cell.isspace())
