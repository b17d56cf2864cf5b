"""Words above a bar for what is too narrow to be lettered, each on a leader, none over another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from register.documents.chart_models import Anchor, Label, Line, Shape, text_width

SIZE = 12
LINE = 17
"""From one call-out to the one above it, px."""

ARM, GAP = 6, 3
CLEAR = 3
"""Px that a leader keeps from a text."""


@dataclass(frozen=True, slots=True)
class _Placed:
    """A leader at x with its text on one side of it."""

    x: float
    text: str
    is_left: bool

    @property
    def start(self) -> float:
        return self.x - self._wide if self.is_left else self.x

    @property
    def end(self) -> float:
        return self.x if self.is_left else self.x + self._wide

    @property
    def _wide(self) -> float:
        return text_width(self.text, SIZE) + ARM + GAP

    def reaches_over(self, other: _Placed) -> bool:
        """Whether the other's leader would run through this text, were it as high."""
        return self.start - CLEAR < other.x < self.end + CLEAR

    def must_stand_above(self, other: _Placed) -> bool:
        if self.reaches_over(other):
            return True
        side_by_side = self.start < other.end + CLEAR and other.start < self.end + CLEAR
        return side_by_side and not other.reaches_over(self) and self.x > other.x


def call_outs(texts: Sequence[tuple[float, tuple[str, ...]]], width: float) -> tuple[list[Shape], float]:
    """The call-outs over a bar and the room they take there.

    ``texts``: from left to right, where the leader stands and what may be said, the longest first. Where the
    longest have no room beside each other the shorter are taken; where those have none either, nothing is
    called out.
    """
    for length in range(max((len(choice) for _, choice in texts), default=0)):
        found = _best([(x, choice[min(length, len(choice) - 1)]) for x, choice in texts], width)
        if found is not None:
            placed, levels = found
            return list(_drawn(placed, levels)), _room(levels)
    return [], 0


def _best(texts: Sequence[tuple[float, str]], width: float) -> tuple[list[_Placed], list[int]] | None:
    """The placing with the fewest lines; of those the one with most texts to the left of their leaders."""
    best: tuple[list[_Placed], list[int]] | None = None
    for sides in _sides(len(texts)):
        placed = [_Placed(x, text, is_left) for (x, text), is_left in zip(texts, sides, strict=True)]
        if any(one.start < 0 or one.end > width for one in placed):
            continue
        levels = _levels(placed)
        if levels is not None and (best is None or max(levels) < max(best[1])):
            best = placed, levels
    return best


def _sides(number: int) -> Iterator[list[bool]]:
    """All to the left, then texts turned towards each other, then away from each other, about every gap."""
    for right in range(number + 1):
        yield [False] * right + [True] * (number - right)
    for left in range(1, number):
        yield [True] * left + [False] * (number - left)


def _levels(placed: Sequence[_Placed]) -> list[int] | None:
    """The lowest line for each, 0 the lowest; None where two must stand each above the other."""
    levels = [0] * len(placed)
    for _ in range(len(placed) + 1):
        before = list(levels)
        for number, one in enumerate(placed):
            under = [
                levels[at] + 1
                for at, other in enumerate(placed)
                if at != number and one.must_stand_above(other)
            ]
            levels[number] = max([levels[number], *under])
        if levels == before:
            return levels
    return None


def _room(levels: Sequence[int]) -> float:
    return (max(levels) + 1) * LINE + 6


def _drawn(placed: Sequence[_Placed], levels: Sequence[int]) -> Iterator[Shape]:
    foot = _room(levels)
    for one, level in zip(placed, levels, strict=True):
        side = -1 if one.is_left else 1
        x, y = int(one.x) + 0.5, foot - 10 - level * LINE
        yield Line(((x, foot), (x, y), (x + side * ARM, y)))
        anchor: Anchor = "end" if one.is_left else "start"
        yield Label(x + side * (ARM + GAP), y + 4, one.text, SIZE, anchor=anchor)
