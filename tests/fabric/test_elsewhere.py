"""The figure with fabric from elsewhere counted: against five parts worked by hand."""

from __future__ import annotations

from fractions import Fraction

from register.fabric.elsewhere import with_elsewhere
from register.fabric.figures import figures
from tests.fabric.builders import TODAY, Engine


def five_parts() -> Engine:
    """Frames of its own, a restored boiler, a replica firebox, a wheelset of another engine, cab sheets nobody assessed.

    26.0 t. By hand: own fabric at least 6.0 + 0.6 × 9.0 = 11.4, at most 6.0 + 0.8 × 9.0 + 1.0 = 14.2; with the wheelset's
    7.5 t, 18.9 and 21.7. Best, of the 25.0 t assessed: 6.0 + 0.7 × 9.0 = 12.3, with the wheelset 19.8.
    """
    made = Engine(built="1894")
    made.item("frames", 6000, "original").item("boiler", 9000, "restored", (0.6, 0.7, 0.8)).item("firebox", 2500, "replica")
    made.item("wheelset", 7500, "original", original_to="no5").item("cab sheets", 1000)
    return made


def test_the_bounds_and_the_best_are_those_worked_by_hand():
    inputs = five_parts().inputs()
    answer = figures(inputs, day=TODAY, reference=inputs.references[0], basis="mass")
    assert (answer.whole.low, answer.whole.best, answer.whole.high) == (Fraction(1140, 26), Fraction(1230, 25), Fraction(1420, 26))
    found = with_elsewhere(answer.rows)
    assert (found.low, found.best, found.high) == (Fraction(1890, 26), Fraction(1980, 25), Fraction(2170, 26))


def test_without_such_parts_nothing_changes():
    inputs = Engine(built="1894").item("frames", 6000, "restored", (0.6, 0.7, 0.8)).item("cab", 1000).inputs()
    answer = figures(inputs, day=TODAY, reference=inputs.references[0], basis="mass")
    found = with_elsewhere(answer.rows)
    assert (found.low, found.best, found.high) == (answer.whole.low, answer.whole.best, answer.whole.high)


def test_where_nothing_weighs_anything_there_is_no_figure():
    inputs = Engine(built="1894").item("frames", None, "original").inputs()
    assert with_elsewhere(figures(inputs, day=TODAY, reference=inputs.references[0], basis="mass").rows) is None
