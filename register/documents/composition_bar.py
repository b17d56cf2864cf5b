"""What a vehicle is made of, by category: one bar of hatched segments that add up to the whole."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from register.documents.call_outs import call_outs
from register.documents.chart_models import DASHED, Label, Rect, Shape, Sheet, text_width
from register.documents.figure_words import NBSP, figure
from register.documents.palette import CATEGORIES, Mark
from register.fabric.rounding import Number

SPACE = 2
"""Between segments, px."""

LEAST = 4
"""The narrowest segment, px: what is there is seen."""

UNDER = 2
"""A segment of less than so many per cent is called out above a large bar."""

PLATE, PADDING, MARGIN = 20, 6, 4
HEIGHTS = {"large": 48, "row": 30, "table": 20, "tree": 12}


@dataclass(frozen=True, slots=True)
class _Segment:
    mark: Mark
    percent: float
    x: float
    width: float

    @property
    def middle(self) -> float:
        return self.x + self.width / 2


def composition_bar(
    shares: Mapping[str, Number | None],
    *,
    size: str = "row",
    width: float = 280,
    decimals: int = 1,
    title: str = "",
) -> Sheet:
    """``shares``: any one unit, by category; what they add up to is the whole bar. Categories that are
    missing, None or 0 are not drawn. KeyError for an unknown size or category, ValueError for a negative
    share."""
    height = HEIGHTS[size]
    segments = _segments(shares, width)
    called = [one for one in segments if one.percent < UNDER] if size == "large" else []
    shapes, above = call_outs([(one.middle, _said(one, decimals)) for one in called], width)
    for segment in segments:
        shapes += _drawn(segment, above, height)
        if height >= HEIGHTS["row"] and segment not in called:
            shapes += _label(segment, above, height, decimals)
    words = ", ".join(f"{one.mark.words} {figure(one.percent, decimals)}{NBSP}%" for one in segments)
    return Sheet(
        width, above + height, tuple(shapes), title or "Composition", words or "Nothing has a weight."
    )


def _said(segment: _Segment, decimals: int) -> tuple[str, str]:
    """What may stand at the end of a leader."""
    return f"{segment.mark.code} {figure(segment.percent, decimals)}{NBSP}%", segment.mark.code


def _segments(shares: Mapping[str, Number | None], width: float) -> list[_Segment]:
    if unknown := set(shares) - set(CATEGORIES):
        raise KeyError(f"no category of the composition: {', '.join(sorted(unknown))}")
    amounts = [(mark, float(shares.get(category) or 0)) for category, mark in CATEGORIES.items()]
    if any(amount < 0 for _, amount in amounts):
        raise ValueError("a share is never negative")
    there = [(mark, amount) for mark, amount in amounts if amount > 0]
    whole = sum(amount for _, amount in there)
    widths = segment_widths([amount for _, amount in there], width - SPACE * (len(there) - 1))
    found, x = [], 0.0
    for (mark, amount), wide in zip(there, widths, strict=True):
        found.append(_Segment(mark, 100 * amount / whole, x, wide))
        x += wide + SPACE
    return found


def segment_widths(amounts: Sequence[float], room: float) -> list[float]:
    """Widths in proportion, none under ``LEAST``, adding up to ``room``: the wide ones give what the narrow
    take."""
    if room < LEAST * len(amounts):
        return [room / len(amounts) for _ in amounts]
    narrow: set[int] = set()
    while True:
        rest = sum(amount for number, amount in enumerate(amounts) if number not in narrow)
        scale = (room - LEAST * len(narrow)) / rest if rest else 0
        more = {
            number for number, amount in enumerate(amounts) if number not in narrow and amount * scale < LEAST
        }
        if not more:
            return [LEAST if number in narrow else amount * scale for number, amount in enumerate(amounts)]
        narrow |= more


def _drawn(segment: _Segment, top: float, height: float) -> Iterator[Shape]:
    mark, x, wide = segment.mark, segment.x, segment.width
    if not mark.fill:
        yield Rect(x + 1, top + 1, wide - 2, height - 2, edge="na", edge_width=2, dash=DASHED, name=mark.code)
        return
    hatch = mark.hatch if height >= HEIGHTS["tree"] else ""
    yield Rect(x, top, wide, height, f"f{mark.fill}", hatch, f"h{mark.fill}" if hatch else "", name=mark.code)


def _label(segment: _Segment, top: float, height: float, decimals: int) -> Iterator[Shape]:
    """Code and figure if they fit, else the code, else nothing; on hatch they stand on a plate of plain
    fill."""
    mark, size = segment.mark, 13 if height >= HEIGHTS["large"] else 12
    for text in (f"{mark.code} {figure(segment.percent, decimals)}", mark.code):
        plate = text_width(text, size, bold=True) + 2 * PADDING
        if plate + (2 * MARGIN if mark.hatch else 0) > segment.width:
            continue
        x = segment.x + min(8, (segment.width - plate) / 2)
        y = top + height / 2
        if mark.hatch:
            yield Rect(x, y - PLATE / 2, plate, PLATE, fill=f"f{mark.fill}")
        ink = f"l{mark.fill}" if mark.fill else "ink"
        yield Label(x + PADDING, y + size * 0.36, text, size, bold=True, ink=ink)
        return
