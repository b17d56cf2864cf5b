"""What a chart is drawn with: rectangles, lines, polygons, circles and labels, on a sheet of so many pixels.

A chart is worked out once, as a ``Sheet``, by ``interval_bar``, ``composition_bar``, ``chips`` and
``step_band``; ``svg`` and the PDF only draw it. Units are px with y downwards; a colour is the name of a
token and a hatch the name of one in ``palette``; a label stands on its baseline. The shapes are drawn in
their order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Anchor = Literal["start", "middle", "end"]

CHAIN = (13.0, 3.0, 3.0, 3.0)
DOTTED = (1.5, 3.0)
DASHED = (5.0, 3.0)


@dataclass(frozen=True, slots=True)
class Rect:
    """fill, edge: tokens, "" for none. hatch: drawn over the fill in ``hatch_ink``. name: what it stands for,
    "" for a part of the drawing."""

    x: float
    y: float
    width: float
    height: float
    fill: str = ""
    hatch: str = ""
    hatch_ink: str = ""
    edge: str = ""
    edge_width: float = 0
    dash: tuple[float, ...] = ()
    name: str = ""

    @property
    def right(self) -> float:
        return self.x + self.width


@dataclass(frozen=True, slots=True)
class Line:
    """Through two or more points."""

    points: tuple[tuple[float, float], ...]
    ink: str = "ink"
    width: float = 1
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Polygon:
    """Filled, without an edge."""

    points: tuple[tuple[float, float], ...]
    fill: str = "ink"


@dataclass(frozen=True, slots=True)
class Circle:
    x: float
    y: float
    radius: float
    fill: str = "paper"
    edge: str = "ink"
    edge_width: float = 1.25


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text on the baseline y. size in px; left and right are its ends, of a wide font."""

    x: float
    y: float
    text: str
    size: float = 12
    bold: bool = False
    anchor: Anchor = "start"
    ink: str = "ink"

    @property
    def width(self) -> float:
        return text_width(self.text, self.size, bold=self.bold)

    @property
    def left(self) -> float:
        return self.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width

    @property
    def right(self) -> float:
        return self.left + self.width


Shape = Rect | Line | Polygon | Circle | Label


@dataclass(frozen=True, slots=True)
class Sheet:
    """A drawn chart. title and description say in words what it shows."""

    width: float
    height: float
    shapes: tuple[Shape, ...]
    title: str
    description: str = ""

    @property
    def labels(self) -> tuple[Label, ...]:
        return tuple(shape for shape in self.shapes if isinstance(shape, Label))

    @property
    def segments(self) -> tuple[Rect, ...]:
        """The rectangles that stand for something."""
        return tuple(shape for shape in self.shapes if isinstance(shape, Rect) and shape.name)


_WIDTHS = {
    False: {
        ".": 318,
        ",": 318,
        " ": 318,
        "\u00a0": 318,
        "–": 500,
        "%": 951,
        "W": 989,
        "M": 863,
        "m": 974,
        "w": 818,
    },
    True: {
        ".": 380,
        ",": 380,
        " ": 349,
        "\u00a0": 349,
        "–": 500,
        "%": 1003,
        "W": 1104,
        "M": 996,
        "m": 1042,
        "w": 924,
    },
}
_ELSE = {False: (637, 788, 636), True: (696, 851, 717)}
"""Digits; the widest other capital; the widest other small letter or sign."""


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """The most that a line of text takes, in px.

    The font of a page is the reader's own, so the widths are those of a wide one (DejaVu Sans, thousandths of
    its size; the sign for widths that are not in the table is the widest of its kind): what fits here fits
    there.
    """
    digit, capital, other = _ELSE[bold]
    known = _WIDTHS[bold]
    total = 0
    for letter in text:
        total += known.get(letter) or (digit if letter.isdigit() else capital if letter.isupper() else other)
    return total * size / 1000
