"""When a part was fitted, and what is fitted on a day: method, end of section 2, and section 3."""

from __future__ import annotations

import pytest

from register.fabric.dates import HistoricDate, Span, read_date
from register.fabric.figures import figures
from register.fabric.inputs import VehicleInputs
from register.fabric.interval import ONE, Interval
from register.fabric.occupancy import Occupancy, occupancy, resolve, stand_ins
from tests.fabric.builders import Engine, day, span

BUILT = span("1894")


def date_of(text: str | None) -> HistoricDate | None:
    return read_date(text, as_built=True) if text else None


def resolved(
    fitted: str | None, seen_on: str | None = None, removed: str | None = None, built: Span = BUILT
) -> tuple[Span, Span | None]:
    return resolve(date_of(fitted), day(seen_on) if seen_on else None, date_of(removed), built)


def there(engine: Engine, when: str) -> dict[str, Occupancy]:
    return {one.position: one for one in occupancy(engine.inputs(), day(when))}


# When a part was fitted


def test_as_built_is_the_built_date_of_the_vehicle() -> None:
    assert resolved("as built") == (BUILT, None)
    assert resolved("as built", built=span("May 1890")) == (span("May 1890"), None)


def test_a_part_only_seen_was_fitted_between_the_earliest_build_day_and_then_at_best_that_day() -> None:
    assert resolved(None, "1931-05-04") == ((day("1894-01-01"), day("1931-05-04"), day("1931-05-04")), None)


