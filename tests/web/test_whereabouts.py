"""Where parts are: moved with everything on them, gone through by list, due back, not seen for long."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from builders import change, tiny, write_folder
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.models import Act, ChangeSet, Movement
from register.services.change_sets import apply
from register.services.import_register import import_register
from register.services.whereabouts import latest_movements, whereabouts_of

pytestmark = pytest.mark.django_db
TODAY = date.today().isoformat()


@pytest.fixture(autouse=True)
def a_boiler_and_a_store(tmp_path):
    """A boiler with a fitting in a position below it, a gauge that lies with it, and places to go to."""
    import_register(write_folder(tmp_path / "tiny", tiny(
        positions=[{"position_id": "B", "vehicle_id": "L1", "name": "boiler", "visibility": "hidden"}, {"position_id": "B-1", "vehicle_id": "L1", "parent_id": "B", "name": "clack valve", "visibility": "hidden"}],
        parts=[{"part_id": "BOILER", "name": "boiler", "tag": "BBBB2222"}, {"part_id": "CLACK", "name": "clack valve"}, {"part_id": "GAUGE", "name": "pressure gauge"}, {"part_id": "LOANED", "name": "whistle"},
               {"part_id": "HIDDEN", "name": "hidden injector", "access": "restricted"}, {"part_id": "STAND", "name": "borrowed boiler"}, {"part_id": "GONE", "name": "old dome", "disposal": "scrapped", "disposal_date": "1960"}],
        installations=[{"position_id": "B", "part_id": "BOILER", "fitted": "as built"}, {"position_id": "B-1", "part_id": "CLACK", "fitted": "1950"}, {"position_id": "B", "part_id": "STAND", "fitted": "3 May 2026", "temporary": "yes"}],
        places=[{"place_id": "SHED", "name": "Running shed"}, {"place_id": "FIRM", "name": "A boiler contractor"}],
        movements=[{"part_id": "GAUGE", "moved_on": "2019", "with_part": "BOILER"}, {"part_id": "LOANED", "moved_on": "2020-02-03", "place_id": "SHED", "due_back": "2020"},
                   {"part_id": "HIDDEN", "moved_on": "2021-02-03", "place_id": "SHED", "due_back": "June 2021"}, {"part_id": "P3", "moved_on": "2022-02-03", "place_id": "SHED", "due_back": "2099"}])))


def where(part):
    found = whereabouts_of(part, latest_movements())
    return found and found.place_id


def move(client, part, **typed):
    return client.post(f"/parts/{part}/move/", {"how": "place", "moved_on": TODAY, **typed}, follow=True)


def test_a_boiler_goes_to_the_contractor_with_everything_on_it_in_one_change(officer):
    page = officer.get("/parts/boiler/move/").content.decode()
    assert "clack valve" in page and "lies with it and goes along" in page
    move(officer, "boiler", place_id="FIRM", due_back="March 2027", along="clack", reason="ten-yearly examination")
    assert [where(part) for part in ("boiler", "clack", "gauge")] == ["firm"] * 3
    assert Act.objects.count() == 2 and Movement.objects.get(part="clack", with_part="boiler").moved_on_edtf == TODAY
    assert not Movement.objects.filter(part="gauge", moved_on_edtf=TODAY).exists()  # it lies with the boiler: nothing to write down


def test_what_is_left_out_stays_and_what_is_elsewhere_is_not_ticked(officer):
    move(officer, "clack", place_id="SHED")
    page = officer.get("/parts/boiler/move/").content.decode()
    assert "was last somewhere else" in page and 'value="clack" checked' not in page
    move(officer, "boiler", place_id="FIRM")
    assert where("clack") == "shed" and where("boiler") == "firm"


REFUSED = [
    ({"place_id": ""}, "Choose the place it went to."), ({"how": "part", "with_part": "nonsense"}, "No part has that tag or id"), ({"how": ""}, "Say whether it went to a place"),
    ({"place_id": "FIRM", "moved_on": ""}, "Moved on"), ({"place_id": "FIRM", "moved_on": "30 February 1900"}, "30 February 1900"), ({"place_id": "NOWHERE"}, "No place has that id"),
    ({"how": "part", "with_part": "GAUGE"}, "the part would lie with itself"), ({"how": "part", "with_part": "BOILER"}, "cycle"), ({"place_id": "FIRM", "due_back": "soon"}, "soon"), ({"place_id": "FIRM", "reason": "x" * 30_000}, "30,000 characters"),
]


@pytest.mark.parametrize(("typed", "words"), REFUSED)
def test_what_cannot_be_is_refused_with_a_sentence_and_what_was_typed_is_kept(typed, words, officer):
    answer = move(officer, "boiler", **{"reason": "kept as typed", **typed})
    page = answer.content.decode()
    assert answer.status_code == 422 and words in page and "<title>Error: " in page, page[:3000]
    assert not Movement.objects.filter(part="boiler").exists() and ("kept as typed" in page or "reason" in typed)


def test_a_part_lies_with_the_other_that_a_tag_names(officer):
    move(officer, "p2", how="part", with_part="bbbb2222", place_id="SHED")
    row = Movement.objects.get(part="p2")
    assert row.with_part_id == "boiler" and row.place_id is None


def test_the_page_of_a_part_says_where_it_is_now(officer):
    move(officer, "boiler", place_id="FIRM", due_back="March 2027")
    page = officer.get("/parts/gauge/").content.decode()
    assert "Now: with <a" in page and "A boiler contractor</a>, since 2019" in page
    assert "due back March 2027." in officer.get("/parts/boiler/").content.decode()


def test_nobody_knows_is_an_answer(officer):
    move(officer, "p3", how="not known", reason="not on its shelf")
    assert where("p3") == "" and "not known" in officer.get("/parts/p3/move/").content.decode()


def test_a_double_tap_is_one_move_and_a_second_of_the_day_is_told(officer):
    for _ in range(2):
        assert move(officer, "boiler", place_id="FIRM", token="t" * 30).status_code == 200
    assert Movement.objects.filter(part="boiler").count() == 1
    again = move(officer, "boiler", place_id="SHED")
    assert again.status_code == 422 and "has a movement of that day already, to A boiler contractor" in again.content.decode() and where("boiler") == "firm"


@pytest.mark.parametrize(("role", "counts"), [("engineer", True), ("recorder", False)])
def test_an_engineer_s_move_counts_at_once_and_a_recorder_s_waits(role, counts, sign_in):
    page = move(sign_in(role), "boiler", place_id="FIRM", along="clack").content.decode()
    assert (where("boiler") == "firm") is counts and ChangeSet.objects.exists() is not counts
    assert ("Handed in" in page) is not counts


# --- stocktake ------------------------------------------------------------------------------------------------------------


def test_a_place_is_gone_through_by_list_and_the_others_are_asked_about(officer):
    page = officer.get("/places/shed/stocktake/").content.decode()
    assert all(name in page for name in ("whistle", "spare chimney", "hidden injector"))
    asked = officer.post("/places/shed/stocktake/", {"step": "ask", "moved_on": TODAY, "seen": ["loaned"], "came": "CLACK\n bbbb2222 "}).content.decode()
    assert "1 seen" in asked and 'name="other-p3"' in asked and 'name="other-loaned"' not in asked and Act.objects.count() == 1
    done = officer.post("/places/shed/stocktake/", {"step": "record", "moved_on": TODAY, "seen": ["loaned"], "came": "CLACK\nbbbb2222", "other-p3": "firm", "other-hidden": "not found"}, follow=True).content.decode()
    assert "1 seen, 1 not found, 1 elsewhere, 2 found here that nobody expected" in done and Act.objects.count() == 2
    assert [where(part) for part in ("loaned", "p3", "hidden", "clack", "boiler")] == ["shed", "firm", "", "shed", "shed"]
    confirmed = Movement.objects.get(part="loaned", moved_on_edtf=TODAY)
    assert confirmed.due_back_edtf == "2020" and confirmed.reason == "seen at a stocktake"


def test_what_nobody_looked_for_is_left_alone_and_so_is_what_moved_that_day(officer):
    move(officer, "p3", how="place", place_id="SHED")
    done = officer.post("/places/shed/stocktake/", {"step": "record", "moved_on": TODAY, "seen": ["p3"]}, follow=True).content.decode()
    assert "Left alone, since each has a movement of that day already: P3" in done and Act.objects.count() == 2


def test_sent_twice_a_stocktake_is_one(officer):
    for _ in range(2):
        officer.post("/places/shed/stocktake/", {"step": "record", "moved_on": TODAY, "seen": ["p3", "loaned"], "token": "s" * 30}, follow=True)
    assert Movement.objects.filter(moved_on_edtf=TODAY).count() == 2 and Act.objects.count() == 2


BAD_LISTS = [({"moved_on": ""}, "There is no date here"), ({"moved_on": "1900-02-30"}, "1900-02-30"), ({"moved_on": (date.today() + timedelta(days=9)).isoformat()}, "by today"), ({"came": "NOBODY\nP1"}, "“NOBODY”"), ({"came": "x\0y"}, "No part has")]


@pytest.mark.parametrize(("typed", "words"), BAD_LISTS)
def test_a_list_that_cannot_be_read_is_told_and_the_ticks_are_kept(typed, words, officer):
    answer = officer.post("/places/shed/stocktake/", {"step": "ask", "moved_on": TODAY, "seen": ["p3"], **typed})
    page = answer.content.decode()
    assert answer.status_code == 422 and words in page and 'value="p3" checked' in page and Act.objects.count() == 1


def test_a_recorder_s_stocktake_waits_and_names_no_restricted_part(sign_in):
    recorder = sign_in("recorder")
    page = recorder.get("/places/shed/stocktake/").content.decode()
    assert "hidden injector" not in page and "whistle" in page
    recorder.post("/places/shed/stocktake/", {"step": "record", "moved_on": TODAY, "seen": ["p3", "hidden"], "came": ""})
    assert ChangeSet.objects.count() == 1 and "HIDDEN" not in str(ChangeSet.objects.get().changes) and Act.objects.count() == 1
    assert "No part has" in recorder.post("/places/shed/stocktake/", {"step": "ask", "moved_on": TODAY, "came": "HIDDEN"}).content.decode()


# --- lists ---------------------------------------------------------------------------------------------------------------


def test_what_is_overdue_stands_first_and_says_so(officer, sign_in):
    page = officer.get("/whereabouts/").content.decode()
    assert page.index("whistle") < page.index("hidden injector") < page.index("spare chimney") and page.count("Overdue:") == 2
    assert "hidden injector" not in sign_in("recorder").get("/whereabouts/").content.decode()


def test_a_stand_in_is_listed_with_the_part_whose_place_it_keeps(officer):
    move(officer, "boiler", place_id="FIRM")
    page = officer.get("/whereabouts/").content.decode()
    row = page[page.index("borrowed boiler"):]
    assert "/parts/boiler/" in row and "A boiler contractor" in row and "3 May 2026" in row


def test_not_seen_for_long_leaves_out_what_was_seen_since_and_what_is_gone(officer):
    page = officer.get("/whereabouts/not-seen/?years=5").content.decode()
    assert "pressure gauge" in page and "never, as far as anybody wrote down" in page and "whistle" in page and "old dome" not in page
    assert "spare chimney" not in page  # moved in February 2022
    assert "spare chimney" in officer.get("/whereabouts/not-seen/?years=1").content.decode()
    officer.post("/places/shed/stocktake/", {"step": "record", "moved_on": TODAY, "seen": ["loaned"]})
    assert "whistle" not in officer.get("/whereabouts/not-seen/?years=1").content.decode()


def test_a_find_with_a_picture_or_a_mark_that_was_read_shows_that_the_part_was_seen(officer):
    """Whoever found a part that nobody had seen for long writes a find; the list knows from then on."""
    address = "/whereabouts/not-seen/?years=1"
    assert all(name in officer.get(address).content.decode() for name in ("pressure gauge", "whistle"))
    apply([change("sources", source_id="M1", kind="mark", title="stamp", date=TODAY), change("citations", part_id="GAUGE", source_id="M1"), change("sources", source_id="M2", kind="drawing", title="drawing", date=TODAY),
           change("citations", part_id="P3", source_id="M2"), change("photographs", file="a.jpg", sha256="0" * 64, part_id="LOANED", taken=TODAY)], kind="test")
    page = officer.get(address).content.decode()
    assert "pressure gauge" not in page and "whistle" not in page and "spare chimney" in page  # a drawing of it is not the part


@pytest.mark.parametrize("years", ["0", "-1", "201", "٣", "1e3", "five", "9" * 400])
def test_a_number_of_years_that_cannot_be_is_told(years, officer):
    answer = officer.get("/whereabouts/not-seen/", {"years": years})
    assert answer.status_code == 422 and "from 1 to 200" in answer.content.decode()


def test_the_place_tells_what_is_there_now_from_what_was(officer):
    move(officer, "loaned", place_id="FIRM")
    page = officer.get("/places/shed/").content.decode()
    now, was = page.split("Was here")
    assert "spare chimney" in now and "whistle" not in now and "whistle" in was


@pytest.mark.parametrize("address", ["/whereabouts/", "/whereabouts/not-seen/", "/places/shed/", "/places/shed/stocktake/", "/parts/boiler/move/"])
def test_pages_ask_as_often_for_many_parts_as_for_few(address, officer, tmp_path):
    with CaptureQueriesContext(connection) as few:
        officer.get(address)
    parts = [{"part_id": f"X{number}", "name": "bolt"} for number in range(30)]
    import_register(write_folder(tmp_path / "more", {
        "parts": parts, "movements": [{"part_id": f"X{number}", "moved_on": "2010", "place_id": "SHED", "due_back": "2011"} for number in range(20)] + [{"part_id": f"X{number}", "moved_on": "2010", "with_part": "BOILER"} for number in range(20, 30)]}))
    with CaptureQueriesContext(connection) as many:
        assert officer.get(address).status_code == 200
    assert len(many) == len(few)
