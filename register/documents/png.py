"""Sheets as PNG: the same shapes, letters and numbers as the SVG, drawn with Pillow for papers that take no SVG.

Drawn twice as large as wanted and made smaller, so that edges are smooth. The same sheet gives the same bytes.
"""

from __future__ import annotations

from functools import cache
from io import BytesIO
from itertools import pairwise
from math import cos, hypot, radians, sin

from PIL import Image, ImageDraw, ImageFont
from PIL.PngImagePlugin import PngInfo

from register.documents.chart_models import Circle, Label, Line, Polygon, Rect, Shape, Sheet
from register.documents.escape import drawn_line
from register.documents.fonts import BOLD, FOLDER, REGULAR
from register.documents.palette import HATCHES, TOKENS

TIMES = 3
"""Dots of the picture to a px of the sheet: 776 px are 2,328 dots, 300 to the inch on a page 197 mm wide."""
FINE = 2
MARGIN = 12
"""White around the sheet, px."""
DOTS_AN_INCH = 300

Point = tuple[float, float]


def png(sheet: Sheet, *, times: int = TIMES) -> bytes:
    """The sheet as a PNG file on white, its words in the file too."""
    scale = times * FINE
    size = tuple(int((side + 2 * MARGIN) * scale) for side in (sheet.width, sheet.height))
    image = Image.new("RGB", (size[0], size[1]), TOKENS["paper"].light)
    pen = _Pen(image, scale)
    for shape in sheet.shapes:
        pen.draw(shape)
    small = image.resize((size[0] // FINE, size[1] // FINE), Image.Resampling.BOX)
    words = PngInfo()
    words.add_itxt("Title", drawn_line(sheet.title))
    words.add_itxt("Description", drawn_line(sheet.description))
    made = BytesIO()
    small.save(made, "PNG", pnginfo=words, dpi=(DOTS_AN_INCH, DOTS_AN_INCH), optimize=True)
    return made.getvalue()


class _Pen:
    """Draws shapes on an image, so many dots to a px."""

    def __init__(self, image: Image.Image, scale: float) -> None:
        self.image, self.scale = image, scale
        self.canvas = ImageDraw.Draw(image)

    def at(self, x: float, y: float) -> Point:
        return (x + MARGIN) * self.scale, (y + MARGIN) * self.scale

    def draw(self, shape: Shape) -> None:
        if isinstance(shape, Rect):
            self.rect(shape)
        elif isinstance(shape, Line):
            self.stroke(list(shape.points), shape.ink, shape.width, shape.dash)
        elif isinstance(shape, Polygon):
            self.canvas.polygon([self.at(*point) for point in shape.points], fill=_colour(shape.fill))
        elif isinstance(shape, Circle):
            self.circle(shape)
        else:
            self.label(shape)

    def stroke(self, points: list[Point], ink: str, width: float, dash: tuple[float, ...]) -> None:
        for start, end in pairwise(points):
            for one, other in _dashes(start, end, dash):
                self.canvas.line([self.at(*one), self.at(*other)], _colour(ink), max(1, round(width * self.scale)))

    def rect(self, shape: Rect) -> None:
        (left, top), (right, bottom) = self.at(shape.x, shape.y), self.at(shape.right, shape.y + shape.height)
        box = round(left), round(top), round(right) - 1, round(bottom) - 1
        if box[2] < box[0] or box[3] < box[1]:
            return
        if shape.fill:
            self.canvas.rectangle(box, fill=_colour(shape.fill))
        if shape.hatch:
            self.image.paste(_colour(shape.hatch_ink), box[:2], _hatched(shape.hatch, box, self.scale))
        if shape.edge:
            x, y, right, bottom = shape.x, shape.y, shape.right, shape.y + shape.height
            corners = [(x, y), (right, y), (right, bottom), (x, bottom), (x, y)]
            self.stroke(corners, shape.edge, shape.edge_width, shape.dash)

    def circle(self, shape: Circle) -> None:
        x, y = self.at(shape.x, shape.y)
        reach = shape.radius * self.scale
        width = max(1, round(shape.edge_width * self.scale))
        self.canvas.ellipse(
            (x - reach, y - reach, x + reach, y + reach), _colour(shape.fill), _colour(shape.edge), width
        )

    def label(self, shape: Label) -> None:
        font = _font(BOLD if shape.bold else REGULAR, round(shape.size * self.scale))
        anchor = {"start": "ls", "middle": "ms", "end": "rs"}[shape.anchor]
        self.canvas.text(self.at(shape.x, shape.y), drawn_line(shape.text), _colour(shape.ink), font, anchor)


def _colour(token: str) -> str:
    return TOKENS[token].light


@cache
def _font(name: str, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(FOLDER / f"{name}.ttf"), size, layout_engine=ImageFont.Layout.BASIC)


def _dashes(start: Point, end: Point, dash: tuple[float, ...]) -> list[tuple[Point, Point]]:
    """The drawn pieces of a line; all of it where there is no dash."""
    length = hypot(end[0] - start[0], end[1] - start[1])
    if not dash or not length:
        return [(start, end)]
    along = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    pieces, at, number = [], 0.0, 0
    while at < length:
        until = min(at + dash[number % len(dash)], length)
        if number % 2 == 0:
            ends = [(start[0] + along[0] * far, start[1] + along[1] * far) for far in (at, until)]
            pieces.append((ends[0], ends[1]))
        at, number = until, number + 1
    return pieces


def _hatched(kind: str, box: tuple[int, int, int, int], scale: float) -> Image.Image:
    """A mask as large as the box: white where the hatch is."""
    hatch, width, height = HATCHES[kind], box[2] - box[0] + 1, box[3] - box[1] + 1
    mask = Image.new("L", (width, height), 0)
    canvas = ImageDraw.Draw(mask)
    weight, pitch = hatch.bar.weight * scale, hatch.bar.pitch * scale
    for angle in hatch.angles:
        _lines(canvas, angle, (weight, pitch), (width, height))
    if not hatch.angles:
        rows = int(height / pitch) + 2
        for row in range(rows):
            for column in range(int(width / pitch) + 2):
                x, y = (column + (0.5 if row % 2 else 0)) * pitch, (row + 0.5) * pitch
                canvas.ellipse((x - weight, y - weight, x + weight, y + weight), fill=255)
    return mask


def _lines(canvas: ImageDraw.ImageDraw, angle: int, measures: Point, size: tuple[int, int]) -> None:
    """Parallel lines rising to the right, counted from the middle."""
    (weight, pitch), (width, height) = measures, size
    along, across = (cos(radians(angle)), -sin(radians(angle))), (sin(radians(angle)), cos(radians(angle)))
    reach = hypot(width, height)
    for number in range(-int(reach / pitch) - 1, int(reach / pitch) + 2):
        x, y = width / 2 + across[0] * number * pitch, height / 2 + across[1] * number * pitch
        ends = [
            (round(x + way * along[0] * reach), round(y + way * along[1] * reach)) for way in (-1, 1)
        ]  # whole dots, or an upright line has a kink
        canvas.line(ends, 255, max(1, round(weight)))
