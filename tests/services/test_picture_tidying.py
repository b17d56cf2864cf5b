"""Originals that nobody accepted go after a time, and are entered in the log; what anything still names stays."""

from __future__ import annotations

import os
from datetime import timedelta
from io import StringIO

import picture_files as files
import pytest
from builders import change, changes_of, tiny
from django.core.management import call_command
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from register.models import FindDraft, Photograph, PictureLot, RemovedPicture, StatementFile
from register.models.triggers import drop_triggers, make_triggers
from register.services.change_sets import apply
from register.services.deciding import decide
from register.services.find_pictures import add_pictures
from register.services.finds import begin
from register.services.finds_sent import open_again, send
from register.services.kept_pictures import Sent, keep_pictures
from register.services.photographs import SIZES, copy_path, keep_original, original_path
from register.services.picture_access import why_not_shown
from register.services.picture_lots import add_to_lot
from register.services.picture_tidying import look_through, remove_old
from register.services.picture_uses import in_use
from register.services.records import strike_out
from tests.services.test_waiting import DAY, person

pytestmark = pytest.mark.django_db
RED, BLUE = files.picture(), files.picture("PNG", colour=(1, 2, 200))


@pytest.fixture(autouse=True)
def small():
    apply(changes_of(tiny()), kind="import", whole=True)


@pytest.fixture
def ruth():
    return person("ruth", "recorder")


@pytest.fixture
def margaret():
    return person("margaret", "officer")


def later(days=91):
    return timezone.now() + timedelta(days=days)


@pytest.fixture
def sent(tmp_path):
    def keep(data=RED):
        path = tmp_path / "sent"
        path.write_bytes(data)
        return keep_pictures([Sent("a.jpg", path)], today=DAY).pictures[0]

    return keep


def handed_in(user, picture):
    draft = begin(user, ["P2"])
    add_pictures(user, draft.pk, [picture])
    return send(user, draft.pk, day=DAY)[1].waiting


def there(picture):
    return original_path(picture["sha256"]).exists(), all(copy_path(picture["sha256"], size).exists() for size in SIZES)


@pytest.mark.parametrize("verb", ["supersede", "withdraw"])
def test_what_nobody_accepted_goes_90_days_after_the_last_word_on_it_and_is_entered_in_the_log(verb, sent, ruth, margaret):
    picture = sent()
    waiting = handed_in(ruth, picture)
    decide(waiting.pk, verb, user=ruth if verb == "withdraw" else margaret, reason="of another part", at=later(30))
    assert not remove_old(at=later(119)).old and there(picture) == (True, True)
    found = remove_old(at=later(121), user=margaret)
    assert [(one.sha256, one.size) for one in found.old] == [(picture["sha256"], len(RED))] and there(picture) == (False, False)
    entry = RemovedPicture.objects.get()
    assert (entry.sha256, entry.size, entry.user) == (picture["sha256"], len(RED), margaret) and "90 days" in entry.reason
    assert why_not_shown([picture["sha256"]], margaret, undecided=False)[picture["sha256"]].startswith("The picture was removed on ")
    assert not remove_old(at=later(500)).old and RemovedPicture.objects.count() == 1


def by_a_record(picture, ruth, margaret):
    decide(handed_in(ruth, picture).pk, "accept", user=margaret)


def by_the_history_of_what_was_struck_out(picture, ruth, margaret):
    by_a_record(picture, ruth, margaret)
    strike_out("photographs", Photograph.objects.get().key, user=margaret, reason="of another part")


def by_what_waits(picture, ruth, margaret):
    handed_in(ruth, picture)


def by_what_was_returned(picture, ruth, margaret):
    decide(handed_in(ruth, picture).pk, "ask", user=margaret, reason="which side?")


def by_an_earlier_version_of_what_waits(picture, ruth, margaret):
    waiting = handed_in(ruth, picture)
    decide(waiting.pk, "ask", user=margaret, reason="which side?")
    draft = open_again(ruth, waiting.pk)
    draft.answers = {"marks": {"marks": "88"}}
    draft.save()
    send(ruth, draft.pk, day=DAY)
    waiting.refresh_from_db()
    assert picture["sha256"] not in str(waiting.changes)


