"""Many people at the same moment, on their pages and below them: one is first, the others are told, and nothing that
anybody typed or sent is lost."""

from __future__ import annotations

import re

import picture_files as files
import pytest
from at_once import at_once, kinds
from builders import change, changes_of, tiny
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from register.exchange.faults import Refused
from register.models import (
    Act,
    Assessment,
    ChangeSet,
    FindDraft,
    Installation,
    Movement,
    Part,
    Photograph,
    PictureLot,
    Place,
    Position,
)
from register.services.change_sets import Conflicted, apply
from register.services.deciding import Decided, decide
from register.services.find_rows import WrongAnswers
from register.services.finds import answer, begin
from register.services.finds_sent import open_again, send
from register.services.records import record_texts
from tests.services.test_waiting import DAY, person

pytestmark = pytest.mark.django_db(transaction=True)
BACKEND = "register.web.backends.RoleBackend"
BOXES = ("material", "marks", "remarks", "public_note")


@pytest.fixture(autouse=True)
def small():
    act, _ = apply(changes_of(tiny()), kind="import", whole=True)
    return act


def clients(*users, number=20):
    """So many browsers, each signed in as one of these."""
    found = [Client() for _ in range(number)]
    for index, client in enumerate(found):
        client.force_login(users[index % len(users)], backend=BACKEND)
    return found


def text_of(answer):
    return answer.content.decode()


def test_twenty_forms_of_one_part_one_is_saved_and_nineteen_show_both_texts(small):
    browsers = clients(person("margaret", "officer"), person("second", "officer"))
    found = at_once(lambda index: browsers[index].post("/change/parts/p1/", {"name": "first chimney", "marks": f"read by browser {index}.", "base_no": small.change_no}))
    assert [one.status_code for one in found].count(302) == 1 and [one.status_code for one in found].count(409) == 19, [one.status_code for one in found]
    stored = Part.objects.get(key="p1").marks
    for index, one in enumerate(found):
        if one.status_code == 409:
            assert stored in text_of(one) and f"read by browser {index}." in re.sub(r'class="errors.*?</div>', "", text_of(one), flags=re.DOTALL), index
    assert Act.objects.filter(kind="change part").count() == 1 and Part.history.filter(key="p1").count() == 2


def test_different_fields_of_one_part_are_never_written_over_in_silence(small):
    """Every form sends the whole record, so a form from before would put the old texts back: each is told instead."""
    texts, base = record_texts("parts", "p1")
    browsers = clients(person("margaret", "officer"))
    found = at_once(lambda index: browsers[index].post("/change/parts/p1/", {**texts, BOXES[index % 4]: f"typed by {index}.", "base_no": base}))
    assert sorted(one.status_code for one in found) == [302] + [409] * 19
    first = next(index for index, one in enumerate(found) if one.status_code == 302)
    now, _ = record_texts("parts", "p1")
    assert {name for name in now if now[name] != texts[name]} == {BOXES[first % 4]} and now[BOXES[first % 4]] == f"typed by {first}."
    assert all(f"typed by {index}." in text_of(one) for index, one in enumerate(found) if index != first)


def test_twenty_finds_of_one_part_never_drop_each_other_s_reading(small):
    """Marks and mass, from one and the same day: each that was not first is told, keeps its draft, and joins in when told to."""
    user = person("margaret", "officer")
    drafts = [begin(user, ["P1"]) for _ in range(20)]
    for index, draft in enumerate(drafts):
        answer(user, draft.pk, *(("marks", {"marks": f"mark {index}."}) if index % 2 else ("measured", {"mass": f"{70 + index} kg"})))
    found = at_once(lambda index: send(user, drafts[index].pk, day=DAY))
    assert kinds(found) == {"": 1, "Conflicted": 19}
    assert FindDraft.objects.filter(sent_at=None).count() == 19 and Act.objects.filter(kind="find").count() == 1
    for index, one in enumerate(found):
        if isinstance(one, Conflicted) and index % 2:
            send(user, drafts[index].pk, day=DAY, keep="file")
    marks = Part.objects.get(key="p1").marks
    assert all(f"mark {index}." in marks for index in range(1, 20, 2)), marks


def test_one_part_fitted_on_twenty_pages_at_once_is_in_one_place():
    apply([change("positions", position_id=f"T{index}", vehicle_id="L1", name=f"place {index}", visibility="hidden") for index in range(20)], kind="test")
    browsers = clients(person("daniel", "engineer"), person("margaret", "officer"))
    found = at_once(lambda index: browsers[index].post("/new/installations/", {"position_id": f"T{index}", "part_id": "P3", "fitted": "2001", "reason": f"reason of page {index}."}))
    assert sorted(one.status_code for one in found) == [302] + [422] * 19, [one.status_code for one in found]
    fitted = Installation.objects.get(part="p3")
    for index, one in enumerate(found):
        if one.status_code == 422:
            assert f"reason of page {index}." in text_of(one) and re.search(r'class="errors".*?<li>', text_of(one), re.DOTALL), index
    assert fitted.position_id in {f"t{index}" for index in range(20)}


