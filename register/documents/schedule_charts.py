"""The charts of a schedule: bounds and composition of one vehicle in each of its states, one below another.

A chart is taken into another paper by itself, so it holds its own question: by what, against what, as at when, how much
is assessed, how many parts have no weight.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

from register.documents.chart_models import Circle, Label, Line, Polygon, Rect, Shape, Sheet, text_width
from register.documents.chips import SWATCH, key, swatch
from register.documents.composition_bar import composition_bar
from register.documents.interval_bar import FORMS, interval_bar_of
from register.documents.palette import CATEGORIES
from register.documents.schedule import Entry, Schedule, State, headline

WIDTH = 776
"""Of a chart in a file, px; a page draws narrower ones too."""
TITLE, TEXT, SMALL = 16, 13, 12
KEY_IN_LINES = 340
"""Px below which the words of a key do not fit beside each other."""
GAP = 14
_BLANKS = re.compile(r"[ \t\r\n]+")
"""Where a line may break: not at a space that is there to hold words together."""


class _Stack:
    """Text and sheets one below another."""

    def __init__(self, width: float) -> None:
        self.width, self.y = width, 0.0
        self.shapes: list[Shape] = []

    def text(self, words: str, size: float = TEXT, *, bold: bool = False, ink: str = "ink") -> None:
        for line in wrapped(words, size, self.width, bold=bold):
            self.y += size * 1.4
            self.shapes.append(Label(0, self.y - size * 0.35, line, size, bold=bold, ink=ink))

    def sheet(self, sheet: Sheet) -> None:
        self.shapes += [moved(shape, 0, self.y) for shape in sheet.shapes]
        self.y += sheet.height

    def gap(self, height: float = GAP) -> None:
        self.y += height

    def made(self, title: str, description: str) -> Sheet:
        return Sheet(self.width, self.y + 4, tuple(self.shapes), title, description)


def bounds_chart(entry: Entry, schedule: Schedule, width: float = WIDTH) -> Sheet:
    """The bounds that stand first on the headline's basis, in every state."""

    def foot(stack: _Stack) -> None:
        stack.gap(8)
        stack.text(f"Measured against {entry.reference}. {_foot(schedule)}", SMALL, ink="ink2")
        stack.text(
            "Between the arrows: bounds, which hold whatever the parts not assessed turn out to be."
            f"{' Triangle: the best figure. Bar below it: its likely range.' if _has_best(entry, schedule) else ''}",
            SMALL,
            ink="ink2",
        )

    return _chart(entry, width, "retained original fabric, bounds", partial(_bounds, schedule=schedule), foot)


def _chart(
    entry: Entry, width: float, what: str, draw: Callable[[_Stack, State], str], foot: Callable[[_Stack], None]
) -> Sheet:
    """Every state below another, what is drawn of each being said in the description."""
    stack, title = _Stack(width), f"{entry.name}: {what}"
    stack.text(title, TITLE, bold=True)
    if entry.missing:
        stack.text(entry.missing)
        return stack.made(title, entry.missing)
    told = []
    for state in entry.told:
        stack.gap()
        told.append(draw(stack, state))
    foot(stack)
    return stack.made(title, " ".join(told))


def _bounds(stack: _Stack, state: State, schedule: Schedule) -> str:
    """Draws one state; what it says."""
    stack.text(state.label, TEXT, bold=True)
    if not state.views:
        stack.text(state.missing, TEXT)
        return f"{state.label}: {state.missing}"
    view = state.views[schedule.basis]
    of = "of the whole vehicle, " if view.whole_first else "of the weighted parts only, " if view.figures.unweighted else ""
    share = view.not_assessed if view.is_withheld else f"assessed {view.assessed}, {view.not_assessed}"
    stack.text(f"{of}{view.basis_words}; {share}; {view.unweighted} unweighted", SMALL)
    lead = headline(state, schedule.basis)
    if lead is None:
        stack.text(view.no_figure, TEXT)
        return f"{state.label}: {view.no_figure}"
    size = "large" if stack.width >= FORMS["large"].least else "mini"
    stack.sheet(interval_bar_of(lead, size=size, width=stack.width))
    if view.whole_first and view.own is not None:
        stack.text(f"Of the weighted parts only: {view.own.words}, best {view.own.best_words}.", SMALL)
    best = f", best {lead.best_words}" if lead.best is not None else ""
    return f"{state.label}: {lead.words}{best}."


