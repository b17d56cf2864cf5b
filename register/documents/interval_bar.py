"""Bounds as a dimension line over a rule from 0 to 100 per cent, with the best figure as a triangle between
them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from register.documents.chart_models import Anchor, Label, Line, Polygon, Rect, Shape, Sheet, text_width
from register.documents.figure_parts import BoundsView
from register.fabric.rounding import Number

NARROW = 26
"""Bounds closer than this, in px, are dimensioned from outside, the arrows pointing in."""

TAIL = 16
GAP = 7
LIKELY = 4


@dataclass(frozen=True, slots=True)
class Form:
    """How a bar is laid out: px from the top to the end of the extension lines, the dimension line, the rule
    and the baseline of the axis (0: no axis); margins left and right of the rule.

    figures: size of the figures at the ends, 0: none. arrow, triangle: length and half width. ticks: (every
    so many per cent, length) in turn. least: the width under which the figures may have room nowhere.
    """

    width: float
    least: float
    height: float
    top: float
    dimension: float
    rule: float
    axis: float
    left: float
    right: float
    figures: float
    arrow: tuple[float, float]
    triangle: tuple[float, float]
    ticks: tuple[tuple[int, float], ...]
    has_likely: bool


FORMS = {
    "large": Form(
        776, 260, 88, 9, 19, 53, 77, 14, 24, 14, (9, 3), (11, 6.5), ((5, 4), (10, 7), (50, 10)), True
    ),
    "row": Form(244, 224, 54, 6, 15, 40, 0, 14, 14, 12, (8, 2.6), (9, 5), ((50, 7),), False),
    "mini": Form(132, 60, 30, 3, 9, 20, 0, 14, 14, 0, (7, 2.2), (8, 4.5), ((50, 6),), False),
}


def interval_bar(
    low: Number,
    high: Number,
    best: Number | None = None,
    likely: tuple[float, float] | None = None,
    *,
    size: str = "row",
    width: float | None = None,
    texts: tuple[str, str] = ("", ""),
    title: str = "",
    description: str = "",
) -> Sheet:
    """0 ≤ low ≤ best ≤ high ≤ 100; ``best`` None is drawn without a triangle. ``texts``: the bounds as
    printed.

    ValueError where they are out of order, or for a bar too narrow for its figures. KeyError for an unknown
    size.
    """
    if not 0 <= low <= (low if best is None else best) <= high <= 100:
        raise ValueError(f"low {low}, best {best} and high {high} are not in order within 0 and 100")
    bar = _Bar(FORMS[size], width or FORMS[size].width)
    if bar.width < bar.form.least:
        raise ValueError(
            f"a bar of the size {size} is at least {bar.form.least:g} px wide, and {width} were given"
        )
    shapes: list[Shape] = [*bar.inside(low, high), *bar.scale()]
    if likely is not None and bar.form.has_likely:
        shapes += bar.likely(*likely)
    shapes += bar.dimension(low, high, texts)
    if best is not None:
        shapes.append(bar.triangle(best))
    return Sheet(bar.width, bar.form.height, tuple(shapes), title, description)


def interval_bar_of(bounds: BoundsView, *, size: str = "row", width: float | None = None) -> Sheet:
    """The bar of bounds that are to be shown."""
    return interval_bar(
        bounds.low,
        bounds.high,
        bounds.best,
        bounds.likely,
        size=size,
        width=width,
        texts=(bounds.low_text, bounds.high_text),
        title=bounds.title,
        description=bounds.description,
    )


def interval_scale(size: str = "row", width: float | None = None) -> Sheet:
    """The head of a column of bars: 0, 50 and 100 over the ticks of their rules."""
    bar = _Bar(FORMS[size], width or FORMS[size].width)
    labels = tuple(Label(bar.x(at), 13, str(at), 12, anchor="middle", ink="ink2") for at in (0, 50, 100))
    return Sheet(bar.width, 16, labels, "Scale from 0 to 100 per cent")


class _Bar:
    def __init__(self, form: Form, width: float) -> None:
        self.form, self.width = form, width
        self.length = width - form.left - form.right

    def x(self, percent: Number) -> float:
        """Half a pixel off a whole one, where a thin line is sharp."""
        return int(self.form.left + float(percent) / 100 * self.length) + 0.5

    def inside(self, low: Number, high: Number) -> Iterator[Shape]:
        form, left = self.form, self.x(low)
        if (wide := self.x(high) - left) > 0:
            yield Rect(left, form.dimension, wide, form.rule - form.dimension, fill="band")

    def scale(self) -> Iterator[Shape]:
        form, rule = self.form, self.form.rule + 0.5
        yield Line(((self.x(0), rule), (self.x(100), rule)))
        lengths = {at: length for every, length in form.ticks for at in range(0, 101, every)}
        for at, length in lengths.items():
            yield Line(((self.x(at), rule), (self.x(at), rule + length)))
        if form.axis:
            every = 10 if self.length >= 480 else 25
            for at in range(0, 101, every):
                text = "100\u00a0%" if at == 100 else str(at)
                yield Label(self.x(at), form.axis, text, 12, anchor="middle", ink="ink2")

    def likely(self, low: float, high: float) -> Iterator[Shape]:
        left, right = self.x(low), self.x(high)
        yield Rect(left, self.form.rule + 0.5, max(right - left, 2), LIKELY, fill="ink", name="likely")

    def triangle(self, best: Number) -> Polygon:
        """Standing on the rule, on its point."""
        (tall, half), at, rule = self.form.triangle, self.x(best), self.form.rule
        return Polygon(((at, rule), (at - half, rule - tall), (at + half, rule - tall)))

    def dimension(self, low: Number, high: Number, texts: tuple[str, str]) -> Iterator[Shape]:
        """Extension lines, arrows and figures."""
        form, left, right = self.form, self.x(low), self.x(high)
        for at in sorted({left, right}):
            yield Line(((at, form.top), (at, form.rule - 2)))
        is_narrow = right - left < NARROW
        labels = list(self.figures(left, right, texts, is_narrow)) if form.figures and all(texts) else []
        yield from self.narrow(left, right) if is_narrow else self.wide(left, right, labels)
        yield from labels

    def wide(self, left: float, right: float, labels: list[Label]) -> Iterator[Shape]:
        """Arrows from inside; the line is broken where the figures stand in it."""
        y = self.form.dimension + 0.5
        inner = [label for label in labels if left < label.left < right]
        ends = [left, *(end for label in inner for end in (label.left - 4, label.right + 4)), right]
        for start, end in zip(ends[::2], ends[1::2], strict=True):
            yield Line(((start, y), (end, y)))
        yield from (self.arrow(left, -1), self.arrow(right, 1))

    def narrow(self, left: float, right: float) -> Iterator[Shape]:
        y = self.form.dimension + 0.5
        yield Line(((max(left - TAIL, 0), y), (left, y)))
        yield Line(((right, y), (min(right + TAIL, self.width), y)))
        yield from (self.arrow(left, 1), self.arrow(right, -1))

    def arrow(self, tip: float, way: int) -> Polygon:
        """way: 1 pointing right, -1 pointing left"""
        (length, half), y = self.form.arrow, self.form.dimension + 0.5
        back = tip - way * length
        return Polygon(((tip, y), (back, y - half), (back, y + half)))

    def figures(self, left: float, right: float, texts: tuple[str, str], is_narrow: bool) -> Iterator[Label]:
        """Outside the ends; with no room at one of them both stand on the free side, or else in the line."""
        size = self.form.figures
        away = GAP + (TAIL if is_narrow else 0)
        low, high = (text_width(text, size, bold=True) for text in texts)
        both = " to ".join(texts)
        if left - away - low >= 0 and right + away + high <= self.width:
            yield self.figure(left - away, texts[0], "end")
            yield self.figure(right + away, texts[1], "start")
        elif right + away + text_width(both, size, bold=True) <= self.width:
            yield self.figure(right + away, both, "start")
        elif left - away - text_width(both, size, bold=True) >= 0:
            yield self.figure(left - away, both, "end")
        else:
            yield self.figure((left + right) / 2, both, "middle")

    def figure(self, x: float, text: str, anchor: Anchor) -> Label:
        size = self.form.figures
        return Label(x, self.form.dimension + size * 0.37, text, size, bold=True, anchor=anchor)
