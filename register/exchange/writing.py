"""Tables out: a folder of CSV files or a workbook. Every cell is text, and no text can become a formula."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from register.exchange.blank_workbook import column_width, write_blank_workbook
from register.exchange.files import folder_written_aside, written_aside
from register.exchange.schema import TABLES
from register.exchange.sheet_xml import escaped

if TYPE_CHECKING:
    from openpyxl import Workbook

__all__ = ["WrittenTable", "guarded", "write_blank_workbook", "write_csv_folder", "write_workbook"]

WrittenTable = tuple[str, Sequence[str], Iterable[Sequence[str]]]
"""Name of the table, its header, its rows as text."""
_GUARDED = ("=", "+", "-", "@", "\t", "\r", "\n", "'")
"""Beginnings that a spreadsheet may take for a formula (CWE-1236), and the mark that guards against it."""


def write_csv_folder(path: Path, tables: Iterable[WrittenTable], *, overwrite: bool = False) -> None:
    """Write ``<table>.csv`` for each table: UTF-8, RFC 4180, the folder whole or not at all.

    overwrite: write into a folder that holds other things; CSV files of tables that are not written go.
    OSError with a sentence where the folder is not empty.
    """
    names = set()
    with folder_written_aside(path, overwrite=overwrite) as aside:
        for name, header, rows in tables:
            names.add(name)
            _write_csv(aside / f"{name}.csv", header, rows)
    for name in TABLES.keys() - names:
        (path / f"{name}.csv").unlink(missing_ok=True)


def write_workbook(path: Path, tables: Iterable[WrittenTable], *, overwrite: bool = False) -> None:
    """Write a workbook, a sheet a table. OSError with a sentence where the file is there already."""
    from openpyxl import Workbook  # a third of a second, which only those who write a workbook pay

    with written_aside(path, overwrite=overwrite) as aside:
        book = Workbook(write_only=True)
        book.properties.creator = "Fabric register"
        for table in tables:
            _write_sheet(book, *table)
        book.save(aside)


def guarded(text: str) -> str:
    """The text as a CSV file holds it: no spreadsheet takes it for a formula."""
    return f"'{text}" if text.startswith(_GUARDED) else text


def _write_csv(path: Path, header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)  # its defaults are RFC 4180: commas, doubled quotes, CRLF
        writer.writerow(header)
        writer.writerows([guarded(text) for text in row] for row in rows)
        file.flush()
        os.fsync(file.fileno())


def _write_sheet(book: Workbook, name: str, header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    sheet = book.create_sheet(name)
    sheet.freeze_panes = "A2"
    columns = TABLES[name].by_name if name in TABLES else {}
    for index, column in enumerate(header, 1):
        sheet.column_dimensions[get_column_letter(index)].width = column_width(column, columns.get(column))
    head, cell = WriteOnlyCell(sheet), WriteOnlyCell(sheet)
    head.font = Font(bold=True)
    cell.number_format = "@"  # what is typed into it later stays text too
    try:
        sheet.append(_as_text(head, header))
        for row in rows:
            sheet.append(_as_text(cell, row))
    finally:
        sheet.close()


def _as_text(cell: Any, texts: Sequence[str]) -> Iterator[Any]:
    """One cell, lent to each text in turn: a sheet is written cell by cell, and making a cell is what
    takes time."""
    for text in texts:
        if not text:
            yield None
            continue
        cell.value = escaped(text)
        cell.data_type = "s"  # a text that begins with "=" would be a formula, "#N/A" an error
        yield cell
