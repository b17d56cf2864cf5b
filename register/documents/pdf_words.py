"""Paragraphs and headings of a paper in its styles.

ReportLab's ``Paragraph`` is made here and nowhere else: of plain text, which no parser sees, or of
``Markup``.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, Paragraph

from register.documents.escape import Markup, as_drawn, split_paragraphs
from register.documents.fonts import BOLD, REGULAR, printable
from register.documents.tagging import Element


def _style(
    name: str, size: float, leading: float, *, font: str = REGULAR, before: float = 0, after: float = 0
) -> ParagraphStyle:
    return ParagraphStyle(
        name,
        fontName=font,
        fontSize=size,
        leading=leading,
        spaceBefore=before,
        spaceAfter=after,
        allowWidows=0,
        allowOrphans=0,
        splitLongWords=1,
    )


STYLES = {
    "title": _style("title", 28, 33, font=BOLD),
    "section": _style("section", 16, 21, font=BOLD, before=16, after=6),
    "subsection": _style("subsection", 9.5, 13, font=BOLD, before=9, after=3),
    "figure": _style("figure", 20, 25, font=BOLD),
    "lead": _style("lead", 10.5, 15, after=4),
    "body": _style("body", 9, 13, after=4),
    "note": _style("note", 8, 11, after=3),
    "label": _style("label", 7.5, 10.5),
    "cell": _style("cell", 8, 11),
    "cell bold": _style("cell bold", 8, 11, font=BOLD),
}
for _name in ("label", "cell", "cell bold"):
    STYLES[f"{_name} right"] = ParagraphStyle(f"{_name} right", parent=STYLES[_name], alignment=2)

HEADINGS = {"title": ("H1", 0), "section": ("H2", 0), "subsection": ("H3", 1)}
"""Structure type and level in the outline."""

AT_TOP = 80
"""Points from the edge of the page within which the first line of its text lies."""


class Words(Paragraph):  # type: ignore[misc]
    """A paragraph that is a piece of ``element``."""

    element: Element | None = None
    is_turned = False
    wrapped_at: float | None = None

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """A table asks three times; the lines of a width are worked out once."""
        if self.wrapped_at != available_width or not hasattr(self, "blPara"):
            super().wrap(available_width, available_height)
            self.wrapped_at = available_width
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        pieces = super().split(available_width, available_height)
        for piece in pieces:
            piece.element = self.element
        return list(pieces)

    def draw(self) -> None:
        self.canv.begin(self.element)
        if not self.is_turned:  # a repeated head is drawn again
            self.is_turned = True
            for number, line in enumerate(self.blPara.lines):
                _turn(self.blPara.lines, number, line)
        super().draw()
        self.canv.end()


def _turn(lines: list[Any], number: int, line: Any) -> None:
    """A line of one style is (room left, its words), one of several a list of stretches."""
    if isinstance(line, tuple):
        drawn = as_drawn(" ".join(line[1]))
        lines[number] = (line[0], drawn.split(" "))
        return
    for stretch in line.words:
        if isinstance(getattr(stretch, "text", None), str):
            stretch.text = as_drawn(stretch.text)


class Heading(Words):
    """A paragraph that is an entry of the outline."""

    level = 0
    key = ""
    entry = ""

    def draw(self) -> None:
        if self.key:  # the second half of a heading that was split has none
            self.canv.bookmarkHorizontal(self.key, 0, self.height)
            self.canv.addOutlineEntry(self.entry, self.key, self.level)
        if self.key and self.level == 0:
            self._begins_a_section()
        super().draw()

    def _begins_a_section(self) -> None:
        """Notes the first section of the page, and whether the page begins with it, and the last."""
        page, canvas = self.canv.getPageNumber(), self.canv
        top = canvas.absolutePosition(0, self.height)[1]
        canvas.sections.setdefault(page, (self.entry, canvas._pagesize[1] - top < AT_TOP))
        canvas.last_sections[page] = self.entry

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        pieces = super().split(available_width, available_height)
        for piece in pieces[:1]:
            piece.level, piece.key, piece.entry = self.level, self.key, self.entry
        return pieces


def paragraph(words: str, style: str, element: Element | None) -> Flowable:
    """One paragraph, of plain text or of mark-up that ``escape`` made."""
    made = _made(Words, words, style)
    made.element = element
    return made


def _made(kind: type[Words], words: str, style: str) -> Any:
    """Plain text is put in as it is; ReportLab's parser sees mark-up alone."""
    if isinstance(words, Markup):
        return kind(words, STYLES[style])
    return kind(None, STYLES[style], frags=[_stretch(style).clone(text=printable(words))])


@cache
def _stretch(style: str) -> Any:
    """A stretch of text in the letters of a style, as the parser makes it."""
    (stretch,) = Words("x", STYLES[style]).frags
    return stretch


def paragraphs(words: str, style: str, element: Element | None) -> list[Flowable]:
    """One for each line of plain text, all of them pieces of one element; mark-up is one paragraph."""
    pieces: Sequence[str] = [words] if isinstance(words, Markup) else split_paragraphs(words)
    return [paragraph(piece, style, element) for piece in pieces]


def heading_of(words: str, style: str, element: Element, key: str) -> Heading:
    """A heading under its words in the outline. key: unique in the paper."""
    made: Heading = _made(Heading, words, style)
    made.element, made.level, made.key, made.entry = element, HEADINGS[style][1], key, printable(words)
    return made
