"""The elevation of a vehicle as lines and regions, each region with the code of what it is made of.

A service reads it out of the stored drawing; ``pdf_elevation`` draws it on paper. Units are those of the
drawing, y downwards. An outline is made of straight lines and Bézier curves alone: arcs of circles and
ellipses are turned into curves here (SVG 1.1, appendix F.6, from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, ceil, cos, hypot, pi, radians, sin, sqrt, tan

Point = tuple[float, float]

_TOKEN = re.compile(r"[A-Za-z]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "Q": 4, "A": 7, "Z": 0}


@dataclass(frozen=True, slots=True)
class Step:
    """kind: M to move, L a line, C a curve with two handles before its end, Z to close."""

    kind: str
    points: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Outline:
    """classes: of the line, as the drawing has them. code: of the status that fills the region, "" for a line
    or a plain region. group: the region it belongs to, "" for none."""

    steps: tuple[Step, ...]
    classes: frozenset[str]
    code: str = ""
    group: str = ""
    even_odd: bool = False


@dataclass(frozen=True, slots=True)
class Lettering:
    """A line of text on its baseline, in the middle of ``x``."""

    x: float
    y: float
    text: str
    classes: frozenset[str]


@dataclass(frozen=True, slots=True)
class Elevation:
    """title: what the drawing shows. regions: how many have each status code, in the palette's order."""

    title: str
    pieces: tuple[Outline | Lettering, ...]
    regions: tuple[tuple[str, int], ...] = ()

    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of all outlines; handles of curves count, as they lie close."""
        points = [
            point
            for one in self.pieces
            if isinstance(one, Outline)
            for step in one.steps
            for point in step.points
        ]
        if not points:
            return 0, 0, 1, 1
        across, down = [x for x, _ in points], [y for _, y in points]
        return min(across), min(down), max(across), max(down)


def steps_of(path: str) -> tuple[Step, ...]:
    """The steps of an SVG path. ValueError for a command that a drawing may not use."""
    return tuple(_steps(path))


def _steps(path: str) -> Iterator[Step]:
    here = start = (0.0, 0.0)
    for letter, numbers in _commands(path):
        kind = letter.upper()
        if kind == "A":
            end = _moved(numbers[5:], here, letter)
            yield from _arc(here, end, numbers)
        elif kind == "Z":
            yield Step("Z")
            end = start
        else:
            points = _points(kind, numbers, here, relative=letter.islower())
            end = points[-1]
            if kind == "Q":
                points = _raised(here, *points)
            yield Step({"M": "M", "C": "C", "Q": "C"}.get(kind, "L"), tuple(points))
        here = end
        if kind == "M":
            start = end


def _commands(path: str) -> Iterator[tuple[str, list[float]]]:
    """Each command with its numbers; those that follow without a letter repeat it."""
    letter = ""
    numbers: list[float] = []
    for token in _TOKEN.findall(path):
        if token.isalpha():
            letter, numbers = token, []
            if token.upper() not in _TAKES:
                raise ValueError(f"A drawing may not use the path command {token}.")
            if not _TAKES[token.upper()]:
                yield letter, []
            continue
        numbers.append(float(token))
        if letter and len(numbers) == _TAKES[letter.upper()]:
            yield letter, numbers
            letter, numbers = {"M": "L", "m": "l"}.get(letter, letter), []


def _moved(numbers: Iterable[float], here: Point, letter: str) -> Point:
    x, y = numbers
    return (here[0] + x, here[1] + y) if letter.islower() else (x, y)


def _points(kind: str, numbers: list[float], here: Point, *, relative: bool) -> list[Point]:
    x, y = here if relative else (0.0, 0.0)
    if kind == "H":
        return [(x + numbers[0], here[1])]
    if kind == "V":
        return [(here[0], y + numbers[0])]
    return [(x + numbers[at], y + numbers[at + 1]) for at in range(0, len(numbers), 2)]


def _raised(start: Point, handle: Point, end: Point) -> list[Point]:
    """A curve of one handle as one of two."""
    first, second = ((one[0] + 2 * (handle[0] - one[0]) / 3, one[1] + 2 * (handle[1] - one[1]) / 3) for one in (start, end))
    return [first, second, end]


def _arc(start: Point, end: Point, numbers: list[float]) -> Iterator[Step]:
    across, down = abs(numbers[0]), abs(numbers[1])
    if start == end:
        return
    if not across or not down:
        yield Step("L", (end,))
        return
    turn = radians(numbers[2])
    # into the system of a unit circle: unturn, then scale
    unit = [_unturned(point, turn, across, down) for point in (start, end)]
    (x1, y1), (x2, y2) = unit
    half = hypot(x2 - x1, y2 - y1) / 2
    radius = max(1.0, half)  # one that is too small to reach grows until it does
    rise = sqrt(max(0.0, radius * radius - half * half)) * (-1 if bool(numbers[3]) == bool(numbers[4]) else 1)
    middle = (
        (x1 + x2) / 2 + rise * (y1 - y2) / (2 * half),
        (y1 + y2) / 2 + rise * (x2 - x1) / (2 * half),
    )
    first, last = (atan2(y - middle[1], x - middle[0]) for x, y in unit)
    sweep = (last - first) % (2 * pi) if numbers[4] else -((first - last) % (2 * pi))
    for begin, finish in _quarters(first, sweep):
        handle = 4 / 3 * tan((finish - begin) / 4) * radius
        (ax, ay), (bx, by) = (
            (middle[0] + radius * cos(angle), middle[1] + radius * sin(angle)) for angle in (begin, finish)
        )
        curve = (
            (ax - handle * sin(begin), ay + handle * cos(begin)),
            (bx + handle * sin(finish), by - handle * cos(finish)),
            (bx, by),
        )
        yield Step("C", tuple(_turned(point, turn, across, down) for point in curve))


def _unturned(point: Point, turn: float, across: float, down: float) -> Point:
    x, y = point
    return (cos(turn) * x + sin(turn) * y) / across, (cos(turn) * y - sin(turn) * x) / down


def _turned(point: Point, turn: float, across: float, down: float) -> Point:
    x, y = point[0] * across, point[1] * down
    return cos(turn) * x - sin(turn) * y, sin(turn) * x + cos(turn) * y


def _quarters(first: float, sweep: float) -> Iterator[tuple[float, float]]:
    pieces = max(1, ceil(abs(sweep) / (pi / 2) - 1e-9))
    yield from pairwise(first + sweep * number / pieces for number in range(pieces + 1))


def circle(x: float, y: float, radius: float) -> tuple[Step, ...]:
    return steps_of(f"M{x - radius} {y}A{radius} {radius} 0 1 1 {x + radius} {y}A{radius} {radius} 0 1 1 {x - radius} {y}Z")


def rectangle(x: float, y: float, width: float, height: float) -> tuple[Step, ...]:
    return steps_of(f"M{x} {y}H{x + width}V{y + height}H{x}Z")