def by_a_find_being_written_down(picture, ruth, margaret):
    add_pictures(ruth, begin(ruth, ["P2"]).pk, [picture])


def by_a_lot_that_is_not_recorded_yet(picture, ruth, margaret):
    add_to_lot(ruth, None, [picture])


NAMED = (by_a_record, by_the_history_of_what_was_struck_out, by_what_waits, by_what_was_returned, by_an_earlier_version_of_what_waits, by_a_find_being_written_down, by_a_lot_that_is_not_recorded_yet)


@pytest.mark.parametrize("named", NAMED, ids=lambda one: one.__name__)
def test_a_picture_that_is_named_stays_however_old_it_is(named, sent, ruth, margaret):
    picture = sent()
    named(picture, ruth, margaret)
    assert not remove_old(at=later(20_000)).old and there(picture) == (True, True) and not RemovedPicture.objects.exists()


def test_a_picture_in_the_frozen_rows_of_a_statement_stays_whatever_became_of_the_record(sent, ruth, margaret):
    """Even where record and history are lost, as no user can lose them: the bag of the statement is made of it."""
    from tests.services.issued import issue

    picture = sent()
    by_a_record(picture, ruth, margaret)
    issue("L1")
    assert picture["sha256"].encode() in bytes(StatementFile.objects.get(name="inputs.json").data)
    drop_triggers()
    Photograph.objects.all()._raw_delete("default")
    Photograph.history.all()._raw_delete("default")
    make_triggers()
    assert picture["sha256"] in in_use(later()) and not remove_old(at=later(20_000)).old and there(picture) == (True, True)


def test_a_picture_in_two_finds_stays_as_long_as_one_of_them_names_it(sent, ruth, margaret):
    picture = sent()
    first, second = handed_in(ruth, picture), handed_in(ruth, picture)
    decide(first.pk, "withdraw", user=ruth)
    assert not remove_old(at=later()).old
    decide(second.pk, "withdraw", user=ruth)
    assert [one.sha256 for one in remove_old(at=later()).old] == [picture["sha256"]]


def test_pictures_of_a_draft_that_was_thrown_away_go_too(sent, ruth):
    from register.services.finds import discard

    picture = sent()
    draft = begin(ruth, ["P2"])
    add_pictures(ruth, draft.pk, [picture])
    discard(ruth, draft.pk)
    assert not remove_old(at=later(89)).old and remove_old(at=later(91)).old and there(picture) == (False, False)


def test_a_picture_brought_again_is_not_old(sent, ruth):
    picture = sent()
    path = original_path(picture["sha256"])
    os.utime(path, (1, 1))
    assert look_through().old
    sent()
    assert not look_through().old and not remove_old().old and there(picture) == (True, True)


def test_a_picture_brought_again_while_it_is_being_removed_is_put_back_with_its_copies(sent, monkeypatch, tmp_path):
    from register.services import picture_tidying

    picture = sent()
    path = original_path(picture["sha256"])
    os.utime(path, (1, 1))
    really = picture_tidying.copy_path

    def brought_again(sha256, size):
        os.utime(path)
        return really(sha256, size)

    monkeypatch.setattr(picture_tidying, "copy_path", brought_again)
    remove_old()
    assert there(picture) == (True, True) and path.read_bytes() == RED


def test_a_run_that_broke_off_loses_nothing_that_is_named(sent, ruth):
    picture = sent()
    path = original_path(picture["sha256"])
    path.rename(path.with_name(f".going-{picture['sha256']}"))
    handed_in(ruth, picture)
    remove_old()
    assert path.read_bytes() == RED


