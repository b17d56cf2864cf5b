"""Somebody's own list, as a sheet of texts: any CSV file, or one sheet of any workbook.

Nothing is understood here. A CSV file may have commas, semicolons or tabs; what is not UTF-8 is read as
Windows-1252 and said to be, since a list is looked through line by line before anything of it is stored.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from register.exchange.cells import MAX_COLUMNS, BrokenTable
from register.exchange.faults import Fault, Refused, printable
from register.exchange.flat_list.workbook_sheet import cells_of_workbook
from register.exchange.schema import MAX_TEXT

MAX_LINES = 5_000
"""Lines of a list: one vehicle has a few hundred things on it."""
MAX_BYTES = 10 * 1024 * 1024
SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_CSV = (".csv", ".tsv", ".txt")
_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line: ``line`` as a spreadsheet numbers it, its cells as texts, edges and all."""

    line: int
    cells: tuple[str, ...]

    @property
    def is_blank(self) -> bool:
        return not any(cell.strip() for cell in self.cells)

    def filled(self) -> list[int]:
        """The columns that hold anything."""
        return [index for index, cell in enumerate(self.cells) if cell.strip()]


@dataclass(frozen=True, slots=True)
class Sheet:
    """name: of the file (and of the sheet, where it is one of several). Every line has ``width`` cells.
    sheets: the names of all sheets of a workbook. notes: sentences for the preview."""

    name: str
    lines: tuple[SheetLine, ...]
    width: int
    sheets: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def read_sheet(path: Path, *, sheet: str = "") -> Sheet:
    """The list in a file. sheet: which sheet of a workbook; "" is the first that holds anything.

    Raises Refused with a sentence where it is no CSV file and no workbook, cannot be read, or is empty.
    """
    name = printable(path.name)
    try:
        if not path.is_file():
            raise BrokenTable("There is no such file.")
        if path.suffix.lower() in _CSV:
            return _from_csv(path)
        if path.suffix.lower() in (".xlsx", ".xls", ".ods", ".xlsm", ".xlsb"):
            rows, names, notes, chosen = cells_of_workbook(path, sheet)
            label = f"{name}, sheet “{printable(chosen)}”" if len(names) > 1 else name
            return sheet_of(label, rows, sheets=names, notes=notes)
        raise BrokenTable(
            "A list is read from a CSV file (.csv) or a workbook (.xlsx): save it as one of them."
        )
    except BrokenTable as sentence:
        refuse(name, str(sentence), sentence.row)
    except OSError as error:
        refuse(name, f"This cannot be read: {error.strerror or error}.")


def refuse(name: str, sentence: str, row: int | None = None) -> NoReturn:
    """Refused, with one fault."""
    raise Refused([Fault("", row, name, "", sentence)])


def sheet_of(
    name: str,
    rows: Iterable[tuple[int, Sequence[str]]],
    *,
    sheets: Sequence[str] = (),
    notes: Sequence[str] = (),
) -> Sheet:
    """A sheet from (line number, cells), blank lines at the end left out. BrokenTable where it is empty or
    too large."""
    lines: list[SheetLine] = []
    for line, cells in rows:
        if len(lines) >= MAX_LINES:
            raise BrokenTable(f"A list has at most {MAX_LINES:,} lines: split it, a vehicle at a time.", line)
        lines.append(SheetLine(line, tuple(_clean(cell, line) for cell in cells)))
    while lines and lines[-1].is_blank:
        lines.pop()
    if not lines:
        raise BrokenTable("The sheet is empty: there is nothing to read in it.")
    width = max(max(line.filled(), default=0) for line in lines) + 1
    if width > MAX_COLUMNS:
        raise BrokenTable(
            f"The sheet uses {width:,} columns, and at most {MAX_COLUMNS} are read: delete the others."
        )
    even = tuple(SheetLine(one.line, (*one.cells[:width], *[""] * (width - len(one.cells)))) for one in lines)
    return Sheet(name, even, width, tuple(sheets), tuple(notes))


def _clean(cell: str, line: int) -> str:
    if len(cell) > MAX_TEXT:
        raise BrokenTable(
            f"A cell has {len(cell):,} characters, and at most {MAX_TEXT:,} are kept: put the text into a "
            f"document.",
            line,
        )
    return _NO_TEXT.sub(" ", cell.replace("\r\n", "\n").replace("\r", "\n"))


def _from_csv(path: Path) -> Sheet:
    if path.stat().st_size > MAX_BYTES:
        raise BrokenTable(
            f"The file is larger than {MAX_BYTES // 1024**2} MB: a list is not. Is it the right file?"
        )
    text, notes = _decoded(path.read_bytes())
    separator = _separator(text)
    rows: list[tuple[int, list[str]]] = []
    try:
        for line, cells in enumerate(
            csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True), 1
        ):
            rows.append(
                (line, [cell[1:] if cell[:1] == "'" and cell[1:2] in "=+-@" else cell for cell in cells])
            )
    except csv.Error as error:
        raise BrokenTable(
            f"The file cannot be read on from here ({error}): a quote is probably opened and not closed.",
            len(rows) + 1,
        ) from None
    if separator != ",":
        notes.append(f"The columns are separated by {SEPARATORS[separator]}.")
    return sheet_of(printable(path.name), rows, notes=notes)


def _decoded(data: bytes) -> tuple[str, list[str]]:
    """The text of a CSV file, and what had to be supposed."""
    if not data.strip():
        raise BrokenTable("The file is empty.")
    if data.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise BrokenTable("This is a workbook with the name of a CSV file: give it the ending .xlsx.")
    try:
        if data.startswith(_UTF16):
            return data.decode("utf-16"), []
        if b"\0" in data[:4096]:
            raise BrokenTable(
                "This is no text, so it is no CSV file: save the list as “CSV UTF-8” or as .xlsx."
            )
        return data.decode("utf-8-sig"), []
    except UnicodeDecodeError:
        pass
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        raise BrokenTable("The letters of this file cannot be read: save it again as “CSV UTF-8”.") from None
    return text, ["The file is not UTF-8 and was read as Windows-1252: look whether £, ½ and é are right."]


def _separator(text: str) -> str:
    """The separator that gives most columns in most lines."""

    def score(separator: str) -> int:
        counts = [line.count(separator) for line in text.splitlines()[:200] if line.strip()]
        return sum(1 for count in counts if count) * 1000 + min(sum(counts), 999)

    return max(SEPARATORS, key=score)
