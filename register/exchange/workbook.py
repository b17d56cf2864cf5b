"""A workbook (.xlsx), one sheet a table: which of its sheets are tables, and what their cells refer to."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from register.exchange.cells import LIMIT, BrokenTable, Findings, RawTable, too_many_rows
from register.exchange.faults import Fault, printable
from register.exchange.number_cells import NumberCells, format_kind
from register.exchange.package import Package, Part, sheets_of
from register.exchange.schema import TABLES
from register.exchange.sheet_cells import CellReader, SheetReading
from register.exchange.sheet_xml import NAMESPACES, Sheet, shared_strings
from register.exchange.values import did_you_mean

ABOUT = "about"
"""The sheet of a blank workbook that explains it; an import passes over a sheet of this name."""
_DEFAULT_NAME = re.compile(
    r"(?:sheet|tabelle|feuil|hoja|foglio|blad|ark|arkusz|planilha) ?[0-9]+", re.IGNORECASE
)
_NO_TABLE = "No table has the name of this sheet."
_ROW_END = re.compile(rb"</(?:[A-Za-z0-9_]+:)?row>")
_LARGE = 10 * 1024 * 1024
"""Bytes below which a sheet cannot have too many rows."""


def tables_in(path: Path, found: Findings) -> Iterator[RawTable]:
    """The tables of a workbook. Faults and notes go to ``found``. Raises BrokenTable where it cannot be
    read at all."""
    with Package(path) as package:
        book = _Book(package, found)
        names = Counter(part.name for part in book.sheets)
        for part in book.sheets:
            if part.name.strip().lower() == ABOUT:
                continue
            if names[part.name] > 1:
                raise BrokenTable(f"Two sheets are called “{printable(part.name)}”: keep one of them.")
            yield from book.table(part)


def refuse_what_is_no_register(path: Path) -> None:
    """Raises BrokenTable with a sentence for a file that is no workbook, and for a workbook of which no sheet is a table
    or is called nearly like one; what is wrong within the tables is not looked at."""
    with Package(path) as package:
        names = [part.name for part in sheets_of(package)[0]]
    if not any(name in TABLES or did_you_mean(name, TABLES) for name in names):
        listed = ", ".join(f"“{printable(name)}”" for name in names[:5]) or "none at all"
        raise BrokenTable(
            f"No sheet of this workbook is a table of the register. Its sheets are {listed}; those of the register are called"
            f" {', '.join(TABLES)}, as in the blank workbook. A list that somebody has kept is begun from a list instead."
        )


class _Book:
    """An open workbook: what its cells refer to, and what has been found in them."""

    def __init__(self, package: Package, found: Findings) -> None:
        self.package = package
        self.found = found
        self.sheets, from_1904, related = sheets_of(package)
        strings = related.get("sharedStrings", "")
        self.cells = CellReader(
            NumberCells(from_1904),
            _formats(package, related.get("styles", "")),
            shared_strings(package.chunks(strings)) if package.has(strings) else [],
        )

    def table(self, part: Part) -> Iterator[RawTable]:
        """The table of a sheet; none where the sheet is not one, which is told."""
        if part.name not in TABLES:
            self._unknown(part)
            return
        if part.kind != "worksheet":
            self.found.faults.append(
                Fault(part.name, None, "", "", "This sheet holds a chart or a macro, not a table.")
            )
            return
        if part.is_hidden:
            self.found.notes.append(
                f"{part.name}: the sheet is hidden in the workbook, and was read like the others."
            )
        try:
            self._check_count(part)
            reading = SheetReading(TABLES[part.name], self.cells, self.package.chunks(part.path), self.found)
            header = reading.header()
        except BrokenTable as sentence:
            self.found.faults.append(Fault(part.name, sentence.row, "", "", str(sentence)))
            return
        yield RawTable(part.name, header, reading.rows(), header_line=reading.header_line, ragged=True)
        reading.tell()

    def _unknown(self, part: Part) -> None:
        name = printable(part.name)
        is_empty = False
        if part.kind == "worksheet":
            with suppress(BrokenTable):
                is_empty = next(Sheet().rows(self.package.chunks(part.path)), None) is None
        if is_empty and _DEFAULT_NAME.fullmatch(part.name.strip()):
            self.found.notes.append(f"{name}: an empty sheet, passed over.")
            return
        hint = did_you_mean(part.name, TABLES) or f"The tables are {', '.join(TABLES)}."
        self.found.faults.append(
            Fault(
                "",
                None,
                f"sheet “{name}”",
                "",
                f"{_NO_TABLE} {hint} Rename it, or take it out of the workbook.",
            )
        )

    def _check_count(self, part: Part) -> None:
        """Refuse a sheet with too many rows before any of it is kept."""
        if self.package.size(part.path) < _LARGE:
            return
        count, tail = 0, b""
        counted = self.package.unpacked
        for chunk in self.package.chunks(part.path):
            block = tail + chunk
            count += len(_ROW_END.findall(block))
            tail = b"" if block.endswith(b">") else block[-40:].rpartition(b">")[2]
        self.package.unpacked = counted  # it is read again, and counted then
        if count > LIMIT + 1:
            raise too_many_rows()


def _formats(package: Package, styles: str) -> dict[str, str]:
    """The cell formats that show a date or a time: format number to "date" or "time"."""
    if not package.has(styles):
        return {}
    tree = package.xml(styles)
    found: dict[str, str] = {}
    for namespace in NAMESPACES:
        codes = {
            code.get("numFmtId", ""): code.get("formatCode", "")
            for code in tree.iter(f"{{{namespace}}}numFmt")
        }
        formats = tree.find(f"{{{namespace}}}cellXfs")
        for index, cell_format in enumerate(formats if formats is not None else ()):
            number = cell_format.get("numFmtId", "0")
            kind = format_kind(int(number) if number.isdigit() else 0, codes.get(number))
            if kind:
                found[str(index)] = kind
    return found
