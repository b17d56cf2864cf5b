"""Rows of cells to rows of values: what a header means, and every fault of header and cells."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from register.exchange.cells import (
    MAX_COLUMNS,
    BadCell,
    Cell,
    column_letters,
    is_blank_row,
    text_of,
    without_trailing_blanks,
)
from register.exchange.faults import Fault
from register.exchange.schema import Table
from register.exchange.values import Reader, read_id, reader, unknown_column

ROW_ID = "row_id"


class Cells(Mapping[str, Any]):
    """The values of one row by column name. Read-only; all rows of a table share one index of names, since a
    dict a row would take four times the memory."""

    __slots__ = ("_places", "_values")

    def __init__(self, places: Mapping[str, int], values: tuple[Any, ...]) -> None:
        self._places = places
        self._values = values

    def __getitem__(self, name: str) -> Any:
        return self._values[self._places[name]]

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)

    def __repr__(self) -> str:
        return repr(dict(self))


@dataclass(frozen=True, slots=True)
class ParsedRow:
    """One row that says which record it is about.

    line: its row as a spreadsheet numbers it. values: the columns of the file; an empty cell is None, a
    column that the file does not have is not there, nor is one whose cell was at fault: ``bad`` names those.
    """

    table: str
    line: int
    row_id: str | None
    values: Mapping[str, Any]
    bad: tuple[str, ...] = ()


def parse_rows(
    table: Table,
    header: Sequence[Cell],
    rows: Iterable[tuple[int, Sequence[Cell]]],
    *,
    header_line: int = 1,
    ragged: bool = False,
) -> tuple[list[ParsedRow], list[Fault]]:
    """Values of the rows, and every fault of header and cells.

    rows: (row number, cells). ragged: whether a row may have fewer cells than the header. Blank rows are
    passed over. A row that cannot be told from others, since it has neither ``row_id`` nor its key, is a
    fault and left out. An empty cell in a column that is needed is a fault, of a known record as of a new
    one; whether a new record lacks a whole column is for ``missing_required`` to say.
    """
    parser = _Parser(table, header, header_line)
    parsed = []
    for line, cells in rows:
        if is_blank_row(cells):
            continue
        if len(cells) != parser.width and not ragged:
            parser.fault(
                line,
                "",
                "",
                f"This row has {_cells(len(cells))} and the first row {parser.width}: a comma too many or "
                "too few, or a text with a comma in it that has no quotes around it.",
            )
            continue
        row = parser.parse(line, cells)
        if row is not None:
            parsed.append(row)
    return parsed, parser.faults


class _Parser:
    """The meaning of one header, and the faults found so far."""

    def __init__(self, table: Table, header: Sequence[Cell], header_line: int) -> None:
        self.table = table
        self.faults: list[Fault] = []
        self.width = len(header)
        self.columns: list[tuple[int, str, Reader]] = []
        self.row_id: int | None = None
        self.unnamed: set[int] = set()
        self._read_header(header, header_line)
        self.places = {name: place for place, (_, name, _) in enumerate(self.columns)}
        self.needed = [
            (self.places[c.name], c.name, c.key)
            for c in table.columns
            if c.required and c.name in self.places
        ]
        self.absent_keys = [
            c.name for c in table.columns if c.required and c.key and c.name not in self.places
        ]
        if self.absent_keys and self.row_id is None and self.columns:
            self.fault(
                header_line,
                "",
                "",
                f"The column {' and the column '.join(self.absent_keys)} is missing: it says which "
                f"{table.noun} a row is about.",
            )

    def fault(self, line: int, column: str, value: str, message: str) -> None:
        self.faults.append(Fault(self.table.name, line, column, value, message))

    def _read_header(self, header: Sequence[Cell], line: int) -> None:
        names = [text_of(cell) for cell in without_trailing_blanks(header)]
        self.unnamed.update(range(len(names), self.width))
        if len(names) > MAX_COLUMNS:
            self.fault(
                line,
                "",
                "",
                f"{len(names):,} columns have names here, and this table has {len(self.table.header)}: "
                f"{', '.join(self.table.header)}. Delete the others.",
            )
            return
        for place, name in enumerate(names):
            if not name.strip():
                self.unnamed.add(place)
            elif name in names[:place]:
                self.fault(line, name, "", "Two columns have this name: keep one of them.")
            elif name == ROW_ID and self.table.row_id:
                self.row_id = place
            elif name in self.table.by_name:
                self.columns.append((place, name, reader(self.table.by_name[name])))
            else:
                self.fault(line, name, "", unknown_column(self.table, name))

    def parse(self, line: int, cells: Sequence[Cell]) -> ParsedRow | None:
        """The hot loop of an import: once for every row, its body once for every cell."""
        values: list[Any] = []
        bad: list[str] = []
        width = len(cells)
        for place, name, read in self.columns:
            cell = cells[place] if place < width else ""
            value = None
            if isinstance(cell, BadCell):
                self.fault(line, name, cell.text, cell.message)
                bad.append(name)
            elif cell and not cell.isspace():
                try:
                    value = read(cell)
                except ValueError as sentence:
                    self.fault(line, name, cell, str(sentence))
                    bad.append(name)
            values.append(value)
        if self.unnamed:
            self._check_unnamed(line, cells)
        return self._row(line, cells, values, bad)

    def _row(self, line: int, cells: Sequence[Cell], values: list[Any], bad: list[str]) -> ParsedRow | None:
        has_key = self._has_what_is_needed(line, values, bad)
        try:
            row_id = self._read_row_id(cells)
        except ValueError as sentence:
            self.fault(line, ROW_ID, text_of(cells[self.row_id or 0]), str(sentence))
            return None
        if row_id is None and self.absent_keys and self.row_id is not None:
            self.fault(
                line,
                ROW_ID,
                "",
                f"It is empty, and there is no column {' or '.join(self.absent_keys)}: nothing says which "
                f"{self.table.noun} this row is about.",
            )
        if row_id is None and (self.absent_keys or not has_key):
            return None
        if bad:
            good = {name: values[place] for name, place in self.places.items() if name not in bad}
            return ParsedRow(self.table.name, line, row_id, good, tuple(bad))
        return ParsedRow(self.table.name, line, row_id, Cells(self.places, tuple(values)))

    def _has_what_is_needed(self, line: int, values: list[Any], bad: list[str]) -> bool:
        """Whether every part of the key is there; a fault for each needed cell that is empty."""
        has_key = True
        for place, name, is_key in self.needed:
            if values[place] is None:
                has_key &= not is_key
                if name not in bad:
                    which = f", and says which {self.table.noun} this row is about" if is_key else ""
                    self.fault(line, name, "", f"It is empty; it is needed{which}.")
        return has_key

    def _read_row_id(self, cells: Sequence[Cell]) -> str | None:
        if self.row_id is None or self.row_id >= len(cells):
            return None
        cell = cells[self.row_id]
        if isinstance(cell, BadCell):
            raise ValueError(cell.message)
        return read_id(cell) if cell and not cell.isspace() else None

    def _check_unnamed(self, line: int, cells: Sequence[Cell]) -> None:
        """Something under a column without a name: a fault at the first of each column."""
        for place in sorted(self.unnamed):
            text = text_of(cells[place]) if place < len(cells) else ""
            if text.strip():
                self.fault(
                    line,
                    f"column {column_letters(place)}",
                    text,
                    "This column has no name in the first row: name it, or empty it.",
                )
                self.unnamed.discard(place)


def _cells(count: int) -> str:
    return f"{count:,} cell{'' if count == 1 else 's'}"
