"""The mark of one status, and the key that explains the marks of a picture."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from register.documents.chart_models import DASHED, Label, Rect, Shape, Sheet, text_width
from register.documents.palette import Mark, mark_of

HEIGHT, STRIP, PADDING = 22, 11, 6
SIZE = 12
SWATCH = (28, 16)


def chip(status: str, *, doubtful: bool = False, disputed: str = "") -> Sheet:
    """A strip of hatch and the code. doubtful: with a query. disputed: the other status that is claimed, or
    "?" where it is not known which; two chips with a stroke between. KeyError for an unknown status."""
    mark = mark_of(status)
    shapes = list(_chip(mark, mark.code + ("?" if doubtful else ""), 0))
    x = _end(shapes)
    words = mark.words + (", doubtful" if doubtful else "")
    if disputed:
        shapes.append(Label(x + 3, 15.5, "/", SIZE, bold=True))
        x += 12
        if disputed == "?":
            shapes += [
                Rect(x + 0.5, 0.5, 21, HEIGHT - 1, edge="ink", edge_width=1),
                Label(x + 11, 15.5, "?", SIZE, bold=True, anchor="middle"),
            ]
        else:
            shapes += _chip(mark_of(disputed), mark_of(disputed).code, x)
        words += ", disputed"
    return Sheet(_end(shapes), HEIGHT, tuple(shapes), words)


def wear_chip() -> Sheet:
    """The mark of a wear part: a plain box, as its region in a drawing is plain."""
    wide = text_width("WEAR", SIZE, bold=True) + 2 * PADDING
    box = Rect(0.5, 0.5, wide, HEIGHT - 1, edge="ink", edge_width=1, name="WEAR")
    return Sheet(wide + 1, HEIGHT, (box, Label(PADDING, 15.5, "WEAR", SIZE, bold=True)), "Wear part")


def _end(shapes: Iterable[Shape]) -> float:
    return max(shape.right for shape in shapes if isinstance(shape, Rect))


def _chip(mark: Mark, text: str, x: float) -> Iterator[Shape]:
    wide = text_width(text, SIZE, bold=True) + 2 * PADDING
    if not mark.fill:
        yield Rect(x + 1, 1, wide + 2, HEIGHT - 2, edge="na", edge_width=2, dash=DASHED, name=mark.code)
        yield Label(x + PADDING + 2, 15.5, text, SIZE, bold=True)
        return
    yield Rect(x, 0, STRIP + wide, HEIGHT, fill=f"f{mark.fill}", name=mark.code)
    if mark.hatch:
        yield Rect(x, 0, STRIP, HEIGHT, f"f{mark.fill}", mark.hatch, f"h{mark.fill}")
    yield Label(x + STRIP + PADDING, 15.5, text, SIZE, bold=True, ink=f"l{mark.fill}")


def swatch(name: str, *, width: float = SWATCH[0], height: float = SWATCH[1]) -> Sheet:
    """A piece of a mark's fill and hatch, without lettering. KeyError for an unknown status, category or
    code."""
    mark = mark_of(name)
    if not mark.fill:
        shape = Rect(1, 1, width - 2, height - 2, edge="na", edge_width=2, dash=DASHED, name=mark.code)
    else:
        ink = f"h{mark.fill}" if mark.hatch else ""
        shape = Rect(0, 0, width, height, f"f{mark.fill}", mark.hatch, ink, name=mark.code)
    return Sheet(width, height, (shape,), mark.words)


def key(marks: Iterable[Mark], *, width: float = 720, plain: str = "") -> Sheet:
    """Swatch, code and words of each mark, in lines as wide as ``width``. plain: what an unmarked region
    means."""
    shapes: list[Shape] = []
    x, y = 0.0, 0.0
    entries = [(mark.code, mark.words) for mark in marks] + ([("", plain)] if plain else [])
    for code, words in entries:
        lead = text_width(code, SIZE, bold=True) + 5 if code else 0
        wide = SWATCH[0] + 6 + lead + text_width(words, SIZE)
        if x and x + wide > width:
            x, y = 0.0, y + 24
        shapes += _entry(code, words, x, y, lead)
        x += wide + 20
    return Sheet(width, y + SWATCH[1], tuple(shapes), "Key")


def _entry(code: str, words: str, x: float, y: float, lead: float) -> Iterator[Shape]:
    text = x + SWATCH[0] + 6
    if code:
        (piece,) = swatch(code).segments
        yield _moved(piece, x, y)
        yield Label(text, y + 12.5, code, SIZE, bold=True)
    else:
        yield Rect(x + 0.5, y + 0.5, SWATCH[0] - 1, SWATCH[1] - 1, edge="ink", edge_width=1)
    yield Label(text + lead, y + 12.5, words, SIZE)


def _moved(shape: Rect, x: float, y: float) -> Rect:
    return replace(shape, x=shape.x + x, y=shape.y + y)
