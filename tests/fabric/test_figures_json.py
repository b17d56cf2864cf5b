"""What the commands print with --json: exchange format, Commands. The values are in test_worked_example.py."""

from __future__ import annotations

import json

import pytest

from register.fabric.change import Stated, change
from register.fabric.figures import figures
from register.fabric.figures_json import TypedIds, as_json
from register.fabric.survey import survey
from register.fabric.survival import survival
from register.fabric.timeline import timeline
from tests.fabric.builders import TODAY, Engine, day

IDS = TypedIds("Eng", {"q1": "Q-1", "q2": "q2"}, {"p1": "P.1", "p2": "P2"})
"""As typed: a vehicle, a position and a part may be told apart by case alone, and keep it."""

QUESTION = [
    "vehicle",
    "as_at",
    "reference",
    "reference_date",
    "basis",
    "evidence_floor",
    "visibility",
    "include_wear",
]
FIGURES = [
    "best", "low", "high", "likely_low", "likely_high", "assessed_share", "items", "wear", "temporary", "unweighted",
    "assumed", "no_best", "weight", "composition",
]  # fmt: skip


@pytest.fixture
def engine() -> Engine:
    engine = Engine(empty_kg=2000).position("q1").position("q2")
    engine.part("p1", 1000).fit("p1", "q1").assess("p1", "restored", (0.3, 1 / 3, 0.4))
    return engine.part("p2").fit("p2", "q2", "between 2020 and 2030")


def test_fabric_prints_the_question_then_the_figures_then_their_parts(engine: Engine) -> None:
    answer = figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass")
    found = as_json(answer, IDS)
    assert list(found) == [*QUESTION, *FIGURES, "by_visibility", "whole_vehicle"]
    assert list(found["by_visibility"]) == ["in view", "close inspection", "hidden"]
    assert all(list(seen) == FIGURES for seen in found["by_visibility"].values())
    assert list(found["composition"]) == [
        "reference_fabric", "later_historic", "historic_from_elsewhere", "new_material", "replica", "modern_substitute",
        "not_assessed",
    ]  # fmt: skip
    assert list(found["whole_vehicle"]) == ["low", "high", "mass_accounted_for"]
    assert (found["vehicle"], found["as_at"], found["reference_date"]) == ("Eng", "2024-06-30", "1894")


def test_figures_have_six_decimals_and_those_that_do_not_exist_are_null(engine: Engine) -> None:
    found = as_json(figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass"), IDS)
    assert found["best"] == 33.3333  # a fraction is kept to the millionth
    hidden = found["by_visibility"]["hidden"]
    assert (hidden["best"], hidden["low"], hidden["likely_low"], hidden["assessed_share"]) == (None,) * 4
    assert set(hidden["composition"].values()) == {None}
    assert (hidden["weight"], hidden["items"]) == (0, 0)


def test_there_are_no_whole_vehicle_bounds_off_the_mass_basis_or_for_one_visibility(engine: Engine) -> None:
    count = figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="count")
    part = figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass", visibility="in view")
    assert as_json(count, IDS)["whole_vehicle"] is None
    assert as_json(part, IDS)["whole_vehicle"] is None
    assert as_json(part, IDS)["visibility"] == "in view"


def test_survival_prints_its_shares(engine: Engine) -> None:
    found = as_json(survival(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass"), IDS)
    assert list(found) == [
        "vehicle", "as_at", "reference", "basis", "include_wear", "inventory", "unweighted", "weight", "low", "high",
        "shares",
    ]  # fmt: skip
    assert list(found["shares"]) == [
        "with_this_vehicle", "with_another_vehicle", "in_store", "transferred", "material_renewed", "lost",
        "not_assessed",
    ]  # fmt: skip


def test_timeline_prints_its_steps_oldest_first(engine: Engine) -> None:
    found = as_json(timeline(engine.inputs(), reference=engine.as_built, basis="mass"), IDS)
    assert list(found) == ["vehicle", "reference", "basis", "include_wear", "steps"]
    assert list(found["steps"][0]) == ["from", "best", "low", "high", "assessed_share", "weight", "recorded"]
    days = [step["from"] for step in found["steps"]]
    assert days == sorted(days)
    assert days[0] == "1894-01-01"


def test_survey_prints_typed_ids_and_null_for_no_gain(engine: Engine) -> None:
    found = as_json(survey(figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass")), IDS)
    assert list(found) == [*QUESTION, "width", "parts"]
    assert found["width"] == 10
    assert found["parts"] == [
        {"position_id": "Q-1", "part_id": "P.1", "gain": 10, "why": "fraction not exact"},
        {"position_id": "q2", "part_id": "P2", "gain": None, "why": "unweighted"},
    ]


def test_change_prints_days_and_differences(engine: Engine) -> None:
    before = Stated(engine.inputs(), day("2020-01-01"), engine.as_built)
    engine.treat("p1", "1 May 2022", 0.5)
    found = as_json(change(before, Stated(engine.inputs(), TODAY, engine.as_built), basis="mass"), IDS)
    assert list(found) == ["vehicle", "from", "to", "basis", "total", "work", "knowledge", "parts"]
    assert (found["from"], found["to"]) == ("2020-01-01", "2024-06-30")
    assert (found["work"], found["knowledge"]) == (-16.66665, 0)
    assert found["parts"] == [{"part_id": "P.1", "work": -16.66665, "knowledge": 0}]


def test_every_object_is_plain_json(engine: Engine) -> None:
    answer = figures(engine.inputs(), day=TODAY, reference=engine.as_built, basis="mass")
    for one in (answer, survey(answer)):
        assert json.loads(json.dumps(as_json(one, IDS))) == as_json(one, IDS)


def test_what_has_no_json_is_refused_by_its_name() -> None:
    with pytest.raises(TypeError, match="no JSON is defined for int"):
        as_json(7, IDS)
