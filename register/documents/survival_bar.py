"""What became of the vehicle as it was: one bar of seven lots that add up to the whole.

Colour means status and nothing else, so this bar is of ink and paper: dark is what survives, light what does not, the
dashed outline what nobody has assessed; hatch and code tell them apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction

from register.documents.call_outs import call_outs
from register.documents.chart_models import DASHED, Label, Rect, Shape, Sheet, text_width
from register.documents.composition_bar import SPACE, UNDER, segment_widths
from register.documents.figure_words import NBSP, figure
from register.documents.palette import LOTS, Lot

HEIGHT, PLATE, PADDING = 48, 20, 6


def survival_bar(shares: Mapping[str, Fraction | None], *, width: float, title: str = "") -> Sheet:
    """``shares``: percentages by the words of ``register.fabric.survival.SHARES``. KeyError for another word."""
    there = [(LOTS[share], float(value)) for share, value in shares.items() if value]
    widths = segment_widths([amount for _, amount in there], width - SPACE * (len(there) - 1))
    placed, x = [], 0.0
    for (lot, amount), wide in zip(there, widths, strict=True):
        placed.append((lot, amount, x, wide))
        x += wide + SPACE
    small = [one for one in placed if one[1] < UNDER]
    shapes, above = call_outs(
        [(x + wide / 2, (f"{lot.code} {figure(amount)}{NBSP}%", lot.code)) for lot, amount, x, wide in small],
        width,
    )
    drawn: list[Shape] = list(shapes)
    for lot, amount, x, wide in placed:
        drawn += _segment(lot, x, above, wide)
        if (lot, amount, x, wide) not in small:
            drawn += _label(lot, amount, x, above, wide)
    words = ", ".join(f"{lot.words} {figure(amount)}{NBSP}%" for lot, amount, _, _ in placed)
    return Sheet(width, above + HEIGHT, tuple(drawn), title or "What became of it", words)


def lot_swatch(share: str) -> Sheet:
    """A piece of the fill and hatch of a lot, for a key or a table."""
    return Sheet(28, 16, tuple(_segment(LOTS[share], 0, 0, 28, 16)), LOTS[share].words)


def _segment(lot: Lot, x: float, top: float, wide: float, high: float = HEIGHT) -> Iterator[Shape]:
    if not lot.fill:
        yield Rect(x + 1, top + 1, wide - 2, high - 2, edge="na", edge_width=2, dash=DASHED, name=lot.code)
        return
    other = "paper" if lot.fill == "ink" else "ink"
    yield Rect(x, top, wide, high, lot.fill, lot.hatch, other if lot.hatch else "", name=lot.code)
    if lot.fill == "paper":
        yield Rect(x + 0.5, top + 0.5, wide - 1, high - 1, edge="ink", edge_width=1)


def _label(lot: Lot, amount: float, x: float, top: float, wide: float) -> Iterator[Shape]:
    """Code and figure if they fit, else the code, else nothing; on hatch they stand on a plate of plain fill."""
    for text in (f"{lot.code} {figure(amount)}", lot.code):
        plate = text_width(text, 13, bold=True) + 2 * PADDING
        if plate + (8 if lot.hatch else 0) > wide:
            continue
        left, middle = x + min(8, (wide - plate) / 2), top + HEIGHT / 2
        if lot.hatch:
            yield Rect(left, middle - PLATE / 2, plate, PLATE, fill=lot.fill)
        ink = "paper" if lot.fill == "ink" else "ink"
        yield Label(left + PADDING, middle + 13 * 0.36, text, 13, bold=True, ink=ink)
        return
