"""The charts of ``chart_models`` on paper: the same shapes in the print colours, hatched in millimetres.

A pixel of a sheet is 0.625 points here, so that its smallest letters are 7.5 points high. Hatches keep
their pitch in millimetres whatever the scale, and are black or white lines that a plain black printer
shows too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, hypot, radians, sin
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from register.documents.chart_models import Circle, Label, Line, Polygon, Rect, Shape, Sheet
from register.documents.escape import drawn_line
from register.documents.fonts import BOLD, REGULAR
from register.documents.palette import HATCHES, TOKENS
from register.documents.tagging import Element

SCALE = 0.625
"""Points a pixel."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A small picture in a text that stands for its title, such as a chip."""

    sheet: Sheet


def tight(chip: Sheet, height: float = 16) -> Sheet:
    """A chip lower than on a screen, where no finger has to touch it."""
    cut = (chip.height - height) / 2
    shapes = tuple(
        replace(shape, height=shape.height - 2 * cut)
        if isinstance(shape, Rect)
        else replace(shape, y=shape.y - cut)
        if isinstance(shape, Label)
        else shape
        for shape in chip.shapes
    )
    return replace(chip, height=height, shapes=shapes)


class Picture(Flowable):  # type: ignore[misc]
    """A sheet, a piece of ``element``; made smaller where it is wider than ``room`` points."""

    def __init__(
        self, sheet: Sheet, element: Element | None, *, room: float = 0, scale: float = SCALE
    ) -> None:
        super().__init__()
        self.sheet, self.element = sheet, element
        self.scale = min(scale, room / sheet.width) if room else scale
        self.width, self.height = sheet.width * self.scale, sheet.height * self.scale
        self.unbreakable = self.height

    @classmethod
    def of(cls, sheet: Sheet, parent: Element, *, room: float = 0) -> Picture:
        """A figure of its own, described by the words of the sheet."""
        words = f"{sheet.title}. {sheet.description}".strip()
        made = cls(sheet, None, room=room)
        box = f"/O /Layout /Placement /Block /Width {made.width:.2f} /Height {made.height:.2f}"
        made.element = parent.add("Figure", alternative=words, attributes=box)
        return made

    def draw(self) -> None:
        self.canv.begin(self.element)
        _drawn(self.canv, self.sheet, self.scale)
        self.canv.end()


class Stamp(Picture):
    """A picture among words, which a paper holds once, however often it is printed."""

    spaceAfter = 1.5

    def draw(self) -> None:
        stamps = self.canv.stamps
        name = stamps.get((self.sheet, self.scale))
        if name is None:
            name = stamps[self.sheet, self.scale] = f"stamp{len(stamps)}"
            self.canv.beginForm(name, 0, 0, self.width, self.height)
            _drawn(self.canv, self.sheet, self.scale)
            self.canv.endForm()
        self.canv.begin(self.element)
        self.canv.doForm(name)
        self.canv.end()


def _drawn(canvas: Any, sheet: Sheet, scale: float) -> None:
    pen = _Pen(canvas, scale, sheet.height * scale)
    for shape in sheet.shapes:
        pen.draw(shape)


