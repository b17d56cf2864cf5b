"""How the figures of a vehicle went since it was built: bounds as a band, the best figure as a heavy line, in
steps.

A step that is only ``recorded`` (something was found out, nothing happened) has dotted faces. Nothing is
smoothed and no slope is drawn: a record holds from its day until the next.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from register.documents.chart_models import CHAIN, DOTTED, Circle, Label, Line, Rect, Shape, Sheet

LEFT, RIGHT, BOTTOM = 40, 12, 26
BALLOON = 11
ROW = 2 * BALLOON + 4
YEARS = (1, 2, 5, 10, 20, 25, 50, 100)


class Step(NamedTuple):
    """From ``day`` (a day number) until the next. low, high: None where there are no bounds. best: None if
    none."""

    day: int
    low: Fraction | None
    high: Fraction | None
    best: Fraction | None
    recorded: bool = False


class Event(NamedTuple):
    """A numbered balloon, explained in a list beside the chart."""

    number: str
    day: int


def step_band(
    steps: Sequence[Step],
    until: int,
    events: Sequence[Event] = (),
    *,
    width: float = 704,
    height: float = 330,
    grid: int = 25,
    title: str = "",
) -> Sheet:
    """``steps`` oldest first, the last one ending on ``until``. ValueError without a step before
    ``until``."""
    if not steps or until <= steps[0].day:
        raise ValueError("a timeline needs a step, and an end after its beginning")
    rows = _rows(events, steps[0].day, until, width)
    top = ROW * (1 + max(rows, default=0)) + 8 if events else 12
    band = _Band(steps, until, width, height, top)
    shapes: list[Shape] = [*band.grid(grid)]
    for event, row in zip(events, rows, strict=True):  # under the band, so that a dotted face stays legible
        shapes += band.balloon(event, row, top)
    shapes += [*band.inside(), *band.edges(), *band.best(), *band.years()]
    return Sheet(width, height, tuple(shapes), title or "Since it was built", _described(steps))


def _described(steps: Sequence[Step]) -> str:
    words = []
    for step in (steps[0], steps[-1]):
        year = date.fromordinal(step.day).year
        if step.low is None or step.high is None:
            words.append(f"{year}: no bounds")
        else:
            words.append(f"{year}: bounds {float(step.low):.1f} to {float(step.high):.1f} per cent")
    return f"From {words[0]}; since {words[1]}. {len(steps)} steps."


def _at(day: int, start: int, until: int, width: float) -> float:
    return LEFT + (day - start) / (until - start) * (width - LEFT - RIGHT)


def _rows(events: Sequence[Event], start: int, until: int, width: float) -> list[int]:
    """The row of each balloon, 0 lowest, so that no two of a row touch."""
    ends: list[float] = []
    rows = [0] * len(events)
    for number, event in sorted(enumerate(events), key=lambda one: one[1].day):
        x = _at(event.day, start, until, width)
        row = next((row for row, end in enumerate(ends) if x - BALLOON >= end + 2), len(ends))
        ends[row : row + 1] = [x + BALLOON]
        rows[number] = row
    return rows


class _Band:
    def __init__(self, steps: Sequence[Step], until: int, width: float, height: float, top: float) -> None:
        self.steps, self.until, self.width, self.top = steps, until, width, top
        self.foot = height - BOTTOM
        self.start = steps[0].day
        self.ends = [step.day for step in steps[1:]] + [until]

    def x(self, day: int) -> float:
        return round(_at(day, self.start, self.until, self.width), 2)

    def y(self, percent: Fraction | float) -> float:
        return round(self.foot - float(percent) / 100 * (self.foot - self.top), 2)

    def grid(self, every: int) -> Iterator[Shape]:
        for percent in range(0, 101, every):
            y = int(self.y(percent)) + 0.5
            yield Line(((LEFT - 4, y), (self.width - RIGHT, y)), ink="ink" if percent == 0 else "rule")
            yield Label(LEFT - 10, y + 4, str(percent), 12, anchor="end", ink="ink2")

    def inside(self) -> Iterator[Shape]:
        for step, end in zip(self.steps, self.ends, strict=True):
            if step.low is not None and step.high is not None and end > step.day:
                left, high = self.x(step.day), self.y(step.high)
                yield Rect(
                    left, high, self.x(end) - left, self.y(step.low) - high, fill="band", name="bounds"
                )

    def edges(self) -> Iterator[Shape]:
        """The ends of the bounds, level and upright, the upright ones dotted where something was found
        out."""
        for step, end in zip(self.steps, self.ends, strict=True):
            for value in (step.low, step.high):
                if value is not None:
                    yield Line(((self.x(step.day), self.y(value)), (self.x(end), self.y(value))))
        for before, after in pairwise(self.steps):
            for was, now in ((before.low, after.low), (before.high, after.high)):
                yield from self.face(after, was, now, 1)
        first = self.steps[0]
        yield from self.face(first, first.low, first.high, 1)

    def best(self) -> Iterator[Shape]:
        for step, end in zip(self.steps, self.ends, strict=True):
            if step.best is not None:
                yield Line(
                    ((self.x(step.day), self.y(step.best)), (self.x(end), self.y(step.best))), width=2.4
                )
        for before, after in pairwise(self.steps):
            yield from self.face(after, before.best, after.best, 2.4)

    def face(self, step: Step, was: Fraction | None, now: Fraction | None, width: float) -> Iterator[Shape]:
        if was is not None and now is not None and was != now:
            x = self.x(step.day)
            yield Line(
                ((x, self.y(was)), (x, self.y(now))), width=width, dash=DOTTED if step.recorded else ()
            )

    def years(self) -> Iterator[Shape]:
        first, last = date.fromordinal(self.start).year, date.fromordinal(self.until).year
        room = (self.width - LEFT - RIGHT) / max(last - first, 1)
        every = next((one for one in YEARS if one * room >= 52), YEARS[-1])
        for year in range(first + -first % every, last + 1, every):
            day = date(year, 1, 1).toordinal()
            if self.start <= day <= self.until:
                x = self.x(day)
                yield Line(((x, self.foot), (x, self.foot + 5)))
                yield Label(x, self.foot + 20, str(year), 12, anchor="middle", ink="ink2")

    def balloon(self, event: Event, row: int, top: float) -> Iterator[Shape]:
        """On a chain line down to the rule."""
        x, y = self.x(event.day), top - 8 - BALLOON - row * ROW
        yield Line(((x, y + BALLOON), (x, self.foot)), ink="ink", width=0.75, dash=CHAIN)
        yield Circle(x, y, BALLOON)
        yield Label(x, y + 4.5, event.number, 12, bold=True, anchor="middle")
