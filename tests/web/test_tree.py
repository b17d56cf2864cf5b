"""The position tree of a vehicle: found, filtered and paged by the address alone."""

from __future__ import annotations

import re

import pytest
from builders import change, changes_of, empty_the_register, tiny
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.services.change_sets import apply
from register.web.tree import FIRST, PAGE, ROWS, TOPS

pytestmark = pytest.mark.django_db

ROWS_OF = {
    # position: (parent, name, visibility, part, its own columns, status, installation's own columns)
    "A": ("", "Boiler", "in view"), "A1": ("A", "Barrel", "hidden"), "A2": ("A", "Łódź dome", "in view"), "A3": ("A", "Whistle", "in view"), "A4": ("A", "Lamp iron", "close inspection"),
    "B": ("", "Brakes", "close inspection"), "B1": ("B", "Shoes", "close inspection"), "B2": ("B", "Ejector", "close inspection"),
}  # fmt: skip


@pytest.fixture
def engine(db):
    rows = {
        "vehicles": [{"vehicle_id": "E", "name": "Engine", "kind": "locomotive", "built": "1894"}],
        "positions": [{"position_id": key, "vehicle_id": "E", "parent_id": parent, "name": name, "visibility": seen, "wear_part": "yes" if key == "B1" else "no"} for key, (parent, name, seen) in ROWS_OF.items()],
        "parts": [{"part_id": "BO-101", "name": "barrel of 1912", "mass": "1000"}, {"part_id": "BO-171", "name": "dome cover", "mass": "20", "hazards": "asbestos;lead paint"},
                  {"part_id": "BO-180", "name": "whistle from the other", "mass": "5"}, {"part_id": "BR-1", "name": "shoes", "mass": "40"},
                  {"part_id": "EJ-1", "name": "Secretejector", "access": "restricted", "hazards": "asbestos"}, {"part_id": "EJ-9", "name": "borrowed ejector", "hazards": "other"}],
        "installations": [{"position_id": "A1", "part_id": "BO-101", "fitted": "1912"}, {"position_id": "A2", "part_id": "BO-171", "fitted": "as built"}, {"position_id": "A3", "part_id": "BO-180", "fitted": "1950"},
                          {"position_id": "B1", "part_id": "BR-1", "fitted": "2000"}, {"position_id": "B2", "part_id": "EJ-1", "fitted": "1960"}, {"position_id": "B2", "part_id": "EJ-9", "fitted": "2020", "temporary": "yes"}],
        "assessments": [{"part_id": "BO-101", "assessed_on": "2020-01-01", "status": "replica"}, {"part_id": "BO-180", "assessed_on": "2020-01-01", "status": "original"}],
        "sources": [{"source_id": "S1", "kind": "mark", "title": "stamp"}],
        "citations": [{"part_id": "BO-180", "source_id": "S1", "supports": "no"}],
    }  # fmt: skip
    apply(changes_of(rows), kind="import", whole=True)


def names(answer):
    """The positions listed, in the order of the page."""
    section = answer.content.decode().split('id="positions"', 1)[1].split("<h2>Identity", 1)[0]
    return [one.strip() for one in re.findall(r'<th scope="row"[^>]*>(?:<a [^>]+>)?([^<]+)', section)]


FILTERS = {
    "find=barrel": ["Barrel"],
    "find=bo101": ["Barrel"],
    "find=LODZ": ["Łódź dome"],
    "find=dome+cover": ["Łódź dome"],
    "find=a2": ["Łódź dome"],
    "find=borrowed": ["Ejector"],
    "status=replica": ["Barrel"],
    "status=not+assessed": ["Łódź dome", "Ejector"],
    "status=restored": [],
    "seen=hidden": ["Barrel"],
    "seen=close+inspection&status=not+assessed": ["Ejector"],
    "only=disputed": ["Whistle"],
    "only=stand-ins": ["Ejector"],
    "only=hazards": ["Łódź dome", "Ejector"],
    "only=empty": ["Lamp iron"],
    "only=wear": ["Shoes"],
    "only=unweighted": ["Ejector"],
    "only=doubtful": [],
    "only=stand-ins&as_at=2019-01-01": [],
    "only=stand-ins&status=replica": [],
    "only=hazards&wear=yes&basis=count&evidence=3": ["Łódź dome", "Ejector"],
}


@pytest.mark.parametrize("query", FILTERS)
def test_the_address_says_which_positions_are_listed(query, engine, officer):
    answer = officer.get("/vehicles/e/?" + query)
    assert names(answer) == FILTERS[query]
    assert ("No position answers" in answer.content.decode()) == (not FILTERS[query])


def test_each_that_is_listed_says_in_what_it_lies_and_what_must_be_known_before_touching_it(engine, officer):
    text = officer.get("/vehicles/e/?only=hazards").content.decode()
    assert "in Boiler" in text and "Asbestos, lead paint" in text and "meanwhile" in text and "EJ-9" in text


def test_whoever_may_not_read_a_part_still_reads_its_hazard_and_finds_it_by_no_name(engine, sign_in):
    client = sign_in("recorder")
    text = client.get("/vehicles/e/?only=hazards").content.decode()
    assert names(client.get("/vehicles/e/?only=hazards")) == ["Łódź dome", "Ejector"]
    assert "Secretejector" not in text and "EJ-1" not in text and text.count("Asbestos") >= 2
    assert names(client.get("/vehicles/e/?find=secretejector")) == names(client.get("/vehicles/e/?find=ej-1")) == []
    assert names(sign_in("engineer").get("/vehicles/e/?find=secretejector")) == ["Ejector"]


