"""Ruled tables and title blocks of a paper, tagged.

A table's head is repeated on every page and its rules are decoration. Rows are laid out in tables of two
hundred at most, so that the time taken grows as their number, and a row may be higher than a page.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, LongTable

from register.documents.chart_models import Sheet
from register.documents.fonts import REGULAR
from register.documents.pdf import HEIGHT, MEDIUM, THIN, WIDTH, Paper
from register.documents.pdf_charts import Mark, Picture, Stamp
from register.documents.pdf_words import paragraph, paragraphs
from register.documents.tagging import Element, TableTags

MOST_ROWS = 200
LEAST = 90
"""Points that a row higher than a page needs to begin in."""

GUTTER = 7
NOTHING = "–"


@dataclass(frozen=True, slots=True)
class Small:
    """Text in small letters, for what stands below the text of a cell."""

    words: str


Cell = str | Small | Sheet | Mark | tuple[Any, ...]
"""Text, a chart, a mark that stands for a word, or several of them one below another."""


class Column(NamedTuple):
    """width in mm. right: numbers."""

    head: str
    width: float
    right: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """A row that names what the rows below it belong to."""

    cells: Sequence[Cell]


@dataclass(frozen=True, slots=True)
class Total:
    """A row that sums up, ruled above and below."""

    cells: Sequence[Cell]


Row = Sequence[Cell] | Group | Total


class _Table(LongTable):  # type: ignore[misc]
    """Breaks between rows; within one only where it, under the head and the name of its group, is higher
    than a page."""

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        self.splitByRow, self.splitInRow = 1, 0
        pieces = super().split(available_width, available_height)
        if pieces or not self._is_higher_than_a_page():
            return list(pieces)
        if available_height < min(LEAST, HEIGHT - 1):
            return []
        self.splitByRow, self.splitInRow, self._nosplitCmds = 0, 1, []  # type: ignore[var-annotated]
        return list(super().split(available_width, available_height))

    def _is_higher_than_a_page(self) -> bool:
        first = int(self.repeatRows)
        is_tied = any(begin[1] == first for _, begin, _ in self._nosplitCmds)
        return bool(sum(self._rowHeights[: first + 1 + is_tied]) > HEIGHT)


def table(paper: Paper, columns: Sequence[Column], rows: Iterable[Row]) -> list[Flowable]:
    """A table of any length. The last column takes what the others leave of the page's width. Without a
    head the first cell of a row is its head. ValueError for a row with another number of cells."""
    columns = _filled(columns)
    whole = paper.tree.add("Table")
    heads: list[Element] = []
    if any(column.head for column in columns):
        row = whole.add("TR")
        heads = [row.add("TH", attributes="/O /Table /Scope /Column", once=True) for _ in columns]
    made: list[Flowable] = []
    for chunk in _chunks(rows):
        if made:
            made.append(CondPageBreak(40))
        made.append(_laid_out(whole, columns, heads, chunk))
    return made


def _filled(columns: Sequence[Column]) -> list[Column]:
    rest = WIDTH / mm - sum(column.width for column in columns[:-1])
    return [*columns[:-1], columns[-1]._replace(width=rest)]


def _chunks(rows: Iterable[Row]) -> Iterator[list[Row]]:
    """As many rows as a table may have, parted before a group if that leaves neither part short."""
    chunk: list[Row] = []
    for row in rows:
        is_full = len(chunk) >= MOST_ROWS or (isinstance(row, Group) and len(chunk) > MOST_ROWS / 2)
        if is_full:
            yield chunk
            chunk = []
        chunk.append(row)
    yield chunk


def _laid_out(whole: Element, columns: list[Column], heads: list[Element], rows: list[Row]) -> Flowable:
    styles = list(_PLAIN)
    data = []
    if heads:
        styles.append(("LINEBELOW", (0, 0), (-1, 0), MEDIUM, "black"))
        data.append(
            [
                [paragraph(column.head.upper(), "label right" if column.right else "label", element)]
                for column, element in zip(columns, heads, strict=True)
            ]
        )
    else:
        styles.append(("LINEABOVE", (0, 0), (-1, 0), THIN, "black"))
    for number, row in enumerate(rows, len(data)):
        data.append(_cells(whole.add("TR"), columns, row, has_head=bool(heads)))
        if isinstance(row, Group):
            styles.append(("LINEBELOW", (0, number), (-1, number), MEDIUM, "black"))
            styles.append(("TOPPADDING", (0, number), (-1, number), 5))
            if row is not rows[-1]:
                styles.append(("NOSPLIT", (0, number), (0, number + 1)))
        elif isinstance(row, Total):
            styles += [
                (line, (0, number), (-1, number), MEDIUM, "black") for line in ("LINEABOVE", "LINEBELOW")
            ]
            if row is not rows[0]:
                styles.append(("NOSPLIT", (0, number - 1), (0, number)))
    return _Table(
        data,
        colWidths=[column.width * mm for column in columns],
        style=styles,
        repeatRows=int(bool(heads)),
        hAlign="LEFT",
        renderCB=TableTags(),
        spaceAfter=6,
    )


_PLAIN: list[tuple[Any, ...]] = [
    ("FONT", (0, 0), (-1, -1), REGULAR, 8),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), GUTTER),
    ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ("LINEBELOW", (0, 0), (-1, -1), THIN, "black"),
]


def _cells(row_element: Element, columns: list[Column], row: Row, *, has_head: bool) -> list[list[Flowable]]:
    is_bold = isinstance(row, Group | Total)
    cells = row.cells if isinstance(row, Group | Total) else row
    if len(cells) != len(columns):
        raise ValueError(f"a row of {len(cells)} cells in a table of {len(columns)} columns")
    made = []
    for number, (column, cell) in enumerate(zip(columns, cells, strict=True)):
        style = ("cell bold" if is_bold else "cell") + (" right" if column.right else "")
        heads_row = (is_bold or not has_head) and not number
        element = (
            row_element.add("TH", attributes="/O /Table /Scope /Row") if heads_row else row_element.add("TD")
        )
        made.append(
            _content(cell, style, element, column.width * mm - (GUTTER if number < len(columns) - 1 else 0))
        )
    return made


def _content(cell: Cell, style: str, element: Element, room: float) -> list[Flowable]:
    if isinstance(cell, str):
        return paragraphs(cell, style, element)
    if isinstance(cell, Small):
        return paragraphs(cell.words, "label right" if style.endswith("right") else "label", element)
    if isinstance(cell, Mark):
        return [Stamp(cell.sheet, element.add("Span", spoken=cell.sheet.title), room=room)]
    if isinstance(cell, Sheet):
        return [Picture.of(cell, element, room=room)]
    return [flowable for part in cell for flowable in _content(part, style, element, room)]


def title_block(
    paper: Paper, rows: Sequence[Sequence[tuple[str, str]]], square: Picture | None = None
) -> list[Flowable]:
    """Ruled cells of a label over a value, each row as wide as the page; one table a row, for each may
    have its own number of cells. square: a picture in a cell of its own at the end of the last row, described
    by its title."""
    made: list[Flowable] = []
    for number, row in enumerate(rows, 1):
        cells = []
        for label, value in row:
            element = paper.tree.add("P")
            cells.append(
                ([paragraph(label.upper(), "label", element)] if label else [])
                + paragraphs(value or "not known", "cell", element)
            )
        if square is not None and number == len(rows):
            square.element = paper.tree.add("Figure", alternative=square.sheet.title)
            cells.append([square])
            made.append(_block([cells], last=square.width + 14))
        else:
            made.append(_block([cells]))
    return made


def _block(data: list[list[list[Flowable]]], last: float = 0) -> Flowable:
    """last: the width of the last cell, if it is not as wide as the others."""
    number = len(data[0])
    widths = [(WIDTH - last) / (number - 1)] * (number - 1) + [last] if last else [WIDTH / number] * number
    return _Table(
        data,
        colWidths=widths,
        hAlign="LEFT",
        renderCB=TableTags(),
        style=[
            ("FONT", (0, 0), (-1, -1), REGULAR, 8),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("GRID", (0, 0), (-1, -1), MEDIUM, "black"),
            ("LEFTPADDING", (0, 0), (-1, -1), 7),
            ("TOPPADDING", (0, 0), (-1, -1), 4),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
        ],
    )


GAP = 24


def side_by_side(columns: Sequence[Sequence[Flowable]], first: float = 0) -> Flowable:
    """Blocks beside one another, ``GAP`` apart, which say for themselves what they are. first: the width
    of the first of two without the gap, in points; else all are as wide as the others."""
    if first:
        widths = [first + GAP / 2, WIDTH - first - GAP / 2]
    else:
        widths = [WIDTH / len(columns)] * len(columns)
    made = _Table(
        [[list(column) for column in columns]],
        colWidths=widths,
        hAlign="LEFT",
        renderCB=TableTags(),
        style=[
            ("FONT", (0, 0), (-1, -1), REGULAR, 8),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("LEFTPADDING", (1, 0), (-1, -1), GAP / 2),
            ("RIGHTPADDING", (0, 0), (-2, -1), GAP / 2),
            ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 0),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
        ],
    )
    made.unbreakable = made.wrap(WIDTH, HEIGHT)[1]  # so that a heading over it is not left behind
    return made
