"""A workbook to fill in: a sheet a table, lists to choose from, one example row, and a first sheet that
explains."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from register.exchange.files import written_aside
from register.exchange.schema import TABLES, Column, Table
from register.exchange.workbook import ABOUT

if TYPE_CHECKING:
    from openpyxl import Workbook

LISTED_ROWS = 5_000
"""Rows down to which a sheet offers its lists."""
_WIDTHS = {
    "text": 28,
    "words": 24,
    "choices": 24,
    "file": 28,
    "date": 16,
    "day": 14,
    "mass": 16,
    "person": 18,
    "sha256": 18,
}
_MEANINGS = {
    "id": "your own id: 1 to 40 letters A to Z, digits, - _ .",
    "ref": "an id of the table {to}",
    "words": "several, with ; between them",
    "date": "a date, as exact as it is known: 12 May 1894, 1894, c. 1894, between 1903 and 1907",
    "day": "a plain day: 12 May 1894",
    "yes": "yes or no",
    "choice": "one of: {choices}",
    "choices": "any of: {choices}; with ; between them",
    "mass": "a mass with its unit: 12.5 kg, 2 cwt 3 qr",
    "fraction": "a share from 0 to 1: 0.6 or 60%",
    "count": "a whole number",
    "person": "a person_id, or a name",
    "tag": "eight characters",
    "sha256": "64 digits from 0 to 9 and a to f",
    "file": "the name of a file beside the workbook",
}
_ADVICE = (
    "One sheet is one table, and one row is one record. Leave a table that you do not need as it is, or "
    "delete its sheet.",
    "The first row of each sheet names its columns: do not change it. Columns with a grey name must be "
    "filled in.",
    "The second row of each sheet is an example. Write over it, or delete it, before you import.",
    "Leave empty what is not known. Nothing is guessed.",
    "This sheet is passed over when the workbook is imported.",
)


def write_blank_workbook(path: Path, *, overwrite: bool = False) -> None:
    """Write the workbook. OSError with a sentence where the file is there already."""
    from openpyxl import Workbook

    with written_aside(path, overwrite=overwrite) as aside:
        book = Workbook()
        book.properties.creator = "Fabric register"
        _write_about(book)
        for table in TABLES.values():
            if table.name != "export":  # it says which state of a register a file is of, and this is of none
                _write_table(book, table)
        book.save(aside)


def column_width(name: str, column: Column | None) -> float:
    """Characters wide enough for the name and for what usually stands in the column."""
    return max(len(name) + 3, _WIDTHS.get(column.kind, 12) if column else 12)


def example_row(table: Table) -> list[str]:
    """One cell for each column of the header; nothing where a table cannot have an example of its own."""
    if any(column.required and not column.example for column in table.columns):
        return []
    return [table.by_name[name].example if name in table.by_name else "" for name in table.header]


def meaning_of(column: Column) -> str:
    """What may stand in a column, in words."""
    words = _MEANINGS.get(column.kind, "text").format(to=column.to, choices=", ".join(column.choices))
    if column.as_built:
        words += ", or “as built”"
    return words + (f" (if empty: {column.default})" if column.default else "")


def _write_about(book: Workbook) -> None:
    from openpyxl.styles import Alignment, Font

    sheet: Any = book.active
    sheet.title = ABOUT
    for line in _ADVICE:
        sheet.append([line])
    sheet.append([])
    sheet.append(["table", "column", "needed", "what it is", "what may stand there"])
    for cell in sheet[sheet.max_row]:
        cell.font = Font(bold=True)
    for table in TABLES.values():
        for column in table.columns:
            if table.name != "export":
                sheet.append(
                    [
                        table.name,
                        column.name,
                        "yes" if column.required else "",
                        column.about,
                        meaning_of(column),
                    ]
                )
    for letter, width in zip("ABCDE", (20, 22, 9, 48, 70), strict=True):
        sheet.column_dimensions[letter].width = width
    for row in sheet.iter_rows(min_row=len(_ADVICE) + 3, min_col=4, max_col=5):
        for cell in row:
            cell.alignment = Alignment(wrap_text=True, vertical="top")


def _write_table(book: Workbook, table: Table) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Font, PatternFill
    from openpyxl.utils import get_column_letter

    sheet = book.create_sheet(table.name)
    sheet.freeze_panes = "A2"
    example = example_row(table) or [""] * len(table.header)
    for index, (name, text) in enumerate(zip(table.header, example, strict=True), 1):
        column = table.by_name.get(name)
        letter = get_column_letter(index)
        dimension = sheet.column_dimensions[letter]
        dimension.width = column_width(name, column)
        dimension.number_format = "@"
        head = sheet.cell(1, index, name)
        head.font = Font(bold=True)
        head.comment = Comment(_comment(column), "Fabric register", height=110, width=320)
        if column and column.required:
            head.fill = PatternFill("solid", fgColor="D9D9D9")
        if text:
            cell: Any = sheet.cell(2, index, text)
            cell.data_type, cell.number_format, cell.font = "s", "@", Font(italic=True)
        if column and column.kind in ("choice", "yes"):
            _offer(sheet, letter, column)


def _comment(column: Column | None) -> str:
    if column is None:
        return "The number of the row in the register. Leave it empty for a new row."
    needed = "Must be filled in. " if column.required else ""
    about = f"{column.about[:1].upper()}{column.about[1:]}. " if column.about else ""
    return f"{needed}{about}Here stands {meaning_of(column)}."


def _offer(sheet: Any, letter: str, column: Column) -> None:
    """A list to choose from."""
    from openpyxl.worksheet.datavalidation import DataValidation

    choices = column.choices or ("yes", "no")
    offer = DataValidation(
        type="list", formula1=f'"{",".join(choices)}"', allow_blank=True, showErrorMessage=True
    )
    offer.errorTitle = column.name
    offer.error = f"Choose one of: {', '.join(choices)}."[:255]
    offer.add(f"{letter}2:{letter}{LISTED_ROWS}")
    sheet.add_data_validation(offer)
