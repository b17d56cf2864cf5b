"""The door through which a workbook or a folder of CSV files comes in: tables of values, and every fault
found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from register.exchange import csv_folder, workbook
from register.exchange.cells import LIMIT, BrokenTable, Cell, Findings, RawTable, text_of, too_many_rows
from register.exchange.faults import Fault, printable
from register.exchange.rows import ParsedRow, parse_rows
from register.exchange.schema import TABLES


@dataclass(slots=True)
class ReadResult(Findings):
    """What was found in a file or a folder.

    rows and header: by table, for the tables that are there, ``export`` aside. export: its one row,
    ``change_no`` a whole number. faults: all of them. notes: sentences for the preview. ids_from_numbers,
    formulas: how many ids were number cells and how many cells were formulas, in a workbook. base: the
    folder in which photographs are named.
    """

    base: Path = field(default_factory=Path)
    rows: dict[str, list[ParsedRow]] = field(default_factory=dict)
    header: dict[str, tuple[str, ...]] = field(default_factory=dict)
    export: dict[str, Any] | None = None


def read_register_file(path: Path) -> ReadResult:
    """Read a workbook or a folder of CSV files. Whatever is wrong with it is in ``faults``; nothing is
    raised."""
    is_folder = path.is_dir()
    found = ReadResult(base=path if is_folder else path.parent)
    tables = 0
    try:
        for raw in csv_folder.tables_in(path, found) if is_folder else workbook.tables_in(path, found):
            tables += 1
            _absorb(raw, found)
    except BrokenTable as sentence:
        found.faults.append(Fault("", sentence.row, printable(path.name), "", str(sentence)))
    except OSError as error:
        found.faults.append(
            Fault("", None, printable(path.name), "", f"This cannot be read: {error.strerror or error}.")
        )
    if not tables and not found.faults:
        found.faults.append(
            Fault(
                "",
                None,
                printable(path.name),
                "",
                f"There is no table of the register in it. The tables are {', '.join(TABLES)}.",
            )
        )
    return found


def _absorb(raw: RawTable, found: ReadResult) -> None:
    table = TABLES[raw.name]
    rows, faults = parse_rows(
        table, raw.header, _until_broken(raw, found.faults), header_line=raw.header_line, ragged=raw.ragged
    )
    found.faults.extend(faults)
    if table.name == "export":
        found.export = _export_row(rows, found.faults)
        return
    found.rows[table.name] = rows
    found.header[table.name] = tuple(name for cell in raw.header if (name := text_of(cell)).strip())


def _until_broken(raw: RawTable, faults: list[Fault]) -> Iterator[tuple[int, Sequence[Cell]]]:
    """The rows of a table up to where it cannot be read on, so that the faults before that are told as
    well."""
    try:
        for line, cells in raw.rows:
            if line > LIMIT + 1:
                raise too_many_rows()
            yield line, cells
    except BrokenTable as sentence:
        faults.append(Fault(raw.name, sentence.row, "", "", str(sentence)))


def _export_row(rows: list[ParsedRow], faults: list[Fault]) -> dict[str, Any] | None:
    if len(rows) != 1:
        faults.append(
            Fault(
                "export",
                None,
                "",
                "",
                f"This table has exactly one row, and here it has {len(rows)}: take the table as "
                "it was exported, or leave it out.",
            )
        )
        return None
    export = dict(rows[0].values)
    number = export.get("change_no") or ""
    if not (number.isascii() and number.isdigit() and len(number) <= 18):
        faults.append(
            Fault(
                "export",
                rows[0].line,
                "change_no",
                number,
                "A whole number stands here: take the table as it was exported, or leave it out.",
            )
        )
        return None
    return export | {"change_no": int(number)}
