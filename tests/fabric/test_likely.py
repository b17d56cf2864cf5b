"""The likely range: method, section 7, and JCGM 100:2008 (the GUM), whose clauses are cited from memory but 5.1.2."""

from __future__ import annotations

import random
from collections.abc import Callable
from fractions import Fraction
from math import sqrt
from statistics import fmean, stdev

import pytest

from register.fabric.account import Row
from register.fabric.figures import Figures, figures
from register.fabric.interval import ONE, Interval
from register.fabric.sums import Sums
from tests.fabric.builders import TODAY, Engine


def by_mass(engine: Engine) -> tuple[Figures, tuple[Row, ...]]:
    answer = figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass")
    return answer.whole, answer.rows


def half_width(engine: Engine) -> float:
    """1.96 · u in percentage points, of a range that nothing clips."""
    whole, _ = by_mass(engine)
    assert whole.likely_high - float(whole.best) == pytest.approx(float(whole.best) - whole.likely_low)
    return whole.likely_high - float(whole.best)


def tender() -> Engine:
    """Several uncertain weights and fractions, none of them dominating, an either/or among them."""
    engine = Engine()
    for number in range(20):
        engine.item(f"plate {number}", (95, 100, 110), "restored", (0.55, 0.6, 0.75))
        engine.item(f"new plate {number}", (45, 50, 52), "replica")
        engine.item(f"casting {number}", (78, 80, 82), "original")
    return engine.item("dome", 40, "original", since="between 1894 and 1895")


@pytest.mark.outside
def test_a_symmetrical_triangle_has_a_sixth_of_its_half_width_squared() -> None:
    """Source: JCGM 100:2008, 4.3.9, equation (9b): a triangular distribution of half-width a has the variance
    a²/6. One part of exactly known weight beside another makes the figure linear in its fraction."""
    engine = Engine().item("boiler", 500, "restored", (0.4, 0.5, 0.6)).item("frames", 500, "original")
    assert half_width(engine) == pytest.approx(1.96 * 100 * 0.5 * sqrt(0.1**2 / 6))


@pytest.mark.outside
def test_an_either_or_has_the_variance_of_two_equal_chances() -> None:
    """Source: JCGM 100:2008, 4.3.5 to 4.3.9: a variance is that of the distribution assumed; two equally likely values
    h apart have the variance (h/2)² (elementary)."""
    engine = Engine().item("frames", 9000, "original")
    whole, _ = by_mass(engine.item("dome", 1000, "original", since="between 1894 and 1895"))
    assert (whole.best, whole.likely_high) == (100, 100)
    assert whole.likely_low == pytest.approx(100 - 1.96 * 100 * 0.1 * 0.5)


def test_what_may_not_be_there_is_an_either_or_in_its_fraction_and_a_triangle_in_its_weight() -> None:
    """Of 1000 kg, 500 are certain; the boiler may be in or not: weight (0, 500, 500), fraction 0.4 or 0.7."""
    engine = Engine().item("frames", 500, "original")
    engine.item("boiler", 500, "restored", (0.4, 0.5, 0.7), fitted="between 2020 and 2026")
    whole, _ = by_mass(engine)
    weight = ((0.5 - 0.75) / 1000) ** 2 * 500**2 / 18
    fraction = (500 / 1000) ** 2 * (0.7 - 0.4) ** 2 / 4
    assert float(whole.best) - whole.likely_low == pytest.approx(5.0)  # clipped: at least 500 + 200 of 1000
    assert whole.likely_high - float(whole.best) == pytest.approx(1.96 * 100 * (weight + fraction) ** 0.5)


