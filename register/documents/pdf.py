"""A paper in the making: A4, running head and foot with page x of y, headings in the outline, everything
tagged.

The same content gives the same bytes. Measures are those of a drawing sheet: ink on white, ruled lines,
no ground.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import partial
from io import BytesIO
from typing import Any

from reportlab import rl_config
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    LongTable,
    PageBreak,
    PageTemplate,
    Spacer,
)

from register.documents.escape import Markup, bold, drawn_line, joined, split_paragraphs
from register.documents.fonts import BOLD, REGULAR, fitted, printable, width_of
from register.documents.pdf_words import HEADINGS, Heading, Words, heading_of, paragraph
from register.documents.tagging import Element, TaggedCanvas

rl_config.useA85 = 0  # pages as bytes, a quarter shorter than as letters

LEFT, RIGHT, HEAD, FOOT = 20 * mm, 18.5 * mm, 21 * mm, 19 * mm
WIDTH = A4[0] - LEFT - RIGHT
HEIGHT = A4[1] - HEAD - FOOT
HEAVY, MEDIUM, THIN = 0.5 * mm, 0.25 * mm, 0.18 * mm

AFTER_A_HEADING = 72
"""Points that must be free below a heading for what comes next: a table's head and a row of a few lines,
or the first lines of a text."""

A_FEW_LINES = 60
"""Points of a text that is kept with the table it leads to."""


class _Rule(Flowable):  # type: ignore[misc]
    """A line across the page, decoration."""

    def __init__(self, weight: float, before: float, after: float) -> None:
        super().__init__()
        self.weight, self.spaceBefore, self.spaceAfter = weight, before, after
        self.width, self.height = WIDTH, weight

    def draw(self) -> None:
        self.canv.begin(None)
        self.canv.setLineWidth(self.weight)
        self.canv.line(0, self.weight / 2, self.width, self.weight / 2)
        self.canv.end()


@dataclass(frozen=True, slots=True)
class Sheet:
    """What stands on every page. status: "" for none, else printed in a box. day: dates the file."""

    title: str
    day: date
    railway: str
    head: str
    status: str
    foot: tuple[str, str]


class Paper:
    """Elements are numbered as they are asked for, so ask for them in reading order; ``add`` puts them
    down."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.tree = Element("Document")
        self.story: list[Flowable] = []
        self._headings, self._has_section = 0, False

    def add(self, *flowables: Flowable) -> None:
        self.story.extend(flowables)

    def words(self, words: str, style: str = "body", *, lead: str = "") -> list[Flowable]:
        """A text as it was typed, its paragraphs apart. lead: words in bold that the first of them
        begins with."""
        pieces: list[str] = [words] if isinstance(words, Markup) else split_paragraphs(words)
        if lead:
            pieces = [joined(bold(lead), " ", pieces[0] if pieces else ""), *pieces[1:]]
        return [paragraph(piece, style, self.tree.add("P")) for piece in pieces]

    def heading(self, words: str, style: str = "section") -> list[Flowable]:
        """A title, section or subsection."""
        kind = HEADINGS[style][0]
        self._has_section |= style == "section"
        if style == "subsection" and not self._has_section:
            kind = "H2"  # of the title page: no level is left out
        self._headings += 1
        return [heading_of(words, style, self.tree.add(kind), f"heading{self._headings}")]

    def items(self, texts: Iterable[str]) -> list[Flowable]:
        """A numbered list; every item may be of several paragraphs."""
        listed, made = self.tree.add("L"), []
        for number, words in enumerate(texts, 1):
            body = listed.add("LI").add("LBody")
            pieces = split_paragraphs(words) or [""]
            made += [paragraph(joined(bold(f"{number}"), "\u00a0\u00a0", pieces[0]), "body", body)]
            made += [paragraph(piece, "body", body) for piece in pieces[1:]]
        return made

    def rule(self, weight: float = MEDIUM, before: float = 6, after: float = 6) -> Flowable:
        return _Rule(weight, before, after)

    def space(self, height: float) -> Flowable:
        return Spacer(1, height)

    def new_page(self) -> Flowable:
        return PageBreak()

    def room(self, height: float) -> Flowable:
        """A new page unless so many points are free, for what is short and better in one piece."""
        return CondPageBreak(min(height, HEIGHT))

    def finished(self) -> bytes:
        """The paper as a file. It can be asked for once."""
        made = BytesIO()
        sheet = self.sheet
        document = BaseDocTemplate(
            made,
            pagesize=A4,
            lang="en-GB",
            invariant=1,
            displayDocTitle=True,
            title=printable(sheet.title),
            author=printable(sheet.railway),
            subject=printable(sheet.head),
            creator="fabric register",
            producer="fabric register",
            keywords="",
            pageTemplates=[PageTemplate("page", [Frame(LEFT, FOOT, WIDTH, HEIGHT, 0, 0, 0, 0, "text")])],
        )
        canvas = partial(_Canvas, tree=self.tree, furniture=partial(_furniture, sheet), day=sheet.day)
        document.build(_kept(self.story), canvasmaker=canvas)
        return made.getvalue()


