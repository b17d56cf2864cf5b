"""Sheets as SVG: no style attribute, no script, every string escaped, so that a strict content policy can
stand.

Colours are classes of ``tokens.css``; a stand-alone picture, which has no style sheet, holds the light ones
as attributes too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape

from register.documents.chart_models import Circle, Label, Line, Polygon, Rect, Shape, Sheet
from register.documents.palette import HATCHES, MARKS, TOKENS, Hatch, Size

SHARED = "h"
"""The prefix of the patterns that a page holds once, for all its charts."""

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]*")
_UNPRINTABLE = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def svg(
    sheet: Sheet,
    *,
    prefix: str,
    css_class: str = "chart",
    patterns: bool = False,
    stand_alone: bool = False,
    decorative: bool = False,
) -> str:
    """The sheet as an ``<svg>`` element whose ids begin with ``prefix``.

    patterns: with hatch patterns of its own, rather than those of ``shared_patterns`` on the page.
    stand_alone: a file by itself. decorative: hidden from those who cannot see it, where the words stand
    beside it. Sized in rem, so that it grows with the text. ValueError for a prefix that is not a plain name.
    """
    if not _NAME.fullmatch(prefix):
        raise ValueError(
            f"“{prefix}” cannot begin the ids of a picture: letters, digits, - and _, a letter first"
        )
    draw = _Draw(prefix if patterns or stand_alone else SHARED, stand_alone)
    head = [f'class="{text(css_class)}"', f'viewBox="0 0 {number(sheet.width)} {number(sheet.height)}"']
    head += [f'width="{number(sheet.width / 16, 4)}rem"', f'height="{number(sheet.height / 16, 4)}rem"']
    if stand_alone:
        head.insert(0, 'xmlns="http://www.w3.org/2000/svg"')
    words = ""
    if decorative:
        head += ['aria-hidden="true"', 'focusable="false"']
    else:
        head += ['role="img"', f'aria-labelledby="{prefix}-t{f" {prefix}-d" if sheet.description else ""}"']
        words = f'<title id="{prefix}-t">{text(sheet.title)}</title>'
        if sheet.description:
            words += f'<desc id="{prefix}-d">{text(sheet.description)}</desc>'
    own = _defs(draw.prefix, _hatches_of(sheet), "bar", draw) if patterns or stand_alone else ""
    return f"<svg {' '.join(head)}>{words}{own}{''.join(draw.shape(one) for one in sheet.shapes)}</svg>"


def shared_patterns() -> str:
    """The hatches of bars and drawings, once a page; ``url(#h-lines-hRS)`` and, for a drawing,
    ``url(#d-RS)``."""
    used = {(mark.hatch, f"h{mark.fill}") for mark in MARKS.values() if mark.hatch}
    draw = _Draw(SHARED, False)
    bars = _defs(SHARED, sorted(used), "bar", draw)
    tiles = "".join(_tile(mark.code, mark.fill, mark.hatch) for mark in MARKS.values() if mark.hatch)
    return (
        '<svg class="patterns" width="0" height="0" aria-hidden="true" focusable="false">'
        f"{bars}<defs>{tiles}</defs></svg>"
    )


def _hatches_of(sheet: Sheet) -> list[tuple[str, str]]:
    rects = [shape for shape in sheet.shapes if isinstance(shape, Rect) and shape.hatch]
    return sorted({(shape.hatch, shape.hatch_ink) for shape in rects})


def _defs(prefix: str, used: Iterable[tuple[str, str]], scale: str, draw: _Draw) -> str:
    patterns = "".join(
        _pattern(f"{prefix}-{kind}-{ink}", HATCHES[kind], scale, draw.paint("f", ink)) for kind, ink in used
    )
    return f"<defs>{patterns}</defs>" if patterns else ""


def _tile(code: str, fill: str, kind: str) -> str:
    """A pattern with its fill, for the regions of a drawing, which take one paint."""
    ground = f'class="f-f{fill}"'
    return _pattern(f"d-{code}", HATCHES[kind], "drawing", f'class="f-h{fill}"', ground)


def _pattern(name: str, hatch: Hatch, scale: str, ink: str, ground: str = "") -> str:
    size: Size = getattr(hatch, scale)
    pitch, weight = number(size.pitch), number(size.weight)
    high = size.pitch if hatch.angles else 2 * size.pitch
    turned = f' patternTransform="rotate({-hatch.angles[0]})"' if hatch.angles and hatch.angles[0] else ""
    drawn = ""
    if ground:  # over the edges of the tile, so that no seam shows where tiles meet
        drawn = f'<rect x="-1" y="-1" width="{number(size.pitch + 2)}" height="{number(high + 2)}" {ground}/>'
    if hatch.angles:
        drawn += f'<rect width="{pitch}" height="{weight}" {ink}/>'
    else:
        for across, down in ((1, 2), (3, 6)):
            at = f'cx="{number(across * size.pitch / 4)}" cy="{number(down * size.pitch / 4)}"'
            drawn += f'<circle {at} r="{weight}" {ink}/>'
    if len(hatch.angles) > 1:
        drawn += f'<rect width="{weight}" height="{pitch}" {ink}/>'
    return (
        f'<pattern id="{name}" width="{pitch}" height="{number(high)}" patternUnits="userSpaceOnUse"{turned}>'
        f"{drawn}</pattern>"
    )


class _Draw:
    """prefix: of the patterns. with_colours: colours as attributes beside the classes."""

    def __init__(self, prefix: str, with_colours: bool) -> None:
        self.prefix, self.with_colours = prefix, with_colours

    def paint(self, kind: str, token: str, *classes: str) -> str:
        """kind: f for fill, s for stroke."""
        names = " ".join([f"{kind}-{token}", *classes])
        colour = (
            f' {"fill" if kind == "f" else "stroke"}="{TOKENS[token].light}"' if self.with_colours else ""
        )
        return f'class="{names}"{colour}'

    def shape(self, shape: Shape) -> str:
        if isinstance(shape, Rect):
            return self.rect(shape)
        if isinstance(shape, Line):
            path = "L".join(f"{number(x)} {number(y)}" for x, y in shape.points)
            stroke = self.paint("s", shape.ink) + _stroke(shape.width, shape.dash)
            return f'<path d="M{path}" fill="none" {stroke}/>'
        if isinstance(shape, Polygon):
            points = " ".join(f"{number(x)},{number(y)}" for x, y in shape.points)
            return f'<polygon points="{points}" {self.paint("f", shape.fill)}/>'
        if isinstance(shape, Circle):
            return self.circle(shape)
        return self.label(shape)

    def rect(self, shape: Rect) -> str:
        place = f'x="{number(shape.x)}" y="{number(shape.y)}"'
        place += f' width="{number(shape.width)}" height="{number(shape.height)}"'
        classes = ["seg"] if shape.name and shape.name in MARKS else []
        if shape.edge:
            stroke = self.paint("s", shape.edge, *classes)
            return f'<rect {place} fill="none" {stroke}{_stroke(shape.edge_width, shape.dash)}/>'
        drawn = f"<rect {place} {self.paint('f', shape.fill, *classes)}/>"
        if shape.hatch:
            drawn += f'<rect {place} fill="url(#{self.prefix}-{shape.hatch}-{shape.hatch_ink})"/>'
        return drawn

    def circle(self, shape: Circle) -> str:
        place = f'cx="{number(shape.x)}" cy="{number(shape.y)}" r="{number(shape.radius)}"'
        colours = (
            f' fill="{TOKENS[shape.fill].light}" stroke="{TOKENS[shape.edge].light}"'
            if self.with_colours
            else ""
        )
        width = f' stroke-width="{number(shape.edge_width)}"'
        return f'<circle {place} class="f-{shape.fill} s-{shape.edge}"{colours}{width}/>'

    def label(self, shape: Label) -> str:
        anchor = "" if shape.anchor == "start" else f' text-anchor="{shape.anchor}"'
        weight = ' font-weight="600"' if shape.bold else ""
        family = ' font-family="system-ui, sans-serif"' if self.with_colours else ""
        place = f'x="{number(shape.x)}" y="{number(shape.y)}" font-size="{number(shape.size)}"'
        return f"<text {place}{weight}{family}{anchor} {self.paint('f', shape.ink)}>{text(shape.text)}</text>"


def _stroke(width: float, dash: tuple[float, ...]) -> str:
    thick = f' stroke-width="{number(width)}"' if width != 1 else ""
    return thick + (f' stroke-dasharray="{" ".join(number(one) for one in dash)}"' if dash else "")


def number(value: float, places: int = 2) -> str:
    """Without noughts that say nothing."""
    written = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if written in ("", "-0") else written


def text(words: str) -> str:
    """Escaped for an element or an attribute; characters that no XML may hold are replaced."""
    return escape(_UNPRINTABLE.sub("\ufffd", words))
