"""What an item weighs on each basis (method, section 6).

A new basis is one function and one row of ``WEIGHTS`` and of ``UNIT``.
"""

from __future__ import annotations

from collections.abc import Callable

from register.fabric.inputs import GRADES, Part, Position
from register.fabric.interval import Interval

Weigh = Callable[[Position, Part], tuple[Interval | None, bool]]
"""(position, part) to (its weight, whether that weight is an assumed one); None: no weight on this basis."""

_ONCE = Interval.exactly(1), False
_NO_GRADE = None, False
_POINTS = {grade: (Interval.exactly(grade), False) for grade in GRADES.values()}


def by_mass(position: Position, part: Part) -> tuple[Interval | None, bool]:
    """Grams: the part's own mass, failing that the position's design mass, which is an assumption."""
    if part.mass is not None:
        return part.mass, False
    return position.design_mass, position.design_mass is not None


def by_count(position: Position, part: Part) -> tuple[Interval | None, bool]:
    """1, a set counting once."""
    return _ONCE


def by_significance(position: Position, part: Part) -> tuple[Interval | None, bool]:
    """Points of the position's grade. Intrusive is a weight of 0, not a missing one."""
    return _NO_GRADE if position.grade is None else _POINTS[position.grade]


WEIGHTS: dict[str, Weigh] = {"mass": by_mass, "count": by_count, "significance": by_significance}

UNIT = {"mass": 1000, "count": 1, "significance": 1}
"""Whole numbers of the core in one printed unit: 1000 grams are a kilogram."""