class _Pen:
    """Draws shapes whose y goes downwards from the top of a picture."""

    def __init__(self, canvas: Any, scale: float, height: float) -> None:
        self.canvas, self.scale, self.height = canvas, scale, height

    def at(self, x: float, y: float) -> tuple[float, float]:
        return x * self.scale, self.height - y * self.scale

    def draw(self, shape: Shape) -> None:
        self.canvas.saveState()
        if isinstance(shape, Rect):
            self.rect(shape)
        elif isinstance(shape, Line):
            self.stroke(shape.ink, shape.width, shape.dash)
            self.path(shape.points, closed=False)
        elif isinstance(shape, Polygon):
            self.canvas.setFillColor(_colour(shape.fill))
            self.path(shape.points, closed=True)
        elif isinstance(shape, Circle):
            self.circle(shape)
        else:
            self.label(shape)
        self.canvas.restoreState()

    def stroke(self, ink: str, width: float, dash: tuple[float, ...]) -> None:
        self.canvas.setStrokeColor(_colour(ink))
        self.canvas.setLineWidth(width * self.scale)
        if dash:
            self.canvas.setDash([length * self.scale for length in dash])

    def path(self, points: tuple[tuple[float, float], ...], *, closed: bool) -> None:
        path = self.canvas.beginPath()
        path.moveTo(*self.at(*points[0]))
        for point in points[1:]:
            path.lineTo(*self.at(*point))
        self.canvas.drawPath(path, stroke=int(not closed), fill=int(closed))

    def rect(self, shape: Rect) -> None:
        left, bottom = self.at(shape.x, shape.y + shape.height)
        box = left, bottom, shape.width * self.scale, shape.height * self.scale
        if shape.fill:
            self.canvas.setFillColor(_colour(shape.fill))
            self.canvas.rect(*box, stroke=0, fill=1)
        if shape.hatch:
            hatched(self.canvas, shape.hatch, shape.hatch_ink, box)
        if shape.edge:
            self.stroke(shape.edge, shape.edge_width, shape.dash)
            self.canvas.rect(*box, stroke=1, fill=0)

    def circle(self, shape: Circle) -> None:
        self.canvas.setFillColor(_colour(shape.fill))
        self.stroke(shape.edge, shape.edge_width, ())
        self.canvas.circle(*self.at(shape.x, shape.y), shape.radius * self.scale, stroke=1, fill=1)

    def label(self, shape: Label) -> None:
        size = shape.size * self.scale
        self.canvas.setFillColor(_colour(shape.ink))
        self.canvas.setFont(BOLD if shape.bold else REGULAR, size)
        draw = {
            "start": self.canvas.drawString,
            "middle": self.canvas.drawCentredString,
            "end": self.canvas.drawRightString,
        }[shape.anchor]
        draw(*self.at(shape.x, shape.y), drawn_line(shape.text))


def _colour(token: str) -> HexColor:
    return HexColor(TOKENS[token].print)


def hatched(canvas: Any, kind: str, ink: str, box: tuple[float, float, float, float]) -> None:
    """Lines or dots over a box, cut off at its edges."""
    hatch, (left, bottom, width, height) = HATCHES[kind], box
    weight, pitch = hatch.print.weight * mm, hatch.print.pitch * mm
    canvas.saveState()
    path = canvas.beginPath()
    path.rect(*box)
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.setStrokeColor(_colour(ink))
    if hatch.angles:
        canvas.setLineWidth(weight)
        for angle in hatch.angles:
            _lines(canvas, angle, pitch, box)
    else:
        canvas.setLineWidth(2 * weight)
        canvas.setLineCap(1)
        for row in range(int(height / pitch) + 2):
            shift = pitch / 2 if row % 2 else 0
            canvas.setDash([0, pitch], 0)  # with round ends a dash of no length is a dot
            y = bottom + height - (row + 0.5) * pitch
            canvas.line(left - shift + pitch / 2, y, left + width + pitch, y)
    canvas.restoreState()


def _lines(canvas: Any, angle: int, pitch: float, box: tuple[float, float, float, float]) -> None:
    """Parallel lines over the whole of a box, counted from its middle."""
    left, bottom, width, height = box
    x, y, reach = left + width / 2, bottom + height / 2, hypot(width, height) / 2
    along, across = (cos(radians(angle)), sin(radians(angle))), (-sin(radians(angle)), cos(radians(angle)))
    count = int(reach / pitch) + 1
    for number in range(-count, count + 1):
        middle = x + across[0] * number * pitch, y + across[1] * number * pitch
        canvas.line(
            middle[0] - along[0] * reach,
            middle[1] - along[1] * reach,
            middle[0] + along[0] * reach,
            middle[1] + along[1] * reach,
        )
