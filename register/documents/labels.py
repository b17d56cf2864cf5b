"""Labels with QR codes: 21 to an A4 sheet, 63.5 × 38.1 mm each (a common size of self-adhesive sheets; common practice,
no source). What is on them is for years: the tag, the name, the vehicle; never a status or an owner."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm

from register.documents.chart_models import Label, Line, Shape, Sheet
from register.documents.escape import drawn_line
from register.documents.fonts import REGULAR, fitted, printable, width_of
from register.documents.pdf_charts import Picture
from register.documents.qr import qr_shapes
from register.documents.tagging import Element, TaggedCanvas

WIDE, HIGH = 63.5 * mm, 38.1 * mm
ACROSS, DOWN = 3, 7
TO_A_SHEET = ACROSS * DOWN
GAP = 2.54 * mm
LEFT = (A4[0] - ACROSS * WIDE - (ACROSS - 1) * GAP) / 2
TOP = (A4[1] - DOWN * HIGH) / 2
QR_SIDE = 27 * mm
TEXT_AT = QR_SIDE + 3.5 * mm
ROOM = WIDE - TEXT_AT - 3 * mm


@dataclass(frozen=True, slots=True)
class TaggedThing:
    """What a label, a ticket or a row of a sheet is of. address: where its code leads, "" for none. cautions: what work
    on it can touch, and what it may hold."""

    tag: str
    address: str
    name: str
    code: str
    vehicle: str = ""
    position: str = ""
    cautions: tuple[str, ...] = ()

    @property
    def halves(self) -> tuple[str, str]:
        """The tag as it is read out: four letters and four."""
        return self.tag[:4], self.tag[4:]


def labels(
    things: Sequence[TaggedThing], *, title: str, railway: str, printed: str, day: date, skip: int = 0
) -> bytes:
    """A tagged PDF. skip: labels of the first sheet that are used up. The same content gives the same bytes."""
    made = BytesIO()
    tree = Element("Document")
    canvas = _LabelCanvas(
        made,
        tree=tree,
        furniture=partial(_furniture, title, printed, len(things)),
        pagesize=A4,
        lang="en-GB",
        invariant=1,
        day=day,
    )
    canvas.setTitle(printable(title))
    canvas.setAuthor(printable(railway))
    canvas.setSubject("Labels")
    canvas.setCreator("fabric register")
    canvas.setProducer("fabric register")
    at = skip
    for thing in things:
        if at and at % TO_A_SHEET == 0:
            canvas.showPage()
        row, column = divmod(at % TO_A_SHEET, ACROSS)
        picture = Picture(
            label(thing), tree.add("Figure", alternative=_spoken(thing), attributes=_BOX), scale=1
        )
        picture.drawOn(canvas, LEFT + column * (WIDE + GAP), A4[1] - TOP - (row + 1) * HIGH)
        at += 1
    canvas.showPage()
    canvas.save()
    return made.getvalue()


class _LabelCanvas(TaggedCanvas):
    def __init__(self, filename: Any, *, day: date, **details: Any) -> None:
        super().__init__(filename, **details)
        self.setDateFormatter(lambda *_: f"D:{day:%Y%m%d}000000Z")


_BOX = f"/O /Layout /Placement /Block /Width {WIDE:.2f} /Height {HIGH:.2f}"


def _spoken(thing: TaggedThing) -> str:
    where = f", {thing.vehicle}" if thing.vehicle else ""
    return f"Label {thing.tag}: {thing.name}{where}"


def label(thing: TaggedThing) -> Sheet:
    """One label in points: the code on the left, letters and words on the right, level with its middle."""
    lines = list(_lines(thing))
    height = sum(lead for *_, lead in lines)
    y = (HIGH - height) / 2
    shapes: list[Shape] = [*qr_shapes(thing.address, 1 * mm, (HIGH - QR_SIDE) / 2, QR_SIDE)]
    for words, size, is_bold, lead in lines:
        y += lead
        if words:
            shapes.append(Label(TEXT_AT, y - lead * 0.24, words, size, is_bold))
        else:
            shapes.append(Line(((TEXT_AT, y - lead / 2), (TEXT_AT + ROOM, y - lead / 2)), width=0.5))
    return Sheet(WIDE, HIGH, tuple(shapes), _spoken(thing))


def _lines(thing: TaggedThing) -> Iterator[tuple[str, float, bool, float]]:
    """(words, size, bold, leading); no words: a rule."""
    for half in thing.halves:
        yield half, 18, True, 20
    yield "", 0, False, 7
    for line in wrapped(thing.name, 8, ROOM, most=3, bold=True):
        yield line, 8, True, 10
    if thing.vehicle:
        yield fitted(drawn_line(thing.vehicle), 8, ROOM), 8, False, 10


def wrapped(words: str, size: float, room: float, *, most: int, bold: bool = False) -> list[str]:
    """At most so many lines of so much room, the last one cut where there is more."""
    left = printable(" ".join(words.split())).split(" ")
    lines: list[str] = []
    while left and len(lines) < most:
        if len(lines) == most - 1:
            lines.append(fitted(" ".join(left), size, room, bold=bold))
            break
        line = left.pop(0)
        while left and width_of(f"{line} {left[0]}", size, bold=bold) <= room:
            line = f"{line} {left.pop(0)}"
        lines.append(fitted(line, size, room, bold=bold))
    return lines


def _furniture(title: str, printed: str, count: int, canvas: Any, number: int, total: int) -> None:
    """Above and below the labels, with marks to cut by; nothing of it is on a label."""
    right = A4[0] - LEFT
    canvas.setFont(REGULAR, 7.5)
    how = f"{TO_A_SHEET} to a sheet, 63.5 × 38.1 mm. Print at 100 %."
    room = right - LEFT - width_of(how, 7.5) - 12
    canvas.drawString(LEFT, A4[1] - 8 * mm, fitted(drawn_line(f"{title}, {count} labels"), 7.5, room))
    canvas.drawRightString(right, A4[1] - 8 * mm, how)
    canvas.drawString(LEFT, 6 * mm, printed)
    canvas.drawRightString(right, 6 * mm, f"Page {number} of {total}")
    canvas.setLineWidth(0.18 * mm)
    for column in range(ACROSS):
        for x in (LEFT + column * (WIDE + GAP), LEFT + column * (WIDE + GAP) + WIDE):
            canvas.line(x, A4[1] - TOP + 1 * mm, x, A4[1] - TOP + 4 * mm)
            canvas.line(x, TOP - 1 * mm, x, TOP - 4 * mm)
    for row in range(DOWN + 1):
        y = A4[1] - TOP - row * HIGH
        canvas.line(1.5 * mm, y, LEFT - 1 * mm, y)
        canvas.line(right + 1 * mm, y, A4[0] - 1.5 * mm, y)
