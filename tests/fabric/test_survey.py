"""What to find out next: method, section 10."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from register.fabric.account import Row
from register.fabric.bounds import WeightedRange
from register.fabric.figures import figures
from register.fabric.inputs import VISIBILITIES, VehicleInputs
from register.fabric.interval import ONE, Interval
from register.fabric.survey import KNOWN, NO_BEST, NOTHING_WEIGHS, UNWEIGHTED, survey
from tests.fabric.builders import TODAY, Engine
from tests.fabric.random_registers import bases, days, registers


def width(rows: list[Row]) -> Fraction | None:
    range_ = WeightedRange(
        (row.weight.low, row.weight.high, row.f.low, row.f.high) for row in rows if row.weight is not None
    )
    low, high = range_.least(), range_.greatest()
    return None if low is None or high is None else (high - low) * 100 / ONE


def gain_by_evaluating_again(rows: list[Row], row: Row) -> Fraction | None:
    """The mean of the narrowings over the values that the item may be settled at, everything added up anew."""
    now = width(rows)
    if row.weight is None or row.weight.best is None or now is None:
        return None
    others = [one for one in rows if one is not row]
    gains = []
    for value in (0, ONE) if row.f.best is None else (row.f.best,):
        settled = row._replace(weight=Interval.exactly(row.weight.best), f=Interval.exactly(value))
        left = width([*others, settled])
        if left is None:
            return None
        gains.append(now - left)
    return sum(gains, Fraction(0)) / len(gains)


@settings(max_examples=300)
@given(registers, days, bases, st.integers(0, 2), st.sampled_from([None, *VISIBILITIES]))
def test_gains_are_those_of_evaluating_again(
    inputs: VehicleInputs, day: int, basis: str, floor: int, visibility: str | None
) -> None:
    answer = figures(
        inputs,
        day=day,
        reference=inputs.references[1],
        basis=basis,
        evidence_floor=floor,
        visibility=visibility,
    )
    rows = list(answer.rows_asked_for)
    found = survey(answer)
    assert found.width == width(rows)
    if found.width is not None:
        assert found.width == answer.whole.high - answer.whole.low
    gains = {one.position: one.gain for one in found.parts}
    assert gains == {row.position: gain_by_evaluating_again(rows, row) for row in rows}


@given(registers, days, bases)
def test_the_largest_gain_comes_first_and_items_without_one_last(
    inputs: VehicleInputs, day: int, basis: str
) -> None:
    answer = figures(inputs, day=day, reference=inputs.references[0], basis=basis)
    gains = [one.gain for one in survey(answer).parts]
    known = [gain for gain in gains if gain is not None]
    assert gains == known + [None] * (len(gains) - len(known))
    assert known == sorted(known, reverse=True)
    assert all(gain >= 0 for gain in known)


def test_every_item_says_why_it_is_in_the_list() -> None:
    engine = Engine().item("frames", 600, "original").item("cab", 100).item("plate", None, "original")
    engine.item("boiler", 400, "restored", (0.5, 0.6, 0.7)).item(
        "tank", (80, 100, 120), "restored", (0.1, 0.2, 0.3)
    )
    engine.item("dome", (40, 45, 50), "original").item("bunker", (90, 95, 99))
    engine.item("whistle", 4, "original", fitted="between 2020 and 2030")
    engine.item("lamp", 2, "original", fitted="between 2020 and 2026")
    answer = figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass")
    assert {one.position: one.why for one in survey(answer).parts} == {
        "frames": KNOWN,
        "cab": "not assessed",
        "plate": UNWEIGHTED,
        "boiler": "fraction not exact",
        "tank": "weight and fraction not exact",
        "dome": "weight not exact",
        "bunker": "weight not exact, and not assessed",
        "whistle": NO_BEST,
        "lamp": "not certain what is fitted",
    }


def test_where_nothing_weighs_anything_there_is_nothing_to_gain() -> None:
    engine = Engine().item("lamp", 2, "original", grade=0)
    answer = figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="significance")
    found = survey(answer)
    assert (found.width, found.parts[0].gain, found.parts[0].why) == (None, None, NOTHING_WEIGHS)