def _has_best(entry: Entry, schedule: Schedule) -> bool:
    leads = [headline(state, schedule.basis) for state in entry.drawn]
    return any(lead is not None and lead.best is not None for lead in leads)


def composition_chart(entry: Entry, schedule: Schedule, width: float = WIDTH) -> Sheet:
    """What the vehicle is made of on the headline's basis, in every state."""

    def foot(stack: _Stack) -> None:
        stack.gap()
        if width < KEY_IN_LINES:
            _key_below(stack)
        else:
            stack.sheet(key(CATEGORIES.values(), width=width))
        stack.gap(6)
        stack.text(f"Measured against {entry.reference}; at best weights. {_foot(schedule)}", SMALL, ink="ink2")

    return _chart(entry, width, "what it is made of", partial(_composition, schedule=schedule), foot)


def _composition(stack: _Stack, state: State, schedule: Schedule) -> str:
    stack.text(state.label, TEXT, bold=True)
    if not state.views:
        stack.text(state.missing, TEXT)
        return f"{state.label}: {state.missing}"
    view = state.views[schedule.basis]
    only = ", of the weighted parts only" if view.figures.unweighted else ""
    stack.text(f"{view.basis_words}{only}; {view.unweighted} unweighted", SMALL)
    if not view.composition:
        why = view.no_figure or "Nothing has a weight."
        stack.text(why, TEXT)
        return f"{state.label}: {why}"
    stack.gap(4)
    sheet = composition_bar(view.shares, size="large", width=stack.width)
    stack.sheet(sheet)
    shares = ", ".join(f"{row.mark.code} {row.percent_text}" for row in view.composition)
    stack.text(f"{shares} per cent", SMALL)
    return f"{state.label}: {sheet.description}."


def _key_below(stack: _Stack) -> None:
    """The key with a line or two for each category, where there is no room for its words beside each other."""
    for category, mark in CATEGORIES.items():
        stack.shapes += [moved(shape, 0, stack.y) for shape in swatch(category).shapes]
        x = SWATCH[0] + 6
        for line in wrapped(f"{mark.code} {mark.words}", SMALL, stack.width - x):
            stack.shapes.append(Label(x, stack.y + 12.5, line, SMALL))
            stack.y += SWATCH[1] + 2
        stack.gap(4)


def _foot(schedule: Schedule) -> str:
    run = schedule.run
    return f"Method version {run.method_version}, change {run.change_no} of the register, run {run.minute}."


CHARTS = {"bounds": bounds_chart, "composition": composition_chart}
"""By the name in an address."""


def wrapped(words: str, size: float, room: float, *, bold: bool = False) -> Iterator[str]:
    """The text in lines that fit; a word that does not is broken. Widths of letters add up."""
    line, wide, space = "", 0.0, text_width(" ", size, bold=bold)
    for piece in (piece for word in _BLANKS.split(words.strip()) for piece in _pieces(word, size, room, bold=bold)):
        width = text_width(piece, size, bold=bold)
        if line and wide + space + width > room:
            yield line
            line, wide = "", 0.0
        line, wide = (f"{line} {piece}", wide + space + width) if line else (piece, width)
    if line:
        yield line


def _pieces(word: str, size: float, room: float, *, bold: bool) -> Iterator[str]:
    piece, wide = "", 0.0
    for letter in word:
        width = text_width(letter, size, bold=bold)
        if piece and wide + width > room:
            yield piece
            piece, wide = "", 0.0
        piece, wide = piece + letter, wide + width
    yield piece


def moved(shape: Shape, x: float, y: float) -> Shape:
    """The shape so far to the right and down."""
    if isinstance(shape, Line | Polygon):
        return replace(shape, points=tuple((one + x, other + y) for one, other in shape.points))
    if isinstance(shape, Rect | Circle | Label):
        return replace(shape, x=shape.x + x, y=shape.y + y)
    raise TypeError(f"no shape: {shape!r}")