def test_a_sighting_tightens_the_fitting_and_its_best_day() -> None:
    fitted, _ = resolved("between 1900 and 1919", "1905-12-31")
    assert fitted == (day("1900-01-01"), (day("1900-01-01") + day("1905-12-31")) // 2, day("1905-12-31"))


def test_a_sighting_tightens_a_fitting_with_no_latest_day() -> None:
    fitted, _ = resolved("after 1903", "1931-05-04")
    assert (fitted.earliest, fitted.latest) == (day("1904-01-01"), day("1931-05-04"))


def test_a_sighting_tightens_the_removal_to_the_day_after_it() -> None:
    _, removed = resolved("1894", "1931-05-04", "between 1930 and 1939")
    assert removed == (day("1931-05-05"), (day("1931-05-05") + day("1939-12-31")) // 2, day("1939-12-31"))


def test_a_sighting_after_the_latest_day_of_fitting_leaves_the_fitting_alone() -> None:
    assert resolved("1900", "1931-05-04") == (span("1900"), None)


@pytest.mark.parametrize(
    ("fitted", "seen_on", "removed", "sentence"),
    [
        (None, None, None, "Neither fitted nor seen on is given"),
        (None, "1893-12-31", None, "Seen on 31 December 1893 is before the vehicle was built"),
        ("1900", "1899-12-31", None, "Seen on 31 December 1899 is before fitted, 1900"),
        ("1900", "1931-12-31", "1931", "Seen on 31 December 1931 is not before the last possible day of the removal, 1931"),
        ("1950", None, "1949", "Removed, 1949, is before fitted, 1950"),
        ("between 1900 and 1950", None, "between 1899 and 1901", "is before fitted, between 1900 and 1950"),
    ],
)  # fmt: skip
def test_impossible_dates_are_refused_with_a_sentence(
    fitted: str | None, seen_on: str | None, removed: str | None, sentence: str
) -> None:
    with pytest.raises(ValueError, match=sentence):
        resolved(fitted, seen_on, removed)


def test_a_part_may_go_in_and_out_within_one_date() -> None:
    assert resolved("1894", None, "1894") == (span("1894"), span("1894"))


# What is fitted


def test_a_part_is_in_on_the_day_of_its_fitting_and_out_on_the_day_of_its_removal() -> None:
    engine = Engine().item("dome", 45, fitted="12 May 1912", removed="3 June 1920")
    assert there(engine, "1912-05-11") == {}
    assert there(engine, "1912-05-12")["dome"].certain
    assert there(engine, "1920-06-02")["dome"].certain
    assert there(engine, "1920-06-03") == {}


def test_between_the_first_and_the_last_possible_day_nothing_is_certain() -> None:
    engine = Engine().item("dome", 45, fitted="1912", removed="1920")
    early, late = there(engine, "1912-03-01")["dome"], there(engine, "1912-09-01")["dome"]
    assert (early.certain, early.best) == (False, None)
    assert (late.certain, late.best.part if late.best else None) == (False, "dome")
    assert there(engine, "1912-12-31")["dome"].certain
    assert there(engine, "1920-03-01")["dome"].best is not None
    assert there(engine, "1920-09-01")["dome"].best is None
    assert there(engine, "1920-12-31") == {}


def test_a_part_definite_in_the_position_rules_out_the_others() -> None:
    engine = Engine().position("dome").part("first").part("second")
    engine.fit("first", "dome", "1894", "between 1910 and 1920").fit("second", "dome", "12 May 1912")
    assert [one.part for one in there(engine, "1911-01-01")["dome"].possible] == ["first"]
    after = there(engine, "1915-01-01")["dome"]
    assert ([one.part for one in after.possible], after.certain) == (["second"], True)


def test_a_part_definite_elsewhere_is_ruled_out_here() -> None:
    engine = Engine().position("dome").part("first")
    engine.fit("first", "dome", "1894", "between 1910 and 1920")
    engine.fit("first", "sister's dome", "12 May 1912", vehicle="sister")
    assert there(engine, "1912-05-11").keys() == {"dome"}
    assert there(engine, "1912-05-12") == {}


def test_a_part_possible_elsewhere_rules_out_nothing() -> None:
    engine = Engine().position("dome").part("first")
    engine.fit("first", "dome", "1894", "between 1910 and 1920")
    engine.fit("first", "sister's dome", "between 1911 and 1920", vehicle="sister")
    assert there(engine, "1915-01-01").keys() == {"dome"}


def test_of_several_the_best_is_the_latest_fitted_and_then_the_lowest_id() -> None:
    engine = Engine().position("lamp").part("b").part("a").part("c")
    engine.fit("b", "lamp", "1900", "between 1900 and 1930").fit("a", "lamp", "1900", "between 1900 and 1930")
    engine.fit("c", "lamp", "1899", "between 1900 and 1930")
    lamp = there(engine, "1905-01-01")["lamp"]
    assert [one.part for one in lamp.possible] == ["a", "b", "c"]
    assert lamp.best is not None
    assert lamp.best.part == "a"


def test_a_stand_in_occupies_nothing_and_is_counted_where_it_is_possible() -> None:
    engine = Engine().position("pump", visibility="hidden").part("borrowed", 24)
    engine.fit("borrowed", "pump", "May 2024", "September 2024", temporary=True)
    inputs = engine.inputs()
    assert occupancy(inputs, day("2024-06-30")) == []
    assert [one.part for one in stand_ins(inputs, day("2024-05-01"))] == ["borrowed"]
    assert [one.part for one in stand_ins(inputs, day("2024-09-29"))] == ["borrowed"]
    assert stand_ins(inputs, day("2024-09-30")) == []
    answer = figures(inputs, day=day("2024-06-30"), reference=engine.as_built, basis="mass")
    assert (answer.whole.items, answer.whole.temporary, answer.by_visibility["hidden"].temporary) == (0, 1, 1)


def test_a_stand_in_does_not_rule_out_the_part_it_stands_in_for() -> None:
    engine = Engine().item("pump", 25, "original").part("borrowed", 24)
    engine.fit("borrowed", "pump", "1 May 2024", temporary=True)
    assert there(engine, "2024-06-30")["pump"].certain


# What an uncertain occupancy weighs


def uncertain(engine: Engine, when: str, basis: str = "mass") -> tuple[VehicleInputs, object]:
    answer = figures(engine.inputs(), day=day(when), reference=engine.as_built, basis=basis)
    return answer.whole, answer.rows[0]


def test_an_uncertain_occupancy_is_the_hull_of_what_may_be_there_and_may_weigh_nothing() -> None:
    engine = Engine().position("dome").part("old", (40, 45, 50)).part("new", (60, 65, 70))
    engine.assess("old", "restored", (0.5, 0.6, 0.7), on="1900-01-01").assess("new", "replica")
    engine.fit("old", "dome", "1894", "1912").fit("new", "dome", "1912")
    whole, row = uncertain(engine, "1912-08-01")
    assert (row.weight, row.f) == (Interval(0, 65_000, 70_000), Interval(0, 0, 7 * ONE // 10))
    assert (row.part, row.parts, row.category) == ("new", ("new", "old"), "replica")
    assert (whole.best, whole.no_best) == (0, 0)


def test_a_part_without_weight_is_no_part_of_the_hull() -> None:
    engine = Engine().position("dome").part("old", 45).part("new")
    engine.assess("old", "restored", 0.5, on="1900-01-01").assess("new", "replica")
    engine.fit("old", "dome", "1894", "1912").fit("new", "dome", "1912")
    whole, row = uncertain(engine, "1912-03-01")
    assert (row.weight, row.f, row.part) == (Interval(0, 45_000, 45_000), Interval.exactly(ONE // 2), "old")
    whole, row = uncertain(engine, "1912-08-01")
    assert (row.weight, row.f.best, row.part) == (Interval(0, None, 45_000), None, "new")
    assert (whole.no_best, whole.unweighted, whole.best) == (1, 0, None)


def test_an_item_none_of_whose_parts_has_a_weight_is_unweighted_not_without_a_best() -> None:
    engine = Engine().position("dome").part("old").part("new")
    engine.fit("old", "dome", "1894", "1912").fit("new", "dome", "1912")
    whole, row = uncertain(engine, "1912-03-01")
    assert (whole.unweighted, whole.no_best, row.weight, row.no_best) == (1, 0, None, False)


def test_a_part_may_be_seen_otherwise_than_its_position() -> None:
    engine = Engine().position("pump", visibility="in view").part("pump", 25).assess("pump", "original")
    engine.fit("pump", "pump", "1894", visibility="hidden")
    answer = figures(engine.inputs(), day=day("2024-06-30"), reference=engine.as_built, basis="mass")
    assert answer.by_visibility["hidden"].items == 1
    assert answer.by_visibility["in view"].items == 0


def test_where_it_is_not_certain_what_is_fitted_the_best_installation_tells_how_it_is_seen() -> None:
    engine = Engine().position("pump", visibility="in view").part("pump", 25).assess("pump", "original")
    engine.fit("pump", "pump", "1894", "between 2020 and 2030", visibility="hidden")
    assert uncertain(engine, "2022-01-01")[1].visibility == "hidden"
    assert uncertain(engine, "2028-01-01")[1].visibility == "in view"  # no best then: as the position
