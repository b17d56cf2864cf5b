"""The commands that outsiders rely on: their JSON, figure by figure, and what they say of bad input."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from builders import tiny, write_folder
from django.core.management import CommandError, call_command

from register.services.import_register import import_register
from register.services.inputs import inputs_from, inputs_of
from register.services.loading import load_register

pytestmark = pytest.mark.django_db
WORKED = Path(__file__).parent.parent / "worked_example"


@pytest.fixture
def brindlewick():
    import_register(WORKED)


def asked(capsys, *arguments):
    call_command(*arguments, "--json")
    return json.loads(capsys.readouterr().out)


FIGURES = {
    # worked_example.md, sections 5, 6 and 10
    "mass": (("BRIN", "--as-at", "2024-06-30"), {"best": 65.815455, "low": 52.078374, "high": 74.884656, "likely_low": 60.583538, "likely_high": 71.047372,
             "assessed_share": 92.046148, "items": 9, "wear": 1, "temporary": 1, "unweighted": 1, "assumed": 1, "no_best": 0, "weight": 1005.802}),
    "floor": (("BRIN", "--as-at", "2024-06-30", "--evidence-floor", "2"), {"best": None, "likely_low": None, "low": 50.627997, "high": 84.457036, "assessed_share": 79.538518}),
    "count": (("BRIN", "--as-at", "2024-06-30", "--basis", "count"), {"best": 25.375, "low": 18.888889, "high": 36.666667, "unweighted": 0}),
    "significance": (("BRIN", "--as-at", "2024-06-30", "--basis", "significance"), {"best": 40.666667, "low": 29.52381, "high": 53.333333, "unweighted": 1}),
    "as rebuilt": (("BRIN", "--as-at", "2024-06-30", "--reference", "As Rebuilt"), {"best": 65.815455, "low": 52.078374, "high": 86.029908, "likely_low": 56.956647, "likely_high": 75.296881}),
    "1950": (("brin", "--as-at", "1950-03-01"), {"best": 91.675775, "low": 69.206835, "high": 92.68521, "weight": 905.802, "items": 7, "no_best": 1}),
    "another vehicle": (("GRUM", "--as-at", "2024-06-30"), {"best": 50.847458, "low": 42.372881, "high": 59.322034}),
    "hidden": (("BRIN", "--as-at", "2024-06-30", "--visibility", "hidden"), {"best": 0.0, "low": 0.0, "high": 0.0, "items": 2, "unweighted": 1, "whole_vehicle": None}),
}


@pytest.mark.outside
@pytest.mark.parametrize("case", FIGURES)
def test_fabric_prints_the_worked_example(case, brindlewick, capsys):
    arguments, expected = FIGURES[case]
    found = asked(capsys, "fabric", *arguments)
    assert {name: found[name] for name in expected} == expected


KEYS = ["vehicle", "as_at", "reference", "reference_date", "basis", "evidence_floor", "visibility", "include_wear", "best", "low", "high", "likely_low",
        "likely_high", "assessed_share", "items", "wear", "temporary", "unweighted", "assumed", "no_best", "weight", "composition", "by_visibility", "whole_vehicle"]


def test_the_keys_of_fabric_are_those_of_the_exchange_format(brindlewick, capsys):
    found = asked(capsys, "fabric", "BRIN", "--as-at", "2024-06-30")
    assert list(found) == KEYS
    assert list(found["composition"]) == ["reference_fabric", "later_historic", "historic_from_elsewhere", "new_material", "replica", "modern_substitute", "not_assessed"]
    assert list(found["by_visibility"]) == ["in view", "close inspection", "hidden"]
    assert found["whole_vehicle"] == {"low": 42.920831, "high": 79.335889, "mass_accounted_for": 85.066833}


@pytest.mark.outside
def test_survival_prints_the_worked_example(brindlewick, capsys):
    """worked_example.md, section 7."""
    found = asked(capsys, "survival", "BRIN", "--as-at", "2024-06-30")
    assert list(found) == ["vehicle", "as_at", "reference", "basis", "include_wear", "inventory", "unweighted", "weight", "low", "high", "shares"]
    assert (found["inventory"], found["weight"], found["low"], found["high"]) == (6, 900.802, 58.478246, 74.465274)
    assert found["shares"] == {"with_this_vehicle": 67.642035, "with_another_vehicle": 4.995548, "in_store": 6.660731, "transferred": 0.0,
                               "material_renewed": 15.706137, "lost": 4.995548, "not_assessed": 0.0}


def test_a_part_that_may_be_where_another_certainly_is_belongs_to_no_other_vehicle(tmp_path, capsys):
    """Method, section 3: a possible installation is struck out where another one is definite in its position, in another
    vehicle as in this one, though that part was never here."""
    away = [{"position_id": "G1", "part_id": "P1", "fitted": "after 1960"}, {"position_id": "G1", "part_id": "P3", "fitted": "1955"}]
    tables = tiny(installations=away)
    tables["installations"][0]["removed"] = "1950"
    tables["assessments"][0]["original_to"] = "L1"
    import_register(write_folder(tmp_path / "sheet", tables))
    found = asked(capsys, "survival", "L1", "--as-at", "2000-01-01")
    assert (found["shares"]["in_store"], found["shares"]["with_another_vehicle"]) == (60.0, 0.0)
    assert inputs_of("l1") == inputs_from(load_register(), "l1")


@pytest.mark.outside
def test_timeline_prints_the_worked_example(brindlewick, capsys):
    """worked_example.md, section 9."""
    steps = {step["from"]: step for step in asked(capsys, "timeline", "BRIN")["steps"]}
    for day, best in {"1894-07-02": 100.0, "1895-01-01": 100.0, "1912-05-16": 94.48003, "1921-07-02": 91.675775, "1950-07-02": 91.085266, "2015-06-01": 72.552573,
                      "2018-07-02": 65.815455, "2019-04-12": 65.815455}.items():
        assert steps[day]["best"] == best, day
    assert [day for day, step in steps.items() if step["recorded"]] == ["2015-06-01"]
    assert "2018-12-31" not in steps and "2017-02-03" not in steps and list(steps)[-1] == "2019-04-12"


@pytest.mark.outside
def test_survey_next_prints_the_worked_example(brindlewick, capsys):
    """worked_example.md, section 8."""
    found = asked(capsys, "survey_next", "BRIN", "--as-at", "2024-06-30")
    assert found["width"] == 22.806282
    assert [(one["part_id"], one["gain"]) for one in found["parts"]][:4] == [("P2", 12.311677), ("P11", 8.46768), ("P3", 0.971564), ("P10", 0.607013)]
    assert found["parts"][-1]["part_id"] == "P12" and found["parts"][-1]["gain"] is None


BAD = [("fabric", "NOBODY"), ("fabric", "BRIN", "--as-at", "1900-02-30"), ("fabric", "BRIN", "--reference", "as dreamt"), ("survival", "BRIN", "--as-at", "1890-01-01"),
       ("timeline", "NOBODY"), ("survey_next", "BRIN", "--as-at", "yesterday"), ("statement", "NOBODY", "--output", "x.pdf"), ("add_person", "A. Bell", "king"),
       ("fabric", "BRIN", "--as-at", "c. 1900"), ("export_register", "/dev/null/x.xlsx"), ("restore", "/nowhere")]


@pytest.mark.parametrize("arguments", BAD, ids=[" ".join(one) for one in BAD])
def test_bad_input_gets_a_sentence_and_a_non_zero_exit(arguments, brindlewick, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises((SystemExit, CommandError)) as stop:
        call_command(*arguments)
    told = capsys.readouterr().err or str(stop.value)
    assert len(told.strip().splitlines()) == 1 and told.strip().endswith("."), told
    assert isinstance(stop.value, CommandError) or stop.value.code == 1


@pytest.mark.parametrize("arguments", [("fabric", "BRIN", "--basis", "weight"), ("fabric", "BRIN", "--evidence-floor", "9"), ("fabric",)])
def test_arguments_that_do_not_exist_are_refused(arguments, brindlewick):
    with pytest.raises(CommandError):
        call_command(*arguments)


def test_without_json_the_bounds_come_first(brindlewick, capsys):
    call_command("fabric", "BRIN", "--as-at", "2024-06-30")
    told = capsys.readouterr().out
    assert "52.0" in told and "74.9" in told and told.index("52.0") < told.index("65.8") and "1 of 9" in told
