"""What an item weighs on each basis: method, section 6."""

from __future__ import annotations

import pytest

from register.fabric.inputs import BASES, GRADES, Part, Position
from register.fabric.interval import Interval
from register.fabric.weights import UNIT, WEIGHTS

DESIGN, OWN = Interval(70_000, 80_000, 90_000), Interval.exactly(75_000)
POSITION = Position("q", "v", "in view", GRADES["considerable"], False, DESIGN)


def test_every_basis_has_a_rule_and_a_unit() -> None:
    assert set(WEIGHTS) == set(UNIT) == set(BASES)


def test_a_part_weighs_its_own_mass_before_the_design_mass() -> None:
    assert WEIGHTS["mass"](POSITION, Part("p", OWN)) == (OWN, False)
    assert WEIGHTS["mass"](POSITION, Part("p")) == (DESIGN, True)
    assert WEIGHTS["mass"](Position("q", "v", "in view"), Part("p")) == (None, False)


def test_a_set_counts_once() -> None:
    assert WEIGHTS["count"](POSITION, Part("p")) == (Interval.exactly(1), False)


@pytest.mark.parametrize(
    ("grade", "points"),
    [("exceptional", 4), ("considerable", 3), ("some", 2), ("little", 1), ("intrusive", 0)],
)
def test_grades_weigh_their_points_and_intrusive_weighs_nothing(grade: str, points: int) -> None:
    position = Position("q", "v", "in view", GRADES[grade])
    assert WEIGHTS["significance"](position, Part("p")) == (Interval.exactly(points), False)


def test_a_position_without_a_grade_has_no_weight_by_significance() -> None:
    assert WEIGHTS["significance"](Position("q", "v", "in view"), Part("p")) == (None, False)