@pytest.mark.parametrize(("table", "rows"), [
    ("positions", ({"position_id": "Q1", "parent_id": "Q2"}, {"position_id": "Q2", "parent_id": "Q1"})),
    ("places", ({"place_id": "A", "parent_id": "B"}, {"place_id": "B", "parent_id": "A"})),
    ("movements", ({"part_id": "P1", "moved_on": "2020-01-01", "with_part": "P2"}, {"part_id": "P2", "moved_on": "2020-01-01", "with_part": "P1"})),
])  # fmt: skip
def test_of_two_that_would_each_lie_inside_the_other_one_does(table, rows):
    apply([change("places", place_id="A", name="bay a"), change("places", place_id="B", name="bay b")], kind="test")
    user = person("margaret", "officer")
    found = at_once(lambda index: apply([change(table, **rows[index % 2])], kind="test", user=user))
    refused = [one for one in found if isinstance(one, Refused)]
    assert len(refused) == 10 and all("cycle" in str(one) for one in refused), kinds(found)
    inside = {"positions": Position.objects.filter(parent__isnull=False), "places": Place.objects.filter(parent__isnull=False), "movements": Movement.objects.all()}
    assert inside[table].count() == 1


def test_twenty_pictures_sent_to_one_find_at_once_are_all_in_it():
    """From a telephone and a tablet, or by an impatient thumb."""
    user = person("ruth", "recorder")
    draft, browsers = begin(user, ["P2"]), clients(user)
    data = [files.picture("PNG", size=(16, 16), colour=(10 * index, 0, 0)) for index in range(20)]
    found = at_once(lambda index: browsers[index].post(f"/record/{draft.pk}/pictures/", {"photos": SimpleUploadedFile(f"{index}.png", data[index])}, headers={"accept": "application/json"}))
    assert [one.json()["kept"] for one in found] == [[f"{index}.png"] for index in range(20)]
    draft.refresh_from_db()
    assert {one["name"] for one in draft.answers["pictures"]["rows"]} == {f"{index}.png" for index in range(20)}


def test_one_lot_recorded_by_twenty_taps_at_once_is_recorded_once():
    user = person("ruth", "recorder")
    browsers = clients(user)
    address = "/photographs/add/?part=P1"
    browsers[0].post(address, {"photos": SimpleUploadedFile("a.png", files.picture("PNG"))}, headers={"accept": "application/json"})
    found = at_once(lambda index: browsers[index].post(address, {"token": "one-form"}))
    assert {one.status_code for one in found} == {302} and len(ChangeSet.objects.get().changes) == 1
    assert not PictureLot.objects.get().pictures and not Photograph.objects.exists()


def returned_find(ruth, margaret):
    draft = begin(ruth, ["P2"])
    answer(ruth, draft.pk, "status", {"status": "replica"})
    waiting = send(ruth, draft.pk, day=DAY)[1].waiting
    decide(waiting.pk, "ask", user=margaret, reason="which rivets?")
    return waiting


def test_a_returned_find_opened_twenty_times_at_once_is_opened_once_and_written_anew_once():
    ruth, margaret = person("ruth", "recorder"), person("margaret", "officer")
    waiting = returned_find(ruth, margaret)
    opened = {one.pk for one in at_once(lambda _: open_again(ruth, waiting.pk))}
    assert len(opened) == 1
    find = opened.pop()
    answer(ruth, find, "status", {"status": "original"})
    found = at_once(lambda _: send(ruth, find, day=DAY))
    assert kinds(found) == {"": 20} and [handed is not None for _, handed in found].count(True) == 1
    assert waiting.entries.filter(verb="written anew").count() == 1


def test_a_find_is_decided_or_written_anew_and_whoever_was_second_is_told():
    """Ten taps of the officer who has the first version before her, and ten of the author who has written the second."""
    ruth, margaret = person("ruth", "recorder"), person("margaret", "officer")
    waiting = returned_find(ruth, margaret)
    find = open_again(ruth, waiting.pk).pk
    answer(ruth, find, "status", {"status": "original"})
    found = at_once(lambda index: send(ruth, find, day=DAY) if index % 2 else decide(waiting.pk, "accept", user=margaret, seen=0))
    waiting.refresh_from_db()
    anew = waiting.entries.filter(verb="written anew").count()
    if waiting.state == "accepted":
        assert anew == 0 and Assessment.objects.get(part="p2").status == "replica"
        assert any(isinstance(one, WrongAnswers) and "What you wrote since is kept" in str(one) for one in found)
    else:
        assert (waiting.state, anew) == ("waiting", 1) and not Assessment.objects.filter(part="p2").exists()
        assert all(isinstance(one, Decided) and "wrote it anew" in str(one) for index, one in enumerate(found) if not index % 2)