@pytest.mark.outside
def test_the_range_is_the_law_of_propagation_with_numerical_derivatives() -> None:
    """Source: JCGM 100:2008, 5.1.2, equation (10): u_c² = Σ (∂f/∂x)²·u²(x), and 5.1.3, note 2, which lets the derivatives
    be taken numerically, as f(x + u) − f(x − u) over 2."""
    whole, rows = by_mass(tender())
    best = [(row.weight.best / 1000, row.f.best / ONE) for row in rows]

    def figure(values: list[tuple[float, float]]) -> float:
        return 100 * sum(w * f for w, f in values) / sum(w for w, _ in values)

    def triangle(one: Interval, scale: float) -> float:
        a, c, b = one.low / scale, one.best / scale, one.high / scale
        return (a * a + b * b + c * c - a * b - a * c - b * c) / 18

    total = 0.0
    for index, row in enumerate(rows):
        either_or = ((row.f.high - row.f.low) / ONE) ** 2 / 4
        for which, variance in (
            (0, triangle(row.weight, 1000)),
            (1, either_or if row.straddles else triangle(row.f, ONE)),
        ):
            step = 1e-4 * sqrt(variance)
            if step:
                ends = []
                for sign in (1, -1):
                    moved = [list(pair) for pair in best]
                    moved[index][which] += sign * step
                    ends.append(figure([tuple(pair) for pair in moved]))
                total += ((ends[0] - ends[1]) / (2 * step)) ** 2 * variance
    assert whole.likely_high - float(whole.best) == pytest.approx(1.96 * sqrt(total), rel=1e-6)


@pytest.mark.outside
def test_the_range_is_that_of_a_simulation() -> None:
    """Source: JCGM 101:2008 (Supplement 1, propagation of distributions by a Monte Carlo method), fixed seed.

    Tolerance: the standard deviation of 20,000 draws is itself known to 1/√(2·20,000) = 0.5 %, three times that is 1.5 %;
    the weights vary by a few per cent, so that what the linear law leaves out is of that order squared: 3 % in all. The
    triangles here are lopsided and the simulation is centred on its own mean, so only the spread is compared.
    """
    whole, rows = by_mass(tender())
    dice = random.Random(1894)
    draws = []
    for _ in range(20_000):
        top = bottom = 0.0
        for row in rows:
            w = _drawn(row.weight, dice.triangular)
            f = dice.choice((row.f.low, row.f.high)) if row.straddles else _drawn(row.f, dice.triangular)
            top, bottom = top + w * f / ONE, bottom + w
        draws.append(100 * top / bottom)
    assert (whole.likely_high - whole.likely_low) / 2 == pytest.approx(1.96 * stdev(draws), rel=0.03)
    assert fmean(draws) == pytest.approx(float(whole.best), abs=2)


def _drawn(one: Interval, triangular: Callable[[float, float, float], float]) -> float:
    return one.low if one.low == one.high else triangular(one.low, one.high, one.best)


def test_the_range_is_clipped_to_the_bounds_of_the_assessed_items() -> None:
    engine = Engine().item("frames", 100, "original").item("boiler", 900, "restored", (0.0, 0.05, 0.9))
    whole, _ = by_mass(engine.item("cab", 100))
    assert whole.likely_low == pytest.approx(10)
    assert whole.low < 10


def test_what_is_known_exactly_has_a_range_of_no_width() -> None:
    whole, _ = by_mass(Engine().item("frames", 2, "original").item("cab", 1, "replica").item("lamp", 5))
    assert whole.likely_low == whole.likely_high == pytest.approx(200 / 3)


def test_no_best_figure_no_likely_range() -> None:
    whole, _ = by_mass(Engine().item("cab", 100))
    assert (whole.likely_low, whole.likely_high) == (None, None)
    floored = tender()
    answer = figures(floored.inputs(), day=TODAY, reference=floored.as_built, basis="mass", evidence_floor=1)
    assert (answer.whole.best, answer.whole.likely_low) == (None, None)


def test_sums_of_no_rows_have_no_best() -> None:
    assert Sums().best() is None
    assert Sums.together([]).weight == 0
    assert Fraction(Sums().weight) == 0
