"""The elevation of a vehicle on paper: regions filled and hatched by status, lines over them.

Widths of lines are those of a drawing sheet, in drawing units; the hatch keeps its pitch in millimetres,
whatever the scale, and is cut off at the edge of its region.
"""

from __future__ import annotations

from typing import Any

from reportlab.platypus import Flowable

from register.documents.elevation import Elevation, Lettering, Outline
from register.documents.escape import drawn_line
from register.documents.fonts import BOLD
from register.documents.palette import MARKS, TOKENS
from register.documents.pdf_charts import hatched
from register.documents.tagging import Element

LINES = {"m": 1.6, "s": 1.15, "t": 0.6, "p": 3.4, "pi": 2.0, "p2": 2.6, "pi2": 1.2}
"""Width of a line by its class."""

INSIDE = frozenset({"pi", "pi2"})
"""Lines in the colour of the paper: the inside of a pipe."""

SIZES = {"num": 34.0, "md": 24.0, "sm": 8.0}
REGION, LETTERS = 1.15, 12.6
FAINT = 1.6
"""Width of the dashed edge of a region that is not assessed."""


class ElevationPicture(Flowable):  # type: ignore[misc]
    """An elevation as large as fits, a piece of ``element``."""

    def __init__(self, elevation: Elevation, element: Element, *, room: float, height: float) -> None:
        super().__init__()
        self.elevation, self.element = elevation, element
        left, top, right, bottom = elevation.box()
        self.scale = min(room / max(right - left, 1), height / max(bottom - top, 1))
        self.origin = left, bottom
        self.indent = (room - (right - left) * self.scale) / 2
        self.width, self.height = room, (bottom - top) * self.scale + 4
        self.unbreakable = self.height

    @classmethod
    def of(cls, elevation: Elevation, parent: Element, *, room: float, height: float) -> ElevationPicture:
        made = cls(elevation, parent, room=room, height=height)
        box = f"/O /Layout /Placement /Block /Width {made.width:.2f} /Height {made.height:.2f}"
        made.element = parent.add("Figure", alternative=_described(elevation), attributes=box)
        return made

    def draw(self) -> None:
        canvas = self.canv
        canvas.begin(self.element)
        canvas.saveState()
        canvas.translate(self.indent, 2)
        for piece in self.elevation.pieces:
            canvas.saveState()
            if isinstance(piece, Outline):
                self._outline(canvas, piece)
            else:
                self._lettering(canvas, piece)
            canvas.restoreState()
        canvas.restoreState()
        canvas.end()

    def at(self, point: tuple[float, float]) -> tuple[float, float]:
        return (point[0] - self.origin[0]) * self.scale, (self.origin[1] - point[1]) * self.scale

    def _path(self, canvas: Any, outline: Outline) -> Any:
        path = canvas.beginPath()
        for step in outline.steps:
            points = [number for point in step.points for number in self.at(point)]
            {"M": path.moveTo, "L": path.lineTo, "C": path.curveTo, "Z": path.close}[step.kind](*points)
        return path

    def _outline(self, canvas: Any, outline: Outline) -> None:
        path = self._path(canvas, outline)
        canvas.setLineJoin(1)
        canvas.setLineCap(1)
        canvas.setStrokeColor(TOKENS["edge"].print)
        mode = 0 if outline.even_odd else 1
        if outline.group:
            self._region(canvas, outline, path, mode)
        elif "v" in outline.classes:
            canvas.setFillColor(TOKENS["edge"].print)
            canvas.drawPath(path, stroke=0, fill=1, fillMode=mode)
        elif "lp" in outline.classes:
            canvas.setLineWidth(LINES["t"] * self.scale)
            canvas.setFillColor(TOKENS["paper"].print)
            canvas.drawPath(path, stroke=1, fill=1, fillMode=mode)
        else:
            canvas.setLineWidth(_width(outline.classes) * self.scale)
            if outline.classes & INSIDE:
                canvas.setStrokeColor(TOKENS["paper"].print)
            canvas.drawPath(path, stroke=1, fill=0)

    def _region(self, canvas: Any, outline: Outline, path: Any, mode: int) -> None:
        mark = MARKS.get(outline.code)
        fill = mark.fill if mark else ""
        canvas.setFillColor(TOKENS[f"f{fill}" if fill else "paper"].print)
        canvas.setLineWidth(REGION * self.scale)
        canvas.drawPath(path, stroke=0, fill=1, fillMode=mode)
        if mark and mark.hatch:
            canvas.saveState()
            canvas.clipPath(self._path(canvas, outline), stroke=0, fill=0, fillMode=mode)
            hatched(canvas, mark.hatch, f"h{fill}", self._box(outline))
            canvas.restoreState()
        if mark and not fill:
            canvas.setStrokeColor(TOKENS["na"].print)
            canvas.setLineWidth(FAINT * self.scale)
            canvas.setLineCap(0)
            canvas.setDash([5 * self.scale, 3 * self.scale])
        canvas.drawPath(self._path(canvas, outline), stroke=1, fill=0)

    def _box(self, outline: Outline) -> tuple[float, float, float, float]:
        points = [self.at(point) for step in outline.steps for point in step.points]
        left, bottom = min(x for x, _ in points), min(y for _, y in points)
        return left, bottom, max(x for x, _ in points) - left, max(y for _, y in points) - bottom

    def _lettering(self, canvas: Any, piece: Lettering) -> None:
        size = next((SIZES[name] for name in SIZES if name in piece.classes), LETTERS) * self.scale
        canvas.setFillColor(TOKENS["edge"].print)
        canvas.setFont(BOLD, size)
        canvas.drawCentredString(*self.at((piece.x, piece.y)), drawn_line(piece.text))


def _width(classes: frozenset[str]) -> float:
    return next((LINES[name] for name in LINES if name in classes), LINES["t"])


def _described(elevation: Elevation) -> str:
    """The title, and how many regions have each status."""
    counts = ", ".join(f"{MARKS[code].words.lower()} {number}" for code, number in elevation.regions)
    told = f" Regions filled by status: {counts}." if counts else " No region is filled."
    return f"{elevation.title.rstrip('.') or 'Elevation'}.{told}"
