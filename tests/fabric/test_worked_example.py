"""Every figure of tests/worked_example/worked_example.md, which was worked out by hand from its tables.

The numbers here are copied from that page, to its printed digits; § in comments are its sections.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from register.fabric.figures import VehicleFigures, figures
from register.fabric.figures_json import TypedIds, as_json
from register.fabric.inputs import Reference, VehicleInputs
from register.fabric.interval import ONE, Interval
from register.fabric.occupancy import occupancy, stand_ins
from register.fabric.rounding import to_six
from register.fabric.survey import survey
from register.fabric.survival import survival
from register.fabric.timeline import timeline
from tests.fabric.builders import TODAY, day, span
from tests.fabric.worked_example_inputs import worked_example

BRIN, GRUM = worked_example("BRIN"), worked_example("GRUM")
AS_BUILT, AS_REBUILT = BRIN.references


def on(
    when: str = "2024-06-30", reference: Reference = AS_BUILT, basis: str = "mass", floor: int = 0
) -> VehicleFigures:
    return figures(BRIN, day=day(when), reference=reference, basis=basis, evidence_floor=floor)


def ids(inputs: VehicleInputs) -> TypedIds:
    return TypedIds(
        inputs.vehicle.key.upper(),
        {key: key.upper() for key in inputs.positions},
        {key: key.upper() for key in inputs.parts},
    )


def shares(low: str, best: str | None, high: str) -> Interval:
    at = [None if text is None else int(Fraction(text) * ONE) for text in (low, best, high)]
    return Interval(*at)


# §1 Dates that matter


@pytest.mark.parametrize(
    ("typed", "earliest", "best", "latest"),
    [
        ("1894", "1894-01-01", "1894-07-02", "1894-12-31"),
        ("1950", "1950-01-01", "1950-07-02", "1950-12-31"),
        ("May 1912", "1912-05-01", "1912-05-16", "1912-05-31"),
        ("1912", "1912-01-01", "1912-07-01", "1912-12-31"),
        ("12/09/2016", "2016-09-12", "2016-09-12", "2016-09-12"),
    ],
)
def test_dates_cover_these_days(typed: str, earliest: str, best: str, latest: str) -> None:
    assert span(typed) == (day(earliest), day(best), day(latest))


def test_the_references_begin_and_end_on_these_days() -> None:
    assert (AS_BUILT.span.earliest, AS_BUILT.span.latest) == (day("1894-01-01"), day("1894-12-31"))
    assert (AS_REBUILT.span.earliest, AS_REBUILT.span.latest) == (day("1912-06-01"), day("1912-06-30"))


def test_a_part_known_only_to_have_been_seen_was_fitted_between_the_build_day_and_then() -> None:
    beam = next(one for one in BRIN.installations if one.part == "p11")
    assert beam.fitted == (day("1894-01-01"), day("2019-04-12"), day("2019-04-12"))


# §2 What is fitted


def test_nine_positions_are_occupied_and_all_of_them_certainly() -> None:
    there = occupancy(BRIN, TODAY)
    fitted = {one.position: one.best.part for one in there if one.best}
    wear = {"q11": "p13"}
    assert fitted == wear | {
        "q1": "p1", "q2": "p2", "q3": "p3", "q4": "p4", "q5": "p6", "q6": "p8", "q7": "p10", "q8": "p11", "q9": "p12",
    }  # fmt: skip
    assert all(one.certain for one in there)
    assert [one.part for one in stand_ins(BRIN, TODAY)] == ["p14"]


# §3 and §4 Surviving and original fractions, weights, categories


def test_the_account_of_each_item() -> None:
    row = {one.position: one for one in on().rows}
    kg = {key: one.weight and tuple(Fraction(end, 1000) for end in (one.weight.low, one.weight.best, one.weight.high))
          for key, one in row.items()}  # fmt: skip
    exact = {"q1": 400, "q3": Fraction("50.802"), "q4": 60, "q5": 40, "q6": 50}
    assert kg == {key: (value,) * 3 for key, value in exact.items()} | {
        "q2": (270, 300, 330), "q7": (20, 25, 30), "q8": (70, 80, 90), "q9": None,
    }  # fmt: skip
    assert {key: one.category for key, one in row.items()} == {
        "q1": "reference_fabric", "q2": "reference_fabric", "q3": "reference_fabric", "q4": "replica",
        "q5": "modern_substitute", "q6": "later_historic", "q7": "historic_from_elsewhere", "q8": "not_assessed",
        "q9": "replica",
    }  # fmt: skip
    assert row["q1"].f == shares("1", "1", "1")
    assert row["q2"].f == row["q2"].s == shares("0.4", "0.63", "0.8")
    assert row["q3"].f == row["q3"].s == shares("0.3", "0.4", "0.5")
    assert row["q8"].f == shares("0", None, "1")
    assert all(row[key].f == shares("0", "0", "0") for key in ("q4", "q5", "q6", "q7"))
    assert row["q6"].s == shares("1", "1", "1")
    assert row["q7"].s == shares("0.9", "0.9", "0.9")
    assert [key for key, one in row.items() if one.assumed] == ["q8"]


# §5 Figures


def test_the_figures_by_mass_against_as_built() -> None:
    found = as_json(on(), ids(BRIN))
    by_visibility = found.pop("by_visibility")
    assert found == {
        "vehicle": "BRIN",
        "as_at": "2024-06-30",
        "reference": "as built",
        "reference_date": "1894",
        "basis": "mass",
        "evidence_floor": 0,
        "visibility": None,
        "include_wear": False,
        "best": 65.815455,
        "low": 52.078374,
        "high": 74.884656,
        "likely_low": 60.583538,
        "likely_high": 71.047372,
        "assessed_share": 92.046148,
        "items": 9,
        "wear": 1,
        "temporary": 1,
        "unweighted": 1,
        "assumed": 1,
        "no_best": 0,
        "weight": 1005.802,
        "composition": {
            "reference_fabric": 60.580591,
            "later_historic": 4.971157,
            "historic_from_elsewhere": 2.237021,
            "new_material": 14.315064,
            "replica": 5.965389,
            "modern_substitute": 3.976926,
            "not_assessed": 7.953852,
        },
        "whole_vehicle": {"low": 42.920831, "high": 79.335889, "mass_accounted_for": 85.066833},
    }
    columns = ("best", "low", "high", "assessed_share", "items", "unweighted")
    assert {seen: tuple(one[column] for column in columns) for seen, one in by_visibility.items()} == {
        "in view": (74.949947, 63.804444, 79.194747, 87.515644, 5, 0),
        "close inspection": (58.153846, 36.0, 75.428571, 100.0, 2, 0),
        "hidden": (0.0, 0.0, 0.0, 100.0, 2, 1),
    }


def test_the_figures_at_evidence_floor_2() -> None:
    assert {row.part: row.strength for row in on().rows} == {
        "p1": 3, "p2": 2, "p3": 1, "p4": 3, "p6": 3, "p8": 1, "p10": 1, "p11": 0, "p12": 0,
    }  # fmt: skip
    found = as_json(on(floor=2), ids(BRIN))
    assert (found["best"], found["likely_low"], found["likely_high"]) == (None, None, None)
    assert (found["low"], found["high"], found["assessed_share"]) == (50.627997, 84.457036, 79.538518)


def test_the_figures_by_count_and_by_significance() -> None:
    count, significance = (as_json(on(basis=basis), ids(BRIN)) for basis in ("count", "significance"))
    assert (count["best"], count["low"], count["high"]) == (25.375, 18.888889, 36.666667)
    assert (count["items"], count["weight"], count["unweighted"]) == (9, 9, 0)
    assert (significance["best"], significance["low"], significance["high"]) == (
        40.666667,
        29.52381,
        53.333333,
    )
    assert (significance["weight"], significance["unweighted"]) == (21, 1)


def test_the_figures_against_as_rebuilt() -> None:
    found = as_json(on(reference=AS_REBUILT), ids(BRIN))
    assert (found["best"], found["low"], found["high"]) == (65.815455, 52.078374, 86.029908)
    assert (found["likely_low"], found["likely_high"]) == (56.956647, 75.296881)
    row = {one.part: one for one in on(reference=AS_REBUILT).rows}
    assert row["p2"].f == shares("0.4", "0.63", "1")
    assert row["p3"].f == shares("0.3", "0.4", "0.5")
    assert (row["p8"].f, row["p8"].category, row["p8"].straddles) == (
        shares("0", "0", "1"),
        "later_historic",
        True,
    )


# §6 Another day


def test_the_figures_on_the_first_of_march_1950() -> None:
    answer = on("1950-03-01")
    found = as_json(answer, ids(BRIN))
    assert (found["best"], found["low"], found["high"]) == (91.675775, 69.206835, 92.68521)
    assert (found["weight"], found["items"], found["no_best"]) == (905.802, 7, 1)
    row = {one.position: one for one in answer.rows}
    assert (row["q4"].part, row["q4"].weight, row["q4"].certain) == ("p5", Interval(0, 60_000, 65_000), False)
    assert (row["q8"].weight, row["q8"].f) == (Interval(0, None, 90_000), shares("0", None, "1"))
    assert row["q2"].f == shares("0.6", "1", "1")
    assert row["q3"].f == shares("0.5", "0.5", "0.5")


# §10 A year for a reference, a day for a building


def test_grumbold_built_on_a_day_measured_against_a_year() -> None:
    answer = figures(GRUM, day=TODAY, reference=GRUM.references[0], basis="mass")
    assert [to_six(figure) for figure in (answer.whole.best, answer.whole.low, answer.whole.high)] == [
        50.847458,
        42.372881,
        59.322034,
    ]
    row = {one.part: one for one in answer.rows}
    assert row["p15"].f == shares("0.5", "0.6", "0.7")
    assert row["p9"].category == "historic_from_elsewhere"


# §7 Survival


def test_what_became_of_the_vehicle_as_built() -> None:
    answer = survival(BRIN, day=TODAY, reference=AS_BUILT, basis="mass")
    assert as_json(answer, ids(BRIN)) == {
        "vehicle": "BRIN",
        "as_at": "2024-06-30",
        "reference": "as built",
        "basis": "mass",
        "include_wear": False,
        "inventory": 6,
        "unweighted": 0,
        "weight": 900.802,
        "low": 58.478246,
        "high": 74.465274,
        "shares": {
            "with_this_vehicle": 67.642035,
            "with_another_vehicle": 4.995548,
            "in_store": 6.660731,
            "transferred": 0.0,
            "material_renewed": 15.706137,
            "lost": 4.995548,
            "not_assessed": 0.0,
        },
    }
    assert {row.part: (row.where, row.vehicle) for row in answer.rows} == {
        "p1": ("with_this_vehicle", "brin"),
        "p2": ("with_this_vehicle", "brin"),
        "p3": ("with_this_vehicle", "brin"),
        "p5": ("in_store", ""),
        "p7": ("lost", ""),
        "p9": ("with_another_vehicle", "grum"),
    }


# §8 What to find out next


def test_what_to_find_out_next() -> None:
    found = as_json(survey(on()), ids(BRIN))
    assert found["width"] == 22.806282
    assert [(one["position_id"], one["part_id"], one["gain"]) for one in found["parts"]] == [
        ("Q2", "P2", 12.311677),
        ("Q8", "P11", 8.46768),
        ("Q3", "P3", 0.971564),
        ("Q7", "P10", 0.607013),
        ("Q1", "P1", 0.0),
        ("Q4", "P4", 0.0),
        ("Q5", "P6", 0.0),
        ("Q6", "P8", 0.0),
        ("Q9", "P12", None),
    ]
    assert found["parts"][-1]["why"] == "unweighted"


# §9 Timeline


def test_some_steps_of_the_timeline() -> None:
    steps = as_json(timeline(BRIN, reference=AS_BUILT, basis="mass"), ids(BRIN))["steps"]
    best = {step["from"]: step["best"] for step in steps}
    assert {
        "1894-07-02": 100.0,
        "1895-01-01": 100.0,
        "1912-05-16": 94.48003,
        "1921-07-02": 91.675775,
        "1950-07-02": 91.085266,
        "2015-06-01": 72.552573,
        "2018-07-02": 65.815455,
        "2019-04-12": 65.815455,
    }.items() <= best.items()
    assert [step["from"] for step in steps if step["recorded"]] == ["2015-06-01"]
    assert not {"2017-02-03", "2021-03-01", "2018-12-31"} & best.keys()
    assert steps[0]["from"] == "1894-01-01"
    share = {step["from"]: step["assessed_share"] for step in steps}
    assert share["2018-07-02"] == 100.0
    assert share["2019-04-12"] == 92.046148
    assert steps[-1]["from"] == "2019-04-12"


def test_the_low_bound_falls_on_the_day_after_the_reference_date() -> None:
    low = {step.start: step.level.low for step in timeline(BRIN, reference=AS_BUILT, basis="mass").steps}
    assert low[day("1895-01-01")] < low[day("1894-12-31")]