class _Canvas(TaggedCanvas):
    def __init__(self, filename: Any, *, day: date, **details: Any) -> None:
        super().__init__(filename, **details)
        self.sections: dict[int, tuple[str, bool]] = {}
        self.last_sections: dict[int, str] = {}
        self.stamps: dict[tuple[Any, float], str] = {}
        self.setDateFormatter(lambda *_: f"D:{day:%Y%m%d}000000Z")


def _kept(story: list[Flowable]) -> list[Flowable]:
    """The story with a break before each run of headings that would else stand at the foot of a page
    alone."""
    kept: list[Flowable] = []
    for number, flowable in enumerate(story):
        is_first = isinstance(flowable, Heading) and not (number and isinstance(story[number - 1], Heading))
        if is_first:
            kept.append(CondPageBreak(_room_needed(story[number:])))
        kept.append(flowable)
    return kept


def _room_needed(story: list[Flowable]) -> float:
    """Of the headings that the story begins with and the beginning of what they stand over. A short text between a
    heading and a table goes with the table."""
    room = 0.0
    for number, flowable in enumerate(story):
        high = flowable.wrap(WIDTH, HEIGHT)[1] if isinstance(flowable, Words) else 0
        leads_to_table = high and isinstance(next(iter(story[number + 1 :]), None), LongTable)
        if not isinstance(flowable, Heading) and not (leads_to_table and high < A_FEW_LINES):
            whole = getattr(flowable, "unbreakable", 0)
            return float(min(room + max(whole, AFTER_A_HEADING), HEIGHT))
        room += high + flowable.getSpaceBefore() + flowable.getSpaceAfter()
    return room


def _furniture(sheet: Sheet, canvas: Any, number: int, total: int) -> None:
    """The running head, heavier on the first page, and the foot."""
    top, foot, right = A4[1] - 13.6 * mm, 11.4 * mm, A4[0] - RIGHT
    is_first = number == 1
    left = LEFT
    if sheet.status:
        left = _boxed(canvas, sheet.status, left, top) + 6
    if is_first:
        words, beside = drawn_line(sheet.railway).upper(), sheet.head
    else:
        words, beside = (
            drawn_line(sheet.head),
            _section_of(canvas, number),
        )
    room = WIDTH - (left - LEFT)
    beside = fitted(drawn_line(beside), 7.5, room * 0.5)
    canvas.setFont(BOLD if is_first else REGULAR, 7.5)
    canvas.drawString(left, top, fitted(words, 7.5, room - width_of(beside, 7.5) - 12, bold=is_first))
    canvas.setFont(REGULAR, 7.5)
    canvas.drawRightString(right, top, beside)
    canvas.setLineWidth(HEAVY if is_first else THIN)
    canvas.line(LEFT, top - 6, right, top - 6)
    canvas.setLineWidth(THIN)
    canvas.line(LEFT, foot + 11, right, foot + 11)
    middle = fitted(drawn_line(sheet.foot[1]), 7.5, WIDTH * 0.3)
    beside = WIDTH / 2 - width_of(middle, 7.5) / 2 - 12
    canvas.drawString(LEFT, foot, fitted(drawn_line(sheet.foot[0]), 7.5, min(beside, WIDTH * 0.4)))
    canvas.drawCentredString(LEFT + WIDTH / 2, foot, middle)
    canvas.drawRightString(right, foot, f"Page {number} of {total}")


def _section_of(canvas: Any, number: int) -> str:
    """The section that the page begins in, or with."""
    begun = [page for page in canvas.sections if page < number]
    words, is_at_top = canvas.sections.get(number, ("", False))
    if is_at_top or not begun:
        return str(words)
    return str(canvas.last_sections[max(begun)])


def _boxed(canvas: Any, words: str, left: float, base: float) -> float:
    """The words in a ruled box; its right end."""
    words = drawn_line(words)
    right = left + width_of(words, 7.5, bold=True) + 8
    canvas.setLineWidth(MEDIUM)
    canvas.rect(left, base - 3, right - left, 11)
    canvas.setFont(BOLD, 7.5)
    canvas.drawString(left + 4, base, words)
    return right
