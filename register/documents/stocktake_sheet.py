"""The sheet to go through a place with: each place in the order of the walk, what should be there, and lines for what else
is. The same list as on the screen, in the same order, so that it is typed in without looking for anything."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from register.documents.labels import TaggedThing
from register.documents.pdf import Paper, Sheet
from register.documents.pdf_charts import Picture
from register.documents.pdf_tables import Cell, Column, Row, Small, table
from register.documents.qr import qr_code
from register.documents.walk_round import CAUTION, NO_CODES, PX, QR_MM, boxes, lines

COLUMNS = (Column("Tag", 25), Column("Part", 60), Column("Tick one", 30), Column("Write", 0))
TICKED = ("seen here", "not here", "not looked for")
WHAT_ELSE = ("Tag or part, and where", "Tag or part, and where")
"""Lines under each place for what nobody expected there."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """A place of the walk. things: what should be there, each with what it lies with ("" for nothing)."""

    name: str
    things: Sequence[tuple[TaggedThing, str]]


def stocktake_sheet(
    shelves: Sequence[Shelf], *, title: str, under: str, railway: str, printed: str, day: date
) -> bytes:
    """The sheet as PDF."""
    paper = Paper(Sheet(title, day, railway, "Stocktake sheet", "", (title, printed)))
    paper.add(*paper.heading(title, "section"))
    paper.add(*paper.words(under))
    paper.add(*paper.words(CAUTION, "note", lead="Before you touch anything."))
    if not any(thing.address for shelf in shelves for thing, _ in shelf.things):
        paper.add(*paper.words(NO_CODES, "note"))
    paper.add(Picture.of(lines(("Name and day",), 110), paper.tree), paper.space(6))
    for shelf in shelves:
        paper.add(*paper.heading(shelf.name, "subsection"))
        rows: list[Row] = [_row(thing, lies_with) for thing, lies_with in shelf.things]
        if rows:
            paper.add(*table(paper, COLUMNS, rows))
        else:
            paper.add(*paper.words("By the records nothing is here.", "note"))
        paper.add(*paper.words("What else is here?", "note"))
        paper.add(Picture.of(lines(WHAT_ELSE, 150), paper.tree), paper.space(6))
    return paper.finished()


def _row(thing: TaggedThing, lies_with: str) -> Row:
    code: Cell = Small(f"{thing.halves[0]}-{thing.halves[1]}")
    if thing.address:
        code = (qr_code(thing.address, QR_MM * PX, f"Code {thing.tag}"), code)
    words: tuple[Cell, ...] = (thing.name, Small(thing.code))
    if lies_with:
        words = (*words, Small(f"Lies with {lies_with}"))
    if thing.cautions:
        words = (*words, Small(f"Caution: {', '.join(thing.cautions)}"))
    return [code, words, boxes(TICKED), lines(("Is at", "Marks", "Note"), 54)]
