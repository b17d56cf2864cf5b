"""A place gone through with the places inside it: one list in the order of the walk, on the screen and on paper."""

from __future__ import annotations

import re

import pytest
from builders import tiny, write_folder
from django.db import connection
from django.test.utils import CaptureQueriesContext
from documents.reading import Read

from register.models import Act, ChangeSet, Movement, Place
from register.services.import_register import import_register
from register.services.stocktakes import round_of
from register.services.whereabouts import walk_of
from tests.web.test_whereabouts import TODAY, where

pytestmark = pytest.mark.django_db
INSIDE = "/places/works/stocktake/?inside=yes"
PARTS = ("top", "a1", "a2", "cap", "b1", "deep", "hidden", "away")


@pytest.fixture(autouse=True)
def a_works_with_bays(tmp_path):
    """Works > Bay A (rack A1 in it) and Bay B; a cap that lies with what is on the rack; a part at the contractor's."""
    import_register(write_folder(tmp_path / "tiny", tiny(
        parts=[{"part_id": name.upper(), "name": f"the {name}", "access": "restricted" if name == "hidden" else "public", "hazards": "lead paint" if name == "b1" else ""} for name in PARTS],
        places=[{"place_id": "WORKS", "name": "Works"}, {"place_id": "BAY-B", "name": "Bay B", "parent_id": "WORKS"}, {"place_id": "BAY-A", "name": "Bay A", "parent_id": "WORKS"},
                {"place_id": "RACK", "name": "Rack in bay A", "parent_id": "BAY-A"}, {"place_id": "FIRM", "name": "Contractor"}],
        movements=[{"part_id": part, "moved_on": "2020-01-01", "place_id": place} for part, place in (("TOP", "WORKS"), ("A2", "BAY-A"), ("A1", "BAY-A"), ("B1", "BAY-B"), ("DEEP", "RACK"), ("HIDDEN", "BAY-B"), ("AWAY", "FIRM"))]
                  + [{"part_id": "CAP", "moved_on": "2020-01-02", "with_part": "DEEP"}])))


def paper_text(data):
    """As another program (pypdf) reads it."""
    return "\n".join(page.extract_text() for page in Read(data).file.pages)


def in_order(page, *names):
    """Whether the names stand in the page in this order, each after the one before it."""
    return re.search(".*?".join(map(re.escape, names)), page, re.DOTALL) is not None


def test_the_walk_goes_through_each_place_before_what_comes_after_it():
    assert [one.key for one in walk_of(Place.objects.get(key="works"))] == ["works", "bay-a", "rack", "bay-b"]
    assert [one.key for one in walk_of(Place.objects.get(key="bay-a"))] == ["bay-a", "rack"]


def test_one_list_holds_the_places_inside_in_the_order_of_the_walk(officer):
    page = officer.get(INSIDE).content.decode()
    assert in_order(page, "Works</legend>", "the top", "Bay A</legend>", "the a1", "the a2", "Rack in bay A</legend>", "the cap", "the deep", "Bay B</legend>", "the b1", "the hidden")
    assert "7 parts should be here" in page and "the away" not in page
    alone = officer.get("/places/works/stocktake/").content.decode()
    assert "1 part should be here" in alone and "the a1" not in alone and "With the places inside" in alone
    assert "With the places inside" not in officer.get("/places/firm/stocktake/").content.decode()


def test_what_was_seen_stays_in_its_own_place_and_all_of_it_is_one_change(officer):
    asked = officer.post(INSIDE, {"step": "ask", "moved_on": TODAY, "seen": ["a1", "deep", "cap"], "came": "AWAY\nb1"}).content.decode()
    assert "3 seen, 2 more typed in" in asked and 'name="came-away"' in asked and 'name="other-top"' in asked and 'name="other-b1"' not in asked and Act.objects.count() == 1
    assert re.search(r'name="came-b1">.*?value="bay-b" selected', asked, re.DOTALL), "where it was expected"
    done = officer.post(INSIDE, {"step": "record", "moved_on": TODAY, "seen": ["a1", "deep", "cap"], "came": "AWAY\nb1", "came-away": "rack", "came-b1": "bay-a", "other-a2": "not found", "other-top": "", "other-hidden": "bay-a"}, follow=True).content.decode()
    assert "3 seen, 1 not found, 2 elsewhere, 1 found here that nobody expected" in done and Act.objects.count() == 2
    assert [where(part) for part in ("a1", "deep", "cap", "away", "b1", "a2", "top", "hidden")] == ["bay-a", "rack", "rack", "rack", "bay-a", "", "works", "bay-a"]
    assert Movement.objects.get(part="cap", moved_on_edtf=TODAY).with_part_id == "deep" and not Movement.objects.filter(part="top", moved_on_edtf=TODAY).exists()


