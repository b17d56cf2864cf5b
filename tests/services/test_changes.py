"""What changed between issued statements, from their frozen rows: method, section 12."""

from __future__ import annotations

import json
from datetime import date
from io import BytesIO

import pytest
from builders import change
from django.core.management import call_command
from pypdf import PdfReader

from register.models import StatementFile
from register.services.change_sets import apply
from register.services.changes import compared, in_words, of_register, of_statement, on_day
from tests.services.issued import issue, plant

pytestmark = pytest.mark.django_db


@pytest.fixture
def two(tmp_path):
    """60 kg of chimney and 40 kg of dome, both original: 100 %. Then half of the chimney is renewed (work), and the dome
    turns out a replica (knowledge): 60 · 0.5 ÷ 100 = 30 %. Of the 70 points 30 are work and 40 knowledge."""
    plant(tmp_path, assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}])
    issue()
    apply(
        [
            change("treatments", part_id="P1", date="2024-07-01", work="new top", replaced="0.5"),
            change("assessments", part_id="P2", assessed_on="2021-05-01", status="replica"),
        ],
        kind="test",
    )
    return issue(day=date(2025, 1, 1), why="the chimney was renewed")


def said(capsys, *arguments):
    capsys.readouterr()
    try:
        call_command("change", *arguments)
    except SystemExit as left:
        assert left.code == 1
        return capsys.readouterr().err
    return capsys.readouterr().out


def test_work_and_knowledge_are_told_apart_and_add_up(two, capsys):
    found = json.loads(said(capsys, "CS-0001", "CS-0002", "--json"))
    assert found == {
        "vehicle": "L1", "from": "2024-06-01", "to": "2025-01-01", "basis": "mass", "total": -70.0, "work": -30.0, "knowledge": -40.0,
        "parts": [{"part_id": "P2", "work": 0.0, "knowledge": -40.0}, {"part_id": "P1", "work": -30.0, "knowledge": 0.0}],
    }


def test_it_is_told_in_words(two, capsys):
    text = said(capsys, "cs-0001", "CS-0002").replace("\u00a0", " ")
    assert "The best figure by mass went from 100.0 % to 30.0 %: −70.0 points." in text
    assert "40.0 of the 70.0 points are knowledge (something was found out), 30.0 are work (something was done)." in text
    assert "Found out: dome (−40.0)." in text and "Done: first chimney (−30.0)." in text


def test_the_next_statement_prints_it(two):
    for name, named in (("internal.pdf", True), ("public.pdf", True)):
        data = bytes(StatementFile.objects.get(statement=two, name=name).data)
        text = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages).split())
        assert "What changed since CS-0001" in text
        assert ("40.0 of the 70.0 points are knowledge" in text) is named


def test_a_later_correction_does_not_change_what_changed(two, capsys):
    before = said(capsys, "CS-0001", "CS-0002", "--json")
    apply([change("parts", part_id="P1", name="first chimney", mass="6000 kg")], kind="test")
    assert said(capsys, "CS-0001", "CS-0002", "--json") == before
    since = compared(of_statement("CS-0002"), of_register("L1", date(2025, 1, 1)))
    assert since.work == 0 and since.knowledge > 0


def test_between_two_days_as_known_now_all_is_work(two):
    now = of_register("L1", date(2025, 1, 1))
    found = compared(on_day(now, date(2024, 6, 1), "then"), now)
    assert (found.work, found.knowledge) == (-30, 0)
    assert "All of it is work" in " ".join(in_words(now, now, found).sentences)


def test_nothing_done_and_nothing_learned_is_said(two):
    now = of_register("L1", date(2025, 1, 1))
    assert in_words(now, now, compared(now, now)).sentences[0].startswith("Nothing changed")


def test_without_a_best_figure_the_bounds_are_left(tmp_path):
    plant(tmp_path)
    apply([change("installations", position_id="G1", part_id="P3", fitted="1900")], kind="test")
    now = of_register("L2", date(2025, 1, 1))
    assert "no best figure" in in_words(now, now, compared(now, now)).sentences[0]


def test_what_cannot_be_compared_is_said(two, capsys):
    assert "There is no statement CS-0009." in said(capsys, "CS-0001", "CS-0009")
    apply([change("installations", position_id="G1", part_id="P3", fitted="1900")], kind="test")
    issue("L2")
    assert "different vehicles" in said(capsys, "CS-0001", "CS-0003")