def test_the_form_keeps_the_question_and_the_question_keeps_the_filter(engine, officer):
    text = officer.get("/vehicles/e/?find=dome&status=not+assessed&as_at=2020-02-02&basis=count").content.decode()
    assert text.count('name="as_at" value="2020-02-02"') == 1 and text.count('name="basis" value="count"') == 1, "in the filter"
    assert '<input type="hidden" name="find" value="dome">' in text and '<input type="hidden" name="status" value="not assessed">' in text


@pytest.mark.parametrize("query", ["find=" + "a" * 9000, "find=%00", "status=original%00", "seen=everywhere", "only=best", "find=x&page=99999", "find=x&page=-1", "assemblies=-1", "assemblies=x", "in=-", "find=%3Cscript%3Ealert(1)"])
def test_nonsense_in_the_address_never_breaks_the_page(query, engine, officer):
    answer = officer.get("/vehicles/e/?" + query)
    assert answer.status_code == 200 and b"<script>alert" not in answer.content


def test_an_empty_assembly_is_no_empty_place(engine, officer):
    text = officer.get("/vehicles/e/").content.decode()
    assert names(officer.get("/vehicles/e/")) == ["Barrel", "Łódź dome", "Whistle", "Lamp iron", "Shoes", "Ejector"]
    assert text.count("nothing fitted") == 1


# Large vehicles


def large(assemblies, each, alone=0):
    changes = [change("vehicles", vehicle_id="E", name="Engine", kind="locomotive", built="1894")]
    for at in range(assemblies):
        changes.append(change("positions", position_id=f"A{at:03}", vehicle_id="E", name=f"assembly {at}", visibility="in view"))
        changes += [change("positions", position_id=f"A{at:03}-{one:03}", vehicle_id="E", parent_id=f"A{at:03}", name=f"place {at}.{one}", visibility="in view") for one in range(each)]
    changes += [change("positions", position_id=f"Z{one:03}", vehicle_id="E", name=f"alone {one}", visibility="hidden") for one in range(alone)]
    apply(changes, kind="import", whole=True)


def test_a_large_vehicle_shows_some_rows_and_says_how_many_more(db, officer):
    large(30, 20)
    answer = officer.get("/vehicles/e/")
    text, rows = answer.content.decode(), names(answer)
    assert ROWS - 20 <= len(rows) <= ROWS
    assert rows[:FIRST] == [f"place 0.{one}" for one in range(FIRST)]
    assert "12 more in assembly 0" in text and "21 in assembly 29" in text
    assert names(officer.get("/vehicles/e/?in=a029"))[-20:] == [f"place 29.{one}" for one in range(20)]


def test_a_long_assembly_and_a_long_answer_come_a_page_at_a_time(db, officer):
    large(1, 250)
    assert len(names(officer.get("/vehicles/e/?in=a000"))) == PAGE - 1, "the assembly itself is its heading"
    assert names(officer.get("/vehicles/e/?in=a000&page=3"))[-1] == "place 0.249"
    found = officer.get("/vehicles/e/?find=place&page=3")
    assert len(names(found)) == 50 and "251 position" not in found.content.decode() and "250 positions answer" in found.content.decode()
    assert "find=place&amp;page=2#positions" in found.content.decode()


def test_very_many_assemblies_come_a_page_at_a_time(db, officer):
    large(TOPS + 5, 1)
    text = officer.get("/vehicles/e/").content.decode()
    assert text.count('<details class="branch"') == TOPS and "assemblies=2#positions" in text
    assert officer.get("/vehicles/e/?assemblies=2").content.decode().count('<details class="branch"') == 5
    assert 'id="A044" open' in officer.get("/vehicles/e/?in=a044").content.decode(), "wherever it is"


def test_positions_in_no_assembly_stand_together(db, officer):
    large(2, 3, alone=120)
    text = officer.get("/vehicles/e/").content.decode()
    assert text.count('<details class="branch"') == 3 and "Positions in no assembly" in text
    assert len(names(officer.get("/vehicles/e/?in=-&page=2"))) == 6 + 20
    empty_the_register()
    large(0, 0, alone=150)
    assert len(names(officer.get("/vehicles/e/"))) == ROWS and "50 more in All positions" in officer.get("/vehicles/e/").content.decode()


@pytest.mark.parametrize("query", ["", "?find=place", "?only=empty&page=2", "?in=a001"])
def test_the_queries_do_not_grow(query, db, officer):
    counts = []
    for each in (3, 60):
        empty_the_register()
        large(3, each)
        officer.get("/vehicles/e/" + query)
        with CaptureQueriesContext(connection) as queries:
            officer.get("/vehicles/e/" + query)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 12, counts


def test_a_figure_and_its_tree_stay_what_they_were(db, officer):
    """The restricted part is in the figures of every reader: how much, never which."""
    apply(changes_of(tiny()), kind="import", whole=True)
    assert names(officer.get("/vehicles/l1/")) == ["chimney", "dome"]
