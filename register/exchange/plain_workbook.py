"""A workbook of plain sheets that is no exchange file: numbers as numbers, and no text that can become a formula."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any

from register.exchange.sheet_xml import escaped

if TYPE_CHECKING:
    from openpyxl import Workbook

PlainSheet = tuple[str, Sequence[str], Sequence[float], Iterable[Sequence[str | int | float | None]]]
"""Name, head of the columns, their widths in characters, rows."""
WIDE = 60
"""Characters from which on a column breaks its lines."""
LONGEST = 32_767
"""Characters that a cell holds."""
_UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


def workbook_bytes(sheets: Iterable[PlainSheet], *, made_at: datetime) -> bytes:
    """The workbook as a file. What XML cannot hold becomes U+FFFD."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    book.properties.creator = "Fabric register"
    book.properties.created = book.properties.modified = made_at.replace(tzinfo=None)
    for sheet in sheets:
        _write(book, *sheet)
    made = BytesIO()
    book.save(made)
    return made.getvalue()


def _write(
    book: Workbook,
    name: str,
    header: Sequence[str],
    widths: Sequence[float],
    rows: Iterable[Sequence[str | int | float | None]],
) -> None:
    from openpyxl.utils import get_column_letter

    sheet = book.create_sheet(name)
    sheet.freeze_panes = "A2"
    for index, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(index)].width = width
    try:
        sheet.append(_cells(sheet, header, widths, bold=True))
        for row in rows:
            sheet.append(_cells(sheet, row, widths))
    finally:
        sheet.close()


def _cells(
    sheet: Any, values: Sequence[str | int | float | None], widths: Sequence[float], *, bold: bool = False
) -> Iterator[Any]:
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Alignment, Font

    for value, width in zip(values, widths, strict=True):
        if value is None or value == "":
            yield None
            continue
        cell: Any = WriteOnlyCell(sheet)
        cell.alignment = Alignment(wrap_text=width >= WIDE, vertical="top")
        cell.font = Font(bold=bold)
        if isinstance(value, str):
            cell.value = escaped(_UNSEEN.sub("\ufffd", value))[:LONGEST]
            cell.data_type, cell.number_format = "s", "@"  # text that begins with "=" stays text
        else:
            cell.value = value
            cell.number_format = "0.0" if isinstance(value, float) else "0"
        yield cell
