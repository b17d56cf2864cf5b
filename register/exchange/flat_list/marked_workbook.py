"""What a list amounts to as a workbook of the exchange format, every doubtful cell marked and told why.

The workbook can be put right in a spreadsheet and imported: its first sheet holds the questions, and an
import passes over a sheet of that name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from register.exchange.blank_workbook import column_width
from register.exchange.files import written_aside
from register.exchange.flat_list.results import Question, RowDraft
from register.exchange.rows import ROW_ID
from register.exchange.schema import TABLES, WRITE_ORDER
from register.exchange.sheet_xml import escaped
from register.exchange.workbook import ABOUT

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.cell import Cell

DOUBTFUL = "FFE699"
"""Fill of a cell that wants a second look; its comment says why, so that colour is never alone."""
_ADVICE = (
    "What the list amounts to, as tables of the register. Nothing of it is stored yet.",
    "Cells that are filled in yellow are doubtful: the comment of the cell says why. Put them right, then "
    "import the workbook.",
    "Below is what the list does not say. This sheet is passed over when the workbook is imported.",
)
_HEADINGS = ("line", "number", "item", "about", "question", "in the list", "probably")
_WIDTHS = (7, 9, 26, 16, 70, 50, 28)


def write_marked_workbook(
    path: Path,
    rows: Iterable[RowDraft],
    questions: Iterable[Question],
    *,
    row_ids: Mapping[str, str] | None = None,
    overwrite: bool = False,
) -> None:
    """row_ids: key of a row to its ``row_id`` in the register. OSError with a sentence where the file is
    there."""
    from openpyxl import Workbook

    by_table: dict[str, list[RowDraft]] = {}
    for row in rows:
        by_table.setdefault(row.table, []).append(row)
    with written_aside(path, overwrite=overwrite) as aside:
        book = Workbook()
        book.properties.creator = "Fabric register"
        _write_questions(book, list(questions))
        for name in WRITE_ORDER:
            if name in by_table:
                _write_table(book, name, by_table[name], row_ids or {})
        book.save(aside)


def _write_questions(book: Workbook, questions: Sequence[Question]) -> None:
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    sheet: Any = book.active
    sheet.title = ABOUT
    for number, text in enumerate(_ADVICE, 1):
        _put(sheet.cell(number, 1), text)
    top = len(_ADVICE) + 2
    for column, (heading, width) in enumerate(zip(_HEADINGS, _WIDTHS, strict=True), 1):
        _put(sheet.cell(top, column), heading)
        sheet.cell(top, column).font = Font(bold=True)
        sheet.column_dimensions[get_column_letter(column)].width = width
    for number, one in enumerate(questions, top + 1):
        texts = (str(one.line or ""), one.number, one.item, one.about, one.text, one.said, one.suggestion)
        for column, text in enumerate(texts, 1):
            _put(sheet.cell(number, column), text)
            sheet.cell(number, column).alignment = Alignment(wrap_text=True, vertical="top")


def _write_table(book: Workbook, name: str, rows: Sequence[RowDraft], row_ids: Mapping[str, str]) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Font, PatternFill
    from openpyxl.utils import get_column_letter

    sheet = book.create_sheet(name)
    sheet.freeze_panes = "A2"
    header = _header(name, rows)
    columns = TABLES[name].by_name
    for index, column in enumerate(header, 1):
        _put(sheet.cell(1, index), column)
        sheet.cell(1, index).font = Font(bold=True)
        sheet.column_dimensions[get_column_letter(index)].width = column_width(column, columns.get(column))
    for number, row in enumerate(rows, 2):
        for index, column in enumerate(header, 1):
            cell = sheet.cell(number, index)
            _put(cell, row_ids.get(row.key, "") if column == ROW_ID else row.values.get(column, ""))
            if column in row.doubts:
                cell.fill = PatternFill("solid", fgColor=DOUBTFUL)
                cell.comment = Comment(row.doubts[column], "Fabric register", height=110, width=320)


def _header(name: str, rows: Sequence[RowDraft]) -> list[str]:
    """The columns that the list fills or doubts; one that is not there leaves the register's values alone."""
    used = {column for row in rows for column in (*row.values, *row.doubts)}
    return [
        column
        for column in TABLES[name].header
        if column in used or (column == ROW_ID and TABLES[name].row_id)
    ]


def _put(cell: Cell, text: str) -> None:
    """As text, whatever it begins with: a text that begins with "=" would be a formula."""
    if text:
        cell.value = escaped(text)
        cell.data_type = "s"
    cell.number_format = "@"