def test_what_is_typed_in_and_was_expected_there_counts_as_seen(officer):
    """Alone as well: a tag that is scanned instead of ticked."""
    done = officer.post("/places/works/stocktake/", {"step": "record", "moved_on": TODAY, "came": "top"}, follow=True).content.decode()
    assert "1 seen" in done and Movement.objects.get(part="top", moved_on_edtf=TODAY).reason == "seen at a stocktake"


def test_a_place_that_is_none_of_the_walk_is_not_believed(officer):
    officer.post(INSIDE, {"step": "record", "moved_on": TODAY, "came": "AWAY", "came-away": "firm"})
    assert where("away") == "works"


def test_sent_twice_it_is_one_and_a_list_at_fault_keeps_its_ticks(officer):
    answer = officer.post(INSIDE, {"step": "ask", "moved_on": "30 February 1900", "seen": ["deep"], "came": "nobody"})
    page = answer.content.decode()
    assert answer.status_code == 422 and 'value="deep" checked' in page and "30 February 1900" in page and "“nobody”" in page and in_order(page, "Bay A</legend>", "Bay B</legend>")
    for _ in range(2):
        officer.post(INSIDE, {"step": "record", "moved_on": TODAY, "seen": ["deep", "top"], "token": "s" * 30})
    assert Act.objects.count() == 2 and Movement.objects.filter(moved_on_edtf=TODAY).count() == 2


def test_what_was_ticked_when_the_session_ended_is_there_after_signing_in(officer, django_user_model):
    officer.logout()
    officer.post(INSIDE, {"step": "ask", "moved_on": "3 May 2026", "seen": ["deep"], "came": "AWAY"})
    officer.force_login(django_user_model.objects.get(), backend="register.web.backends.RoleBackend")
    page = officer.get(INSIDE).content.decode()
    assert "You were signed out" in page and 'value="deep" checked' in page and "3 May 2026" in page and "AWAY" in page and Act.objects.count() == 1


def test_a_recorder_s_list_names_no_restricted_part_in_any_place_and_waits(sign_in):
    recorder = sign_in("recorder")
    page = recorder.get(INSIDE).content.decode()
    assert "the hidden" not in page and "6 parts should be here" in page and "the hidden" not in paper_text(recorder.get("/places/works/stocktake.pdf?inside=yes").content)
    recorder.post(INSIDE, {"step": "record", "moved_on": TODAY, "seen": ["a1", "hidden"], "other-hidden": "rack"})
    assert "HIDDEN" not in str(ChangeSet.objects.get().changes) and Act.objects.count() == 1


def test_a_cycle_of_places_does_not_hang_the_walk():
    """The rules refuse one; a damaged database may hold it."""
    Place.objects.filter(key="works").update(parent="rack")
    assert {one.key for one in walk_of(Place.objects.get(key="works"))} == {"works", "bay-a", "rack", "bay-b"}


def test_the_sheet_is_the_list_on_paper_in_the_same_order(officer):
    answer = officer.get("/places/works/stocktake.pdf?inside=yes")
    text = paper_text(answer.content)
    assert answer["Content-Type"] == "application/pdf" and "WORKS-stocktake.pdf" in answer["Content-Disposition"]
    assert in_order(text, "Works, with the places inside", "the top", "Bay A", "the a1", "the a2", "Rack in bay A", "the cap", "Lies with the deep", "the deep", "Bay B", "the b1", "lead paint", "the hidden")
    for words in ("seen here", "not here", "not looked for", "What else is here?", "Before you touch anything", "Page 1 of"):
        assert words in text, words
    assert "Bay A" not in paper_text(officer.get("/places/works/stocktake.pdf").content)


def test_a_sheet_of_more_than_a_file_holds_is_refused_with_a_sentence(officer, tmp_path):
    import_register(write_folder(tmp_path / "more", {"parts": [{"part_id": f"X{number}", "name": "bolt"} for number in range(400)], "movements": [{"part_id": f"X{number}", "moved_on": "2010", "place_id": "RACK"} for number in range(400)]}))
    answer = officer.get("/places/works/stocktake.pdf?inside=yes")
    assert answer.status_code == 422 and "one file holds at most 400" in answer.content.decode()


@pytest.mark.parametrize("address", [INSIDE, "/places/works/stocktake.pdf?inside=yes"])
def test_it_asks_as_often_for_many_as_for_few(address, officer, tmp_path):
    with CaptureQueriesContext(connection) as few:
        officer.get(address)
    import_register(write_folder(tmp_path / "more", {"places": [{"place_id": f"S{number}", "name": f"shelf {number}", "parent_id": "RACK"} for number in range(20)],
                                                     "parts": [{"part_id": f"X{number}", "name": "bolt"} for number in range(30)], "movements": [{"part_id": f"X{number}", "moved_on": "2010", "place_id": f"S{number % 20}"} for number in range(30)]}))
    with CaptureQueriesContext(connection) as many:
        assert officer.get(address).status_code == 200
    assert len(many) == len(few) and len(round_of(Place.objects.get(key="works"), None, inside=True).places) == 24
