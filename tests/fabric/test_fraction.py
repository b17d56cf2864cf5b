"""How much of a part survives, and how much of that is original: method, sections 4 and 5."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given

from register.fabric.fraction import NEVER_ASSESSED, PartFabric, known, part_fabric, surviving
from register.fabric.inputs import Reference, VehicleInputs
from register.fabric.interval import ONE, Interval
from tests.fabric import plain_method
from tests.fabric.builders import TODAY, Engine, day, span
from tests.fabric.random_registers import days, registers

Ends = tuple[float, float | None, float]


def ends(one: Interval) -> Ends:
    return one.low / ONE, None if one.best is None else one.best / ONE, one.high / ONE


def left(engine: Engine, when: str = "2024-06-30") -> Ends:
    inputs = engine.inputs()
    return ends(surviving(inputs.assessments.get("p"), inputs.treatments.get("p", ()), day(when)))


def fabric(
    engine: Engine, reference: Reference | None = None, when: int = TODAY, floor: int = 0
) -> PartFabric:
    inputs = engine.inputs()
    return part_fabric(
        inputs.vehicle,
        reference or engine.as_built,
        inputs.assessments.get("p"),
        inputs.treatments.get("p", ()),
        day=when,
        evidence_floor=floor,
    )


@given(registers, days)
def test_surviving_fractions_are_those_of_the_method_said_plainly(inputs: VehicleInputs, day: int) -> None:
    for part in inputs.parts:
        assessment, treatments = inputs.assessments.get(part), inputs.treatments.get(part, ())
        found = surviving(assessment, treatments, day)
        exact = tuple(
            None if end is None else Fraction(end, ONE) for end in (found.low, found.best, found.high)
        )
        assert exact == plain_method.surviving(assessment, treatments, day)


# Surviving


def test_a_part_not_assessed_may_be_anything_whatever_was_done_to_it() -> None:
    assert left(Engine().part("p").treat("p", "1950", 0.5)) == (0, None, 1)


def test_original_without_a_fraction_is_whole_on_its_assessment_and_loses_what_is_replaced_after() -> None:
    engine = (
        Engine().assess("p", "original", on="2000-01-01").treat("p", "1950", 0.5).treat("p", "2010", 0.25)
    )
    assert left(engine, "2005-01-01") == (1, 1, 1)
    assert left(engine) == (0.75, 0.75, 0.75)


def test_two_repairs_may_fall_on_the_same_metal_or_on_different_metal() -> None:
    engine = Engine().assess("p", "restored").treat("p", "1921", 0.5).treat("p", "March 1998", 0.2)
    assert left(engine) == (0.3, 0.4, 0.5)


def test_repairs_of_more_than_everything_leave_no_less_than_nothing() -> None:
    engine = Engine().assess("p", "restored").treat("p", "1921", 0.7).treat("p", "1998", 0.6)
    assert left(engine)[0] == 0


def test_a_repair_that_may_have_been_before_the_assessment_counts_by_its_best_day() -> None:
    engine = (
        Engine()
        .assess("p", "restored", 0.8, on="2015-06-01")
        .treat("p", "between 2014 and 2020", (0.1, 0.2, 0.3))
    )
    low, best, high = left(engine)
    assert (low, best, high) == (0.5, 0.64, 0.8)


def test_a_repair_whose_best_day_has_not_come_lowers_only_the_low_end() -> None:
    engine = Engine().assess("p", "restored", 0.8, on="2015-06-01").treat("p", "2020", (0.1, 0.2, 0.3))
    assert left(engine, "2020-03-01") == (0.5, 0.8, 0.8)
    assert left(engine, "2019-12-31") == (0.8, 0.8, 0.8)


def test_before_the_assessment_a_loss_nobody_dated_had_not_happened_yet_at_best() -> None:
    engine = Engine().assess("p", "restored", (0.6, 0.7, 0.8), on="2015-06-01")
    assert left(engine, "1900-01-01") == (0.6, 1, 1)


def test_before_the_assessment_dated_losses_are_taken_off() -> None:
    engine = (
        Engine().assess("p", "restored", (0.1, 0.2, 0.3), on="2015-06-01").treat("p", "1921", (0.4, 0.5, 0.6))
    )
    assert left(engine, "1950-01-01") == (0.1, 0.5, 0.6)
    assert left(engine, "1920-01-01") == (0.1, 1, 1)


def test_fabric_once_lost_does_not_come_back() -> None:
    engine = Engine().assess("p", "restored", (0.6, 0.7, 0.8), on="2015-06-01").treat("p", "1921", 0.5)
    assert left(engine, "1950-01-01") == (0.6, 0.7, 0.8)


def test_a_repair_from_some_day_on_may_still_be_to_come() -> None:
    engine = Engine().assess("p", "restored").treat("p", "after 1950", 0.4)
    assert left(engine) == (0.6, 0.6, 1)
    assert left(engine, "1950-12-31") == (1, 1, 1)


def test_a_repair_before_some_day_counts_from_that_day_at_the_latest() -> None:
    engine = Engine().assess("p", "restored").treat("p", "before 1950", 0.4)
    assert left(engine, "1949-12-30") == (0.6, 1, 1)
    assert left(engine, "1949-12-31") == (0.6, 0.6, 0.6)


# Original


@pytest.mark.parametrize(
    ("status", "category"), [("replica", "replica"), ("modern substitute", "modern_substitute")]
)
def test_a_new_part_has_no_original_fabric(status: str, category: str) -> None:
    found = fabric(Engine().assess("p", status))
    assert (found.category, ends(found.f), ends(found.s)) == (category, (0, 0, 0), (1, 1, 1))


def test_a_part_original_to_another_vehicle_is_historic_from_elsewhere() -> None:
    found = fabric(Engine().assess("p", "restored", 0.9, original_to="sister"))
    assert (found.category, ends(found.f), ends(found.s)) == (
        "historic_from_elsewhere",
        (0, 0, 0),
        (0.9, 0.9, 0.9),
    )


def test_a_part_original_to_no_vehicle_is_never_counted_in_this_one_s_favour() -> None:
    assert fabric(Engine().assess("p", "original", original_to="")).category == "historic_from_elsewhere"


def test_a_part_added_after_the_reference_date_is_historic_but_later() -> None:
    found = fabric(Engine().assess("p", "original", since="1895"))
    assert (found.category, ends(found.f), found.straddles) == ("later_historic", (0, 0, 0), False)


def test_blank_original_since_is_the_built_date_of_the_vehicle() -> None:
    engine = Engine(built="between 1890 and 1900").assess("p", "original")
    earlier = engine.reference("as ordered", "1894")
    assert fabric(engine, earlier).straddles
    assert not fabric(engine).straddles


def test_an_original_since_that_straddles_the_reference_is_an_either_or_by_its_best_day() -> None:
    engine = Engine().assess("p", "restored", (0.5, 0.6, 0.7), since="between 1894 and 1895")
    before = fabric(engine)
    assert (before.category, ends(before.f), before.straddles) == ("reference_fabric", (0, 0.6, 0.7), True)
    engine.assess("p", "restored", (0.5, 0.6, 0.7), since="between 1894 and 1904")
    after = fabric(engine)
    assert (after.category, ends(after.f), after.straddles) == ("later_historic", (0, 0, 0.7), True)
    assert ends(after.s) == (0.5, 0.6, 0.7)


def test_up_to_the_reference_day_all_reference_fabric_is_there() -> None:
    engine = Engine().assess("p", "restored", 0.5).treat("p", "1894", 0.5)
    assert ends(fabric(engine, when=day("1894-12-31")).f) == (1, 1, 1)
    assert ends(fabric(engine, when=day("1895-01-01")).f)[0] == 0.5


def test_what_was_lost_before_a_later_reference_does_not_count_against_it() -> None:
    """Half gone by 1912 and half of the rest since: half of what was there in 1912 is left."""
    engine = Engine().assess("p", "restored").treat("p", "1900", 0.5).treat("p", "1950", 0.5)
    rebuilt = engine.reference("as rebuilt", "1912")
    assert ends(fabric(engine).f)[1] == 0.25
    assert ends(fabric(engine, rebuilt).f)[1] == 0.5


def test_a_part_wholly_renewed_by_the_reference_day_was_all_there_of_that_state() -> None:
    """A division by zero gives 1."""
    engine = Engine().assess("p", "restored").treat("p", "1900", 1)
    rebuilt = engine.reference("as rebuilt", "1912")
    assert ends(fabric(engine, rebuilt).f) == (0, 1, 1)


def test_a_reference_that_does_not_begin_after_original_since_measures_against_the_whole_part() -> None:
    """Built on a day, measured against that year: section 10 of the worked example."""
    engine = Engine(built="1 May 1890").assess("p", "restored", (0.5, 0.6, 0.7))
    of_the_year = Reference("of the year", "1890", span("1890"))
    that_day = Reference("that day", "1890-05-01", span("1 May 1890"))
    next_day = Reference("next day", "1890-05-02", span("2 May 1890"))
    assert ends(fabric(engine, of_the_year).f) == (0.5, 0.6, 0.7)
    assert ends(fabric(engine, that_day).f) == (0.5, 0.6, 0.7)
    assert ends(fabric(engine, next_day).f) == (0.5, 0.6, 1)


def test_evidence_below_the_floor_is_no_assessment_but_its_status_is_still_told() -> None:
    engine = Engine().assess("p", "original", strength=1, disputed=True)
    assert fabric(engine, floor=1).category == "reference_fabric"
    below = fabric(engine, floor=2)
    assert (below.category, ends(below.f), below.status, below.disputed) == (
        "not_assessed",
        (0, None, 1),
        "original",
        True,
    )
    assert fabric(Engine()) is NEVER_ASSESSED


def test_a_fraction_without_a_best_value_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a best value"):
        known(Interval(1, None, 3))
