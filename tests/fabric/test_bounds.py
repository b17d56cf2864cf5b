"""The bounds against every corner, against linear programming, and against each other."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from register.fabric.bounds import MovingBounds, WeightedRange

Item = tuple[int, int, int, int]
"""w_low, w_high, f_low, f_high"""


@st.composite
def items(draw: st.DrawFn, most: int = 12, greatest: int = 50) -> list[Item]:
    number = st.integers(0, greatest)
    drawn = draw(st.lists(st.tuples(number, number, number, number), min_size=1, max_size=most))
    return [(*sorted(item[:2]), *sorted(item[2:])) for item in drawn]


def every_corner(items: list[Item]) -> tuple[Fraction, Fraction] | None:
    """The least and the greatest average over all choices of low and high weights, f at its ends."""
    least, greatest = [], []
    for weights in product(*({low, high} for low, high, _, _ in items)):
        total = sum(weights)
        if total:
            least.append(Fraction(sum(w * item[2] for w, item in zip(weights, items, strict=True)), total))
            greatest.append(Fraction(sum(w * item[3] for w, item in zip(weights, items, strict=True)), total))
    return (min(least), max(greatest)) if least else None


def test_bounds_of_nothing_do_not_exist() -> None:
    assert WeightedRange([]).least() is None
    assert WeightedRange([]).greatest() is None
    assert WeightedRange([(0, 0, 3, 7)]).least() is None


def test_where_nothing_need_weigh_anything_the_bounds_are_the_extreme_values() -> None:
    range_ = WeightedRange([(0, 5, 3, 7), (0, 2, 4, 9), (0, 0, 1, 20)])
    assert (range_.least(), range_.greatest()) == (3, 9)


@given(items(most=9))
def test_bounds_are_the_extremes_of_all_corners(drawn: list[Item]) -> None:
    """An average of this kind is monotone in each weight alone, so that its extremes lie at corners."""
    range_ = WeightedRange(drawn)
    found = range_.least(), range_.greatest()
    assert (None if found == (None, None) else found) == every_corner(drawn)


@pytest.mark.parametrize("seed", range(6))
def test_bounds_of_twelve_items_are_the_extremes_of_all_4096_corners(seed: int) -> None:
    dice = random.Random(seed)
    twelve = [
        (*sorted(dice.choices(range(200), k=2)), *sorted(dice.choices(range(1001), k=2))) for _ in range(12)
    ]
    range_ = WeightedRange(twelve)
    assert (range_.least(), range_.greatest()) == every_corner(twelve)


@pytest.mark.outside
@pytest.mark.parametrize("seed", range(20))
def test_bounds_agree_with_linear_programming(seed: int) -> None:
    """Source: the linear-fractional programme turned into a linear one by A. Charnes and W. W. Cooper,
    "Programming with linear fractional functionals", Naval Research Logistics Quarterly 9 (1962), from memory, solved
    by scipy.optimize.linprog (HiGHS): y = t·w, Σ y = 1, t·w_low ≤ y ≤ t·w_high, Σ y·f to be least or greatest.
    """
    dice = random.Random(seed)
    many = [
        (*sorted(dice.choices(range(1, 900), k=2)), *sorted(dice.choices(range(1001), k=2)))
        for _ in range(40)
    ]
    count = len(many)
    limits = []
    for index, (low, high, _, _) in enumerate(many):
        unit = [1.0 if other == index else 0.0 for other in range(count)]
        limits.append([*unit, -float(high)])
        limits.append([*(-one for one in unit), float(low)])

    def optimum(values: list[float], sign: int) -> float:
        found = linprog(
            [*(sign * value for value in values), 0.0],
            A_ub=limits,
            b_ub=[0.0] * len(limits),
            A_eq=[[1.0] * count + [0.0]],
            b_eq=[1.0],
            bounds=[(0, None)] * (count + 1),
        )
        assert found.success
        return sign * float(found.fun)

    range_ = WeightedRange(many)
    assert float(range_.least()) == pytest.approx(optimum([item[2] for item in many], 1), rel=1e-8)
    assert float(range_.greatest()) == pytest.approx(optimum([item[3] for item in many], -1), rel=1e-8)


@given(items(most=8), items(most=8))
def test_ranges_gathered_apart_and_put_together_are_one_range(some: list[Item], others: list[Item]) -> None:
    together = WeightedRange.together([WeightedRange(some), WeightedRange(others)])
    alike = WeightedRange(some + others)
    assert (together.least(), together.greatest()) == (alike.least(), alike.greatest())
    assert together.greatest_weight == alike.greatest_weight == sum(item[1] for item in some + others)


@given(items(most=15), st.data())
def test_bounds_that_move_are_the_bounds_of_what_is_in(drawn: list[Item], data: st.DataObject) -> None:
    moving = MovingBounds((item[2], item[3]) for item in drawn)
    inside: list[Item] = []
    for item in drawn:
        moving.put(*item)
        inside.append(item)
        if data.draw(st.booleans()):
            out = inside.pop(data.draw(st.integers(0, len(inside) - 1)))
            moving.take(*out)
        range_ = WeightedRange(inside)
        assert (moving.least(), moving.greatest()) == (range_.least(), range_.greatest())


@given(items())
def test_bounds_do_not_depend_on_the_order_of_the_items(drawn: list[Item]) -> None:
    assert WeightedRange(drawn).least() == WeightedRange(drawn[::-1]).least()
    assert WeightedRange(drawn).greatest() == WeightedRange(drawn[::-1]).greatest()