def test_what_an_upload_left_over_goes_after_a_day_and_a_copy_without_its_original_too(sent):
    picture = sent()
    left = original_path(picture["sha256"]).with_name(".part-abc")
    left.write_bytes(b"half")
    lone = copy_path("0" * 64, "small")
    lone.parent.mkdir(parents=True, exist_ok=True)
    lone.write_bytes(b"copy")
    assert not look_through().leftovers
    found = remove_old(at=later(2))
    assert found.leftovers == sorted([left, lone]) and not left.exists() and not lone.exists() and there(picture) == (True, True)


def test_a_photograph_whose_original_is_not_on_the_disk_is_told(sent, ruth, margaret):
    picture = sent()
    by_a_record(picture, ruth, margaret)
    original_path(picture["sha256"]).unlink()
    assert look_through().missing == [picture["sha256"]]
    errors = StringIO()
    call_command("tidy_pictures", stdout=StringIO(), stderr=errors)
    assert picture["sha256"] in errors.getvalue() and "look for it in a backup" in errors.getvalue()


def test_an_original_that_was_cut_short_is_mended_when_it_is_sent_again(sent, tmp_path):
    picture = sent()
    path = original_path(picture["sha256"])
    path.write_bytes(RED[:100])
    (tmp_path / "again").write_bytes(RED)
    keep_original(tmp_path / "again")
    assert path.read_bytes() == RED


def test_the_command_lists_first_and_removes_only_when_told(sent):
    picture = sent()
    os.utime(original_path(picture["sha256"]), (1, 1))
    said = StringIO()
    call_command("tidy_pictures", stdout=said)
    assert picture["sha256"] in said.getvalue() and "May go (say --remove): 1 picture" in said.getvalue() and there(picture) == (True, True)
    said = StringIO()
    call_command("tidy_pictures", "--remove", stdout=said)
    assert "Took away: 1 picture" in said.getvalue() and there(picture) == (False, False) and RemovedPicture.objects.get().user is None


@pytest.mark.parametrize("days", ["0", "-1", "6", "40000"])
def test_a_number_of_days_that_would_take_away_what_was_sent_this_week_is_refused(days, sent):
    errors = StringIO()
    with pytest.raises(SystemExit):
        call_command("tidy_pictures", "--days", days, stderr=errors)
    assert "from 7 to 36500" in errors.getvalue()


def test_the_log_is_never_changed(sent):
    os.utime(original_path(sent()["sha256"]), (1, 1))
    remove_old()
    for work in (lambda: RemovedPicture.objects.update(size=1), lambda: RemovedPicture.objects.all().delete()):
        with pytest.raises((IntegrityError, DatabaseError)), transaction.atomic():
            work()


def test_it_asks_as_often_for_many_as_for_few(sent, ruth):
    counts = []
    for number in range(6):
        handed_in(ruth, sent(files.picture("PNG", colour=(number, 0, 0))))
        with CaptureQueriesContext(connection) as queries:
            look_through()
        counts.append(len(queries))
    assert len(set(counts)) == 1 and FindDraft.objects.count() == 6 and not PictureLot.objects.exists()


def test_the_page_of_a_declined_find_tells_that_its_picture_was_removed(sent, ruth, margaret, client):
    picture = sent()
    waiting = handed_in(ruth, picture)
    decide(waiting.pk, "supersede", user=margaret, reason="of another part")
    remove_old(at=later())
    for user, address in ((margaret, f"/review/{waiting.pk}/"), (ruth, f"/handed-in/{waiting.pk}/"), (ruth, f"/record/{FindDraft.objects.get().pk}/check/")):
        client.force_login(user, backend="register.web.backends.RoleBackend")
        assert "since nobody had accepted it" in client.get(address).content.decode(), address


def test_a_struck_out_photograph_comes_back_with_its_picture(sent, ruth, margaret):
    """Taking a change back needs the file that the history names."""
    picture = sent()
    by_the_history_of_what_was_struck_out(picture, ruth, margaret)
    remove_old(at=later(20_000))
    apply([change("photographs", file="photographs/again.jpg", sha256=picture["sha256"], part_id="P2")], kind="test")
    assert there(picture) == (True, True)
