"""Sheets to walk round a vehicle with, in the order of the screen, and tickets to tie to parts: the register off line.

A4, black alone: boxes to tick and lines to write on, 8 mm apart; a code in each row; heads repeated, no row split.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from register.documents.chart_models import Label, Line, Rect, Shape
from register.documents.chart_models import Sheet as Drawing
from register.documents.labels import TaggedThing
from register.documents.pdf import Paper, Sheet
from register.documents.pdf_charts import SCALE, Picture
from register.documents.pdf_tables import Cell, Column, Row, Small, side_by_side, table
from register.documents.qr import qr_code

PX = mm / SCALE
"""Pixels of a drawing to the millimetre on paper."""

WRITING = 8.0
"""Millimetres from one line to the next, for a carpenter's pencil in a gloved hand (common practice, no source)."""

CLEAR = 1.5
"""Millimetres below the last line, so that it is not taken for the rule under the row."""

QR_MM = 21.0
COLUMNS = (Column("Tag", 25), Column("Position and part", 48), Column("Tick one", 30), Column("Write", 0))
TICKED = ("seen, in place", "not there", "another part")

CAUTION = (
    "Lifting, opening, dismantling, scraping and weighing need the permission of the competent persons under your "
    "railway's rules. Do not go under a lifted or unscotched vehicle. Lagging, gaskets, brake blocks, old paint and old "
    "wiring may hold asbestos, lead or other poisons: leave them alone. Nothing on this sheet says that anything is safe or "
    "fit to run."
)
"""Usual cautions of the trade; common practice, no source."""

NO_CODES = (
    "No codes are printed, since the register has no public address yet (PUBLIC_BASE_URL). The tags are in letters."
)


@dataclass(frozen=True, slots=True)
class Stop:
    """A row of a sheet. thing: the part, or the position where no part is recorded. assembly: what it stands under."""

    thing: TaggedThing
    is_empty: bool = False
    assembly: str = ""


def walk_round(
    stops: Sequence[Stop], *, title: str, under: str, railway: str, printed: str, day: date
) -> bytes:
    """A sheet for every position, in the order given."""
    paper = Paper(Sheet(title, day, railway, "Walk-round sheet", "", (title, printed)))
    paper.add(*paper.heading(title, "section"))
    paper.add(*paper.words(under))
    paper.add(*paper.words(CAUTION, "note", lead="Before you touch anything."))
    if not any(stop.thing.address for stop in stops):
        paper.add(*paper.words(NO_CODES, "note"))
    paper.add(Picture.of(lines(("Name and day",), 110), paper.tree), paper.space(6))
    for heading, run in groupby(stops, key=lambda stop: stop.assembly):
        if heading:
            paper.add(*paper.heading(heading, "subsection"))
        rows: list[Row] = [_row(stop) for stop in run]
        paper.add(*table(paper, COLUMNS, rows))
    return paper.finished()


def _row(stop: Stop) -> Row:
    thing = stop.thing
    code: Cell = Small(f"{thing.halves[0]}-{thing.halves[1]}")
    if thing.address:
        code = (qr_code(thing.address, QR_MM * PX, f"Code {thing.tag}"), code)
    part = "No part recorded" if stop.is_empty else f"{thing.code} {thing.name}".strip()
    words: tuple[Cell, ...] = (thing.position or thing.name, Small(part))
    if thing.cautions:
        words = (*words, Small(f"Caution: {', '.join(thing.cautions)}"))
    return [code, words, boxes(TICKED), lines(("Marks", "Mass", "Found"), 66)]


def boxes(words: Sequence[str]) -> Drawing:
    """Boxes of 4 mm to tick, one below another, at the pitch of the writing lines."""
    shapes: list[Shape] = []
    for number, said in enumerate(words):
        y = number * WRITING * PX
        shapes.append(Rect(1, y + 2 * PX, 4 * PX, 4 * PX, edge="ink", edge_width=1.2))
        shapes.append(Label(6 * PX, y + 5.2 * PX, said, 12.5))
    return Drawing(29 * PX, len(words) * WRITING * PX, tuple(shapes), f"Boxes to tick: {', '.join(words)}")


def lines(words: Sequence[str], wide: float) -> Drawing:
    """Lines to write on, so many millimetres long, each with what belongs there."""
    shapes: list[Shape] = []
    for number, said in enumerate(words, 1):
        y = number * WRITING * PX - 1
        shapes.append(Line(((0, y), (wide * PX, y)), width=0.9))
        shapes.append(Label(0, y - 1.4 * PX, said, 11))
    high = len(words) * WRITING * PX + CLEAR * PX
    return Drawing(wide * PX, high, tuple(shapes), f"Lines to write on: {', '.join(words)}")


# --- tickets -----------------------------------------------------------------------------------------------------------

TICKET_LINES = ("Taken off on", "By", "Goes to", "Lies with", "Marks", "Note")


def tickets(things: Sequence[TaggedThing], *, title: str, railway: str, printed: str, day: date) -> bytes:
    """Tickets to tie to parts that are taken off, two beside one another; cut them apart."""
    paper = Paper(Sheet(title, day, railway, "Part tickets", "", (title, printed)))
    paper.add(*paper.heading(title, "section"))
    for start in range(0, len(things), 2):
        pair = [_ticket(paper, thing) for thing in things[start : start + 2]]
        if len(pair) == 1:
            pair.append([])
        paper.add(paper.rule(before=4, after=8), side_by_side(pair))
    return paper.finished()


def _ticket(paper: Paper, thing: TaggedThing) -> list[Flowable]:
    """One ticket: its tag, what it is and where it belongs, what may hurt, and lines to write on."""
    made = [*paper.words(f"{thing.halves[0]}-{thing.halves[1]}", "figure")]
    if thing.address:
        made.append(Picture.of(qr_code(thing.address, 26 * PX, f"Code {thing.tag}"), paper.tree))
    made += paper.words(thing.name, lead=thing.code)
    belongs = ", ".join(words for words in (thing.position, thing.vehicle) if words)
    made += paper.words(belongs or "No position recorded", "note", lead="Belongs in")
    if thing.cautions:
        made += paper.words(f"{', '.join(thing.cautions)}. Leave it to the competent persons.", "note", lead="Caution")
    made.append(Picture.of(lines(TICKET_LINES, 76), paper.tree))
    return made
