"""The figures of section 7: against the method said plainly, and the laws that every register obeys."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from register.fabric.figures import (
    VehicleFigures,
    best_may_be_shown,
    figures,
    figures_on,
    intrusive_items,
    mass_percentage_withheld,
    whole_vehicle_first,
)
from register.fabric.inputs import BASES, VISIBILITIES, VehicleInputs
from register.fabric.interval import Interval
from register.fabric.quantities import read_mass
from tests.fabric import plain_method
from tests.fabric.builders import TODAY, Engine
from tests.fabric.knowledge import all_known, forgotten, settled
from tests.fabric.random_registers import bases, days, dice, register_of, registers, shuffled

PLAIN = ("best", "low", "high", "assessed_share", "items", "unweighted", "assumed", "no_best", "composition")


def by_mass(engine: Engine) -> VehicleFigures:
    return figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass")


# The method said plainly


@settings(max_examples=500)
@given(registers, days, st.integers(0, 1), bases, st.integers(0, 3), st.booleans())
def test_figures_are_those_of_the_method_said_plainly(
    inputs: VehicleInputs, day: int, period: int, basis: str, floor: int, wear: bool
) -> None:
    reference = inputs.references[period]
    answer = figures(
        inputs, day=day, reference=reference, basis=basis, evidence_floor=floor, include_wear=wear
    )
    every = plain_method.items(inputs, day, reference, basis, floor)
    counted = [one for one in every if wear or not one.wear]
    for visibility, found in [(None, answer.whole), *answer.by_visibility.items()]:
        asked = [one for one in counted if visibility in (None, one.visibility)]
        expected = plain_method.figures(asked)
        if floor:
            expected["best"] = None
        assert {name: getattr(found, name) for name in PLAIN} == expected
    assert answer.whole.wear == len(every) - len(counted)


# Laws


@given(registers, days, bases, st.integers(0, 3))
def test_low_is_at_most_best_and_best_at_most_high_all_between_0_and_100(
    inputs: VehicleInputs, day: int, basis: str, floor: int
) -> None:
    answer = figures(inputs, day=day, reference=inputs.references[0], basis=basis, evidence_floor=floor)
    for one in (answer.whole, *answer.by_visibility.values()):
        if one.low is not None and one.high is not None:
            assert 0 <= one.low <= one.high <= 100
            if one.best is not None and one.no_best == 0 and one.assessed_share == 100:
                assert one.low <= one.best <= one.high
        if one.best is not None and one.likely_low is not None and one.likely_high is not None:
            assert one.likely_low <= float(one.best) + 1e-9
            assert float(one.best) <= one.likely_high + 1e-9


@given(registers, days, bases, st.integers(0, 3))
def test_the_composition_adds_up_to_100(inputs: VehicleInputs, day: int, basis: str, floor: int) -> None:
    whole = figures(inputs, day=day, reference=inputs.references[1], basis=basis, evidence_floor=floor).whole
    shares = list(whole.composition.values())
    assert sum(shares) == 100 if whole.weight else shares == [None] * 7


@given(registers, days, bases)
def test_best_times_assessed_share_is_the_share_of_reference_fabric(
    inputs: VehicleInputs, day: int, basis: str
) -> None:
    whole = figures(inputs, day=day, reference=inputs.references[1], basis=basis).whole
    if whole.best is not None and whole.assessed_share is not None:
        assert whole.best * whole.assessed_share / 100 == whole.composition["reference_fabric"]


@given(registers, days, bases, st.booleans())
def test_counts_by_visibility_add_up(inputs: VehicleInputs, day: int, basis: str, wear: bool) -> None:
    answer = figures(inputs, day=day, reference=inputs.references[0], basis=basis, include_wear=wear)
    for name in ("items", "wear", "temporary", "unweighted", "assumed", "no_best", "weight"):
        parts = [getattr(one, name) for one in answer.by_visibility.values()]
        assert sum(parts) == getattr(answer.whole, name)


@given(registers, days, bases, dice)
def test_the_order_of_the_rows_does_not_matter(
    inputs: VehicleInputs, day: int, basis: str, dice: Random
) -> None:
    one, other = (
        figures(some, day=day, reference=inputs.references[1], basis=basis)
        for some in (inputs, shuffled(inputs, dice))
    )
    assert (one.whole, one.by_visibility, one.whole_vehicle) == (
        other.whole,
        other.by_visibility,
        other.whole_vehicle,
    )


@given(registers, days, st.integers(2, 9))
def test_scaling_all_masses_changes_no_percentage(inputs: VehicleInputs, day: int, times: int) -> None:
    """As a register kept in another unit would have it."""

    def scaled(mass: Interval | None) -> Interval | None:
        return mass and Interval(mass.low * times, mass.best * times, mass.high * times)

    heavier = replace(
        inputs,
        vehicle=replace(inputs.vehicle, empty_mass=scaled(inputs.vehicle.empty_mass)),
        parts={key: replace(one, mass=scaled(one.mass)) for key, one in inputs.parts.items()},
        positions={
            key: replace(one, design_mass=scaled(one.design_mass)) for key, one in inputs.positions.items()
        },
    )
    one, other = (
        figures(some, day=day, reference=inputs.references[0], basis="mass") for some in (inputs, heavier)
    )
    assert replace(other.whole, weight=one.whole.weight, likely_low=None, likely_high=None) == replace(
        one.whole, likely_low=None, likely_high=None
    )
    assert other.whole.likely_low == pytest.approx(one.whole.likely_low)
    assert other.whole.likely_high == pytest.approx(one.whole.likely_high)
    assert one.whole_vehicle == other.whole_vehicle


@given(registers, days, bases)
def test_the_figures_of_one_visibility_are_those_printed_beside_the_whole(
    inputs: VehicleInputs, day: int, basis: str
) -> None:
    reference = inputs.references[0]
    all_of_it = figures(inputs, day=day, reference=reference, basis=basis)
    for visibility in VISIBILITIES:
        part = figures(inputs, day=day, reference=reference, basis=basis, visibility=visibility)
        assert part.whole == all_of_it.by_visibility[visibility]
        assert part.whole_vehicle is None
        assert len(part.rows_asked_for) == part.whole.items


@given(registers, days, st.integers(0, 3), st.booleans())
def test_several_bases_at_once_are_the_bases_one_by_one(
    inputs: VehicleInputs, day: int, floor: int, wear: bool
) -> None:
    reference = inputs.references[0]
    at_once = figures_on(inputs, day=day, reference=reference, evidence_floor=floor, include_wear=wear)
    for basis in BASES:
        alone = figures(
            inputs, day=day, reference=reference, basis=basis, evidence_floor=floor, include_wear=wear
        )
        assert at_once[basis] == alone


# Knowledge and bounds


@given(dice, days, bases)
def test_bounds_contain_the_truth_whatever_was_forgotten(dice: Random, day: int, basis: str) -> None:
    """The truth is a register in which all is known exactly: its low, best and high are one."""
    truth = all_known(dice)
    reference = truth.references[0]
    exact = figures(truth, day=day, reference=reference, basis=basis).whole
    assert exact.low == exact.best == exact.high
    for _ in range(5):
        bounds = figures(forgotten(truth, dice), day=day, reference=reference, basis=basis).whole
        if exact.best is not None:
            assert bounds.low <= exact.best <= bounds.high


@given(dice, days, bases, st.integers(0, 1))
def test_settling_an_unknown_never_widens_the_bounds(dice: Random, day: int, basis: str, period: int) -> None:
    inputs = register_of(dice)
    reference = inputs.references[period]
    before = figures(inputs, day=day, reference=reference, basis=basis).whole
    for better in filter(None, (settled(inputs, dice) for _ in range(9))):
        after = figures(better, day=day, reference=reference, basis=basis).whole
        if after.low is not None:
            assert before.low <= after.low <= after.high <= before.high


# The invariants of a register, said as examples


def test_all_original_is_100_and_all_unknown_is_0_to_100() -> None:
    engine = Engine().item("frames", 6000, "original").item("boiler", 9000, "original")
    assert (by_mass(engine).whole.low, by_mass(engine).whole.best, by_mass(engine).whole.high) == (
        100,
        100,
        100,
    )
    unknown = Engine().item("frames", 6000).item("boiler", 9000)
    assert (by_mass(unknown).whole.low, by_mass(unknown).whole.best, by_mass(unknown).whole.high) == (
        0,
        None,
        100,
    )


def test_splitting_a_part_into_halves_of_the_same_status_does_not_change_the_share_by_mass() -> None:
    one = Engine().item("tank", 800, "restored", (0.5, 0.6, 0.7)).item("cab", 500, "replica")
    two = Engine().item("cab", 500, "replica")
    for half in ("front", "back"):
        two.item(half, 400, "restored", (0.5, 0.6, 0.7))
    for name in ("low", "best", "high", "composition"):
        assert getattr(by_mass(one).whole, name) == getattr(by_mass(two).whole, name)


def test_adding_a_wear_part_leaves_the_figures_alone_and_is_counted() -> None:
    engine = Engine().item("frames", 6000, "original").item("cab", 500, "replica")
    before = by_mass(engine).whole
    after = by_mass(engine.item("brake block", 15, "replica", wear=True)).whole
    assert replace(after, wear=0) == before
    assert after.wear == 1


def test_a_wear_part_counts_like_any_other_if_asked_for() -> None:
    engine = Engine().item("frames", 75, "original").item("brake block", 25, "replica", wear=True)
    answer = figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass", include_wear=True)
    assert (answer.whole.best, answer.whole.items, answer.whole.wear) == (75, 2, 0)


def test_equal_weights_make_the_share_by_mass_the_share_by_count() -> None:
    engine = (
        Engine().item("a", 5, "original").item("b", 5, "restored", 0.25).item("c", 5, "replica").item("d", 5)
    )
    mass, count = (
        figures_on(engine.inputs(), day=TODAY, reference=engine.as_built)[basis] for basis in BASES[:2]
    )
    for name in ("low", "best", "high"):
        assert getattr(mass.whole, name) == getattr(count.whole, name)


def test_a_register_where_all_masses_are_nought_has_no_figure_rather_than_0_or_100() -> None:
    whole = by_mass(Engine().item("a", 0, "original").item("b", 0, "replica")).whole
    assert (whole.low, whole.best, whole.high, whole.assessed_share) == (None, None, None, None)
    assert set(whole.composition.values()) == {None}


def test_intrusive_parts_weigh_nothing_by_significance_and_are_not_unweighted() -> None:
    engine = Engine().item("frames", 6000, "original", grade=4).item("lamp", 2, "modern substitute", grade=0)
    answer = figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="significance")
    assert (answer.whole.best, answer.whole.unweighted, answer.whole.items) == (100, 0, 2)
    assert intrusive_items(answer, engine.inputs()) == 1


def test_a_part_with_no_mass_takes_the_design_mass_of_its_position_and_is_counted() -> None:
    engine = Engine().item("frames", 900, "original").position("beam", design_kg=100)
    engine.part("oak beam").fit("oak beam", "beam").assess("oak beam", "replica")
    assert (by_mass(engine).whole.best, by_mass(engine).whole.assumed) == (90, 1)


# When a figure may be shown


def test_a_best_figure_may_be_shown_from_half_assessed_on() -> None:
    half = Engine().item("frames", 500, "original").item("cab", 500)
    less = Engine().item("frames", 500, "original").item("cab", 501)
    assert best_may_be_shown(by_mass(half).whole)
    assert not best_may_be_shown(by_mass(less).whole)
    assert not best_may_be_shown(by_mass(Engine().item("cab", 500)).whole)


def test_no_mass_percentage_where_a_considerable_part_is_unweighted() -> None:
    engine = Engine()
    for number in range(40):
        engine.item(f"part {number}", 10, "original", grade=2)
    assert not mass_percentage_withheld(by_mass(engine), engine.inputs())
    engine.item("sand pipe", None, "replica", grade=2)
    assert not mass_percentage_withheld(by_mass(engine), engine.inputs())
    assert whole_vehicle_first(by_mass(engine))
    engine.item("new boiler", None, "modern substitute", grade=3)
    assert mass_percentage_withheld(by_mass(engine), engine.inputs())
    count = figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="count")
    assert not mass_percentage_withheld(count, engine.inputs())
    assert not whole_vehicle_first(count)


@pytest.mark.parametrize(("weighed", "withheld"), [(19, False), (18, True)])
def test_no_mass_percentage_where_more_than_one_item_in_twenty_is_unweighted(
    weighed: int, withheld: bool
) -> None:
    engine = Engine().item("sand pipe", None, "replica")
    for number in range(weighed):
        engine.item(f"part {number}", 10, "original")
    assert mass_percentage_withheld(by_mass(engine), engine.inputs()) is withheld


def test_leaving_a_modern_part_unweighed_cannot_raise_the_whole_vehicle_bounds() -> None:
    """Section 7: that is why those bounds stand first where anything is unweighted."""
    weighed = (
        Engine(empty_kg=(950, 1000, 1050))
        .item("frames", 500, "original")
        .item("engine", 500, "modern substitute")
    )
    silent = (
        Engine(empty_kg=(950, 1000, 1050))
        .item("frames", 500, "original")
        .item("engine", None, "modern substitute")
    )
    assert by_mass(silent).whole.best == 100 > by_mass(weighed).whole.best
    assert by_mass(silent).whole_vehicle.low <= by_mass(weighed).whole_vehicle.low
    assert by_mass(silent).whole_vehicle.mass_accounted_for == 50


def test_what_the_register_does_not_list_weighs_what_is_left_of_the_empty_mass() -> None:
    """Listed 900 to 1100 kg, wear part of 50 kg too, empty 1450 to 1550: 300 to 600 kg are not listed."""
    engine = Engine(empty_kg=(1450, 1500, 1550)).item("frames", (900, 1000, 1100), "original")
    found = by_mass(engine.item("tyre", 50, "replica", wear=True)).whole_vehicle
    assert found.low == Fraction(100 * 900, 900 + 600)
    assert found.high == 100
    assert found.mass_accounted_for == Fraction(100 * 1050, 1500)
    engine = Engine(empty_kg=(1450, 1500, 1550)).item("cab", (900, 1000, 1100), "replica")
    found = by_mass(engine.item("tyre", 50, "replica", wear=True)).whole_vehicle
    assert found.low == 0
    assert found.high == Fraction(100 * 600, 900 + 600)


def test_more_listed_than_the_empty_mass_leaves_nothing_unlisted() -> None:
    engine = Engine(empty_kg=500).item("frames", 600, "original")
    found = by_mass(engine.item("cab", 400, "replica")).whole_vehicle
    assert (found.low, found.high, found.mass_accounted_for) == (60, 60, 200)


def test_a_stand_in_for_a_wear_part_is_counted_only_with_the_wear_parts() -> None:
    engine = Engine().position("tyre", wear=True).part("borrowed tyre", 50)
    engine.fit("borrowed tyre", "tyre", "2024-01-01", temporary=True)
    counts = [
        figures(
            engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass", include_wear=wear
        ).whole.temporary
        for wear in (False, True)
    ]
    assert counts == [0, 1]


@given(registers, days)
def test_whole_vehicle_bounds_take_in_those_of_the_listed_parts(inputs: VehicleInputs, day: int) -> None:
    """One more item that may be anything can only widen them."""
    answer = figures(inputs, day=day, reference=inputs.references[0], basis="mass")
    if answer.whole_vehicle is None or answer.whole.low is None:
        return
    known = inputs.vehicle.empty_mass
    listed = sum(row.weight.high for row in (*answer.rows, *answer.wear_rows) if row.weight)
    if listed >= known.low:
        assert answer.whole_vehicle.low <= answer.whole.low
        assert answer.whole_vehicle.high >= answer.whole.high


def test_an_unknown_basis_or_visibility_is_refused_with_the_ones_there_are() -> None:
    engine = Engine().item("frames", 6000, "original")
    with pytest.raises(ValueError, match=r"no basis “cost”: it is one of mass, count, significance"):
        figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="cost")
    with pytest.raises(ValueError, match=r"no visibility “shiny”"):
        figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass", visibility="shiny")


def test_best_values_are_exact_not_floating() -> None:
    whole = by_mass(Engine().item("a", 1, "original").item("b", 2, "replica")).whole
    assert whole.best == Fraction(100, 3)


@given(st.lists(st.tuples(st.integers(1, 400), st.sampled_from(("original", "replica", "modern substitute", ""))), min_size=1, max_size=8))
def test_the_figures_are_the_same_in_kilograms_pounds_and_workshop_units(parts: list[tuple[int, str]]) -> None:
    """Whole pounds, written three ways; to the gram they are the same mass. 1 lb = 0.45359237 kg, 1959."""
    found = []
    for write in (lambda lb: f"{lb} lb", in_kilograms, in_workshop_units_of):
        engine = Engine()
        for number, (pounds, status) in enumerate(parts):
            engine.item(f"part {number}", (read_mass(write(pounds)).best or 0) / 1000, status)
        found.append(figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass").whole)
    assert found[0] == found[1] == found[2]


def in_kilograms(pounds: int) -> str:
    hundred_millionths = pounds * 45359237
    return f"{hundred_millionths // 10**8}.{hundred_millionths % 10**8:08} kg"


def in_workshop_units_of(pounds: int) -> str:
    words = []
    for name, size in (("cwt", 112), ("qr", 28), ("lb", 1)):
        number, pounds = divmod(pounds, size)
        if number:
            words.append(f"{number} {name}")
    return " ".join(words)
