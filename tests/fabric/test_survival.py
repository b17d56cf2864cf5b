"""What became of the reference vehicle: method, section 8."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.fabric.inputs import VehicleInputs
from register.fabric.survival import Survival, survival
from tests.fabric import plain_method
from tests.fabric.builders import TODAY, Engine, day
from tests.fabric.random_registers import LAST, bases, dice, registers, shuffled


def by_mass(engine: Engine, when: int = TODAY) -> Survival:
    return survival(engine.inputs(), day=when, reference=engine.as_built, basis="mass")


def shown(answer: Survival) -> dict[str, int]:
    return {share: value for share, value in answer.shares.items() if value}


@given(registers, st.integers(0, 1), bases, st.integers(0, 30), st.booleans())
def test_the_shares_add_up_to_100(
    inputs: VehicleInputs, period: int, basis: str, later: int, wear: bool
) -> None:
    reference = inputs.references[period]
    answer = survival(
        inputs, day=reference.span.latest + later, reference=reference, basis=basis, include_wear=wear
    )
    shares = list(answer.shares.values())
    assert sum(shares) == 100 if answer.weight else shares == [None] * 7
    assert answer.inventory == len({row.part for row in answer.rows})


@given(registers, st.integers(0, 1), bases)
def test_bounds_lie_between_0_and_100(inputs: VehicleInputs, period: int, basis: str) -> None:
    answer = survival(inputs, day=LAST, reference=inputs.references[period], basis=basis)
    if answer.low is not None:
        assert 0 <= answer.low <= answer.high <= 100


@given(registers, bases)
def test_bounds_are_those_of_all_corners(inputs: VehicleInputs, basis: str) -> None:
    answer = survival(inputs, day=LAST, reference=inputs.references[0], basis=basis)
    one = plain_method.ONE
    items = [
        plain_method.Item(
            row.part, "", (row.weight.low, row.weight.best, row.weight.high),
            (plain_method.Fraction(row.f.low, one), None, plain_method.Fraction(row.f.high, one)),
            plain_method.ANYTHING, False, "", False, False,
        )
        for row in answer.rows
        if row.weight
    ]  # fmt: skip
    assert (answer.low, answer.high) == plain_method.bounds(items)


@given(registers, bases, dice)
def test_the_order_of_the_rows_does_not_matter(inputs: VehicleInputs, basis: str, dice: Random) -> None:
    one, other = (
        survival(some, day=LAST, reference=inputs.references[1], basis=basis)
        for some in (inputs, shuffled(inputs, dice))
    )
    assert (one.shares, one.low, one.high) == (other.shares, other.low, other.high)
    assert sorted(one.rows) == sorted(other.rows)


def test_on_the_reference_day_everything_assessed_is_with_this_vehicle() -> None:
    engine = Engine().item("frames", 600, "original").item("boiler", 400, "restored", 0.6)
    assert shown(by_mass(engine, day("1894-12-31"))) == {"with_this_vehicle": 100}


def test_a_day_before_the_end_of_the_reference_date_is_refused() -> None:
    with pytest.raises(ValueError, match=r"ask for 31 December 1894, or a later day"):
        by_mass(Engine().item("frames", 600, "original"), day("1894-12-30"))


def test_where_the_parts_of_the_reference_vehicle_went() -> None:
    engine = Engine()
    for part in ("kept", "lent on", "stored", "scrapped", "sold", "nobody looked"):
        engine.position(part).part(part, 100)
        engine.fit(part, part, "1894", None if part in ("kept", "nobody looked") else "1950")
        if part != "nobody looked":
            engine.assess(part, "restored", 0.8)
    engine.fit("lent on", "dome", "1951", vehicle="sister")
    engine.part("scrapped", 100, "scrapped", "1960").part("sold", 100, "transferred", "1960")
    answer = by_mass(engine)
    share = 100 / 6
    assert {name: float(value) for name, value in shown(answer).items()} == pytest.approx(
        {
            "with_this_vehicle": 0.8 * share,
            "with_another_vehicle": 0.8 * share,
            "in_store": 0.8 * share,
            "transferred": 0.8 * share,
            "material_renewed": 4 * 0.2 * share,
            "lost": share,
            "not_assessed": share,
        }
    )
    assert {row.part: row.vehicle for row in answer.rows if row.vehicle} == {
        "kept": "eng", "nobody looked": "eng", "lent on": "sister",
    }  # fmt: skip
    assert float(answer.low) == pytest.approx(0.8 * share)
    assert float(answer.high) == pytest.approx(1.8 * share)


def test_a_disposal_counts_from_the_best_day_of_its_date() -> None:
    engine = Engine().item("bell", 100, "original", removed="1950")
    engine.part("bell", 100, "lost", "1960")
    assert shown(by_mass(engine, day("1960-06-30"))) == {"in_store": 100}
    assert shown(by_mass(engine, day("1960-07-01"))) == {"lost": 100}


def test_a_replica_already_in_place_is_surviving_fabric_of_that_state_and_said_so() -> None:
    engine = Engine().item("frames", 600, "original")
    engine.item("chimney", 400, "replica", fitted="1975")
    rebuilt = engine.reference("as preserved", "1980")
    answer = survival(engine.inputs(), day=TODAY, reference=rebuilt, basis="mass")
    assert shown(answer) == {"with_this_vehicle": 100}
    assert [row.part for row in answer.made_since] == ["chimney"]


def test_what_is_left_is_measured_against_the_part_as_it_was_on_the_reference_day() -> None:
    """Half renewed in 1900, half of the rest in 1950: against 1912, half is left; against as built, a quarter."""
    engine = (
        Engine().item("boiler", 400, "restored").treat("boiler", "1900", 0.5).treat("boiler", "1950", 0.5)
    )
    rebuilt = engine.reference("as rebuilt", "1912")
    against = {
        reference.label: float(
            survival(engine.inputs(), day=TODAY, reference=reference, basis="mass").shares[
                "with_this_vehicle"
            ]
        )
        for reference in (engine.as_built, rebuilt)
    }
    assert against == {"as built": 25.0, "as rebuilt": 50.0}


@pytest.mark.parametrize("positions", [("left", "right"), ("right", "left")])
def test_a_part_that_may_have_been_in_two_positions_counts_once_where_it_came_last(
    positions: tuple[str, str],
) -> None:
    engine = Engine().part("lamp").assess("lamp", "original")
    for position in positions:
        engine.position(position, design_kg={"left": 4, "right": 6}[position])
    engine.fit("lamp", "left", "between 1890 and 1896").fit("lamp", "right", "between 1892 and 1896")
    answer = by_mass(engine)
    assert (answer.inventory, answer.weight, answer.rows[0].position) == (1, 6, "right")


def test_a_part_without_a_weight_is_in_the_inventory_and_unweighted() -> None:
    engine = Engine().item("frames", 600, "original").item("whistle", None, "original")
    answer = by_mass(engine)
    assert (answer.inventory, answer.unweighted, answer.weight) == (2, 1, 600)


def test_wear_parts_are_left_aside_unless_asked_for() -> None:
    engine = Engine().item("frames", 600, "original").item("tyre", 200, "original", wear=True)
    assert by_mass(engine).inventory == 1
    answer = survival(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass", include_wear=True)
    assert answer.inventory == 2


def test_a_stay_elsewhere_that_another_part_rules_out_does_not_count() -> None:
    """Known only where the inputs hold the rival in that other vehicle's position too."""
    engine = Engine().item("dome", 45, "original", removed="1912")
    engine.fit("dome", "sister's dome", "between 1913 and 1915", vehicle="sister")
    assert shown(by_mass(engine, day("1914-09-30"))) == {"with_another_vehicle": 100}
    engine.fit("rival", "sister's dome", "1 June 1914", "1 June 1916", vehicle="sister")
    assert shown(by_mass(engine, day("1914-09-30"))) == {"in_store": 100}


def test_a_part_that_may_have_gone_is_in_the_bounds_only() -> None:
    """The dome may have been taken off since 2020, and so may the lamp, which nobody assessed."""
    engine = (
        Engine()
        .item("frames", 600, "original")
        .item("dome", 100, "restored", 0.5, removed="between 2020 and 2030")
    )
    engine.item("lamp", 300, removed="between 2020 and 2030")
    answer = by_mass(engine)
    assert (answer.low, answer.high) == (60, 60 + 5 + 30)
    assert shown(answer) == {"with_this_vehicle": 65, "material_renewed": 5, "not_assessed": 30}
    later = by_mass(engine, day("2028-01-01"))
    assert (later.low, later.high) == (60, 60 + 5 + 30)
    assert shown(later) == {"with_this_vehicle": 60, "in_store": 5, "material_renewed": 5, "not_assessed": 30}
    gone = by_mass(engine, day("2031-01-01"))
    assert (gone.low, gone.high) == (60, 60)
