"""The cells of one sheet as text, in their columns; everything that had to be interpreted is counted and
told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from register.exchange.cells import (
    MAX_COLUMNS,
    BadCell,
    BrokenTable,
    Cell,
    Findings,
    column_letters,
    text_of,
)
from register.exchange.faults import Fault, printable
from register.exchange.number_cells import DATE, IDS, TIME, NumberCells
from register.exchange.rows import ROW_ID
from register.exchange.schema import Table
from register.exchange.sheet_xml import Sheet, SheetCell, SheetRow

_FORMULA = "formula cells were read as their last computed value"
_ID = "ids were read from number cells, where a spreadsheet may have taken zeros off the front"
_DAY_IN_TEXT = "date cells stand in columns of text, and were read as the day, such as 1894-05-12"


@dataclass(frozen=True, slots=True)
class CellReader:
    """What the cells of a workbook refer to. formats: style number to "date" or "time"; strings: the
    shared texts."""

    numbers: NumberCells
    formats: dict[str, str]
    strings: list[str]

    def string(self, text: str, place: str) -> Cell:
        if text.isascii() and text.isdigit() and len(text) < 10 and int(text) < len(self.strings):
            return self.strings[int(text)]
        return BadCell(text[:40], f"The cell {place} is damaged, and its text is missing: type it again.")


class SheetReading:
    """The reading of one sheet: ``header``, then ``rows``, then ``tell``."""

    def __init__(self, table: Table, reader: CellReader, chunks: Iterable[bytes], found: Findings) -> None:
        self.table = table
        self.reader = reader
        self.found = found
        self.sheet = Sheet()
        self.source = self.sheet.rows(chunks)
        self.header_line = 1
        self.width = 0
        self.kinds: list[str] = []
        self.beyond: set[int] = set()
        self.hidden_rows: list[int] = []
        self.counts: dict[str, tuple[int, str]] = {}

    def header(self) -> list[Cell]:
        """The names in the first row that holds anything. Raises BrokenTable where there is none."""
        row = next(self.source, None)
        if row is None:
            raise BrokenTable("The sheet is empty: its first row must name the columns.")
        self.header_line = row.line
        self.width = max(cell.column for cell in row.cells) + 1
        if self.width > MAX_COLUMNS:
            raise BrokenTable(
                f"The sheet uses {self.width:,} columns, and this table has {len(self.table.header)}: "
                f"{', '.join(self.table.header)}. Delete the others.",
                row.line,
            )
        self.kinds = ["text"] * self.width
        cells = self._texts(row)
        self.kinds = [self._kind(text_of(cell)) for cell in cells]
        return cells

    def rows(self) -> Iterator[tuple[int, list[Cell]]]:
        for row in self.source:
            if row.hidden:
                self.hidden_rows.append(row.line)
            yield row.line, self._texts(row)

    def tell(self) -> None:
        """Notes and faults that are known once the sheet has been read through."""
        for span in self.sheet.merged:
            self._fault(
                None,
                "",
                f"The cells {printable(span)} are merged, so that only the first of them holds anything: "
                "unmerge them, and fill in each.",
            )
        self._tell_hidden("row", [str(line) for line in self.hidden_rows])
        hidden = [column_letters(index) for index in sorted(self.sheet.hidden_columns) if index < self.width]
        self._tell_hidden("column", hidden)
        for what, (count, first) in self.counts.items():
            self.found.notes.append(f"{self.table.name}: {count:,} {what} (the first is {first}).")

    def _tell_hidden(self, noun: str, items: list[str]) -> None:
        if items:
            more = f" and {len(items) - 10:,} more" if len(items) > 10 else ""
            nouns, are = (noun, "is") if len(items) == 1 else (f"{noun}s", "are")
            self.found.notes.append(
                f"{self.table.name}: {nouns} {', '.join(items[:10])}{more} {are} hidden in the workbook, and "
                "read like the others."
            )

    def _kind(self, name: str) -> str:
        if name == ROW_ID:
            return "id"
        return self.table.by_name[name].kind if name in self.table.by_name else "text"

    def _texts(self, row: SheetRow) -> list[Cell]:
        """The cells of a row as text, in their places."""
        texts: list[Cell] = [""] * self.width
        for cell in row.cells:
            column, kind, text, _, is_formula = cell
            if column >= self.width:
                self._beyond(row.line, column, text or "")
            elif kind == "inlineStr" and not is_formula:
                texts[column] = text or ""
            else:
                texts[column] = self._text(cell, f"{column_letters(column)}{row.line}")
        return texts

    def _text(self, cell: SheetCell, place: str) -> Cell:
        if cell.is_formula:
            self.found.formulas += 1
            self._count(_FORMULA, place)
        text, kind = cell.text, self.kinds[cell.column]
        if text is None:
            return BadCell(
                "",
                f"The cell {place} holds a formula that was never worked out: open the workbook in a "
                "spreadsheet and save it there, or type the value.",
            )
        if cell.kind == "s":
            return self.reader.string(text, place)
        if cell.kind == "n":
            return self._number(cell.style, kind, text, place)
        if cell.kind in ("str", "inlineStr"):
            return text
        if cell.kind == "b":
            return self.reader.numbers.from_boolean(kind, text, place)
        if cell.kind == "d":
            return self._day(kind, self.reader.numbers.from_iso(kind, text, place), place)
        if cell.kind == "e":
            return BadCell(
                text[:40],
                f"The cell {place} holds the error {printable(text)} of the spreadsheet: mend the formula, "
                "or type the value.",
            )
        return BadCell(text[:40], f"The cell {place} is of a kind that is not known: type it again as text.")

    def _number(self, style: str, kind: str, text: str, place: str) -> Cell:
        numbers = self.reader.numbers
        shown_as = self.reader.formats.get(style)
        if shown_as == TIME:
            return numbers.a_time(text, place)
        if shown_as == DATE:
            return self._day(kind, numbers.from_date(kind, text, place), place)
        found = numbers.from_number(kind, text, place)
        if kind in IDS and isinstance(found, str):
            self.found.ids_from_numbers += 1
            self._count(_ID, place)
        return found

    def _day(self, kind: str, found: Cell, place: str) -> Cell:
        if kind in ("text", "words") and isinstance(found, str):
            self._count(_DAY_IN_TEXT, place)
        return found

    def _count(self, what: str, place: str) -> None:
        count, first = self.counts.get(what, (0, place))
        self.counts[what] = (count + 1, first)

    def _beyond(self, line: int, column: int, text: str) -> None:
        """A cell to the right of the last named column: a fault at the first of each column."""
        if text.strip() and column not in self.beyond and len(self.beyond) < MAX_COLUMNS:
            self.beyond.add(column)
            self._fault(
                line,
                f"column {column_letters(column)}",
                "This column has no name in the first row: name it, or empty it.",
            )

    def _fault(self, line: int | None, column: str, message: str) -> None:
        self.found.faults.append(Fault(self.table.name, line, column, "", message))
