"""A process that is killed, at chosen points and at random ones, in the middle of an issue, an import, a photograph, a backup
and a restore: it was done whole or not at all, and what comes after it goes on as if nothing had been begun.

The points are those just before and after something becomes lasting, since that is where such faults are found (Mohan,
Martinez and others, "Finding crash-consistency bugs with bounded black-box crash testing", OSDI 2018; from memory).
"""

from __future__ import annotations

import hashlib
import os
import random
import signal
import threading
import time

import picture_files as files
import pytest
from builders import WORKED, empty_the_register, read_folder
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, connections, transaction

from register.exchange.faults import Refused
from register.models import Act, Entry, Photograph, Statement, StatementFile, User
from register.services import backup as backups
from register.services import chain, change_sets, issuing, restoring
from register.services.backup import BackupError, backup, unfinished, verify_backup
from register.services.export_register import export_register
from register.services.import_register import import_register
from register.services.photographs import original_path
from register.services.restoring import restore
from register.services.tables import MODELS
from register.services.verifying import faults
from tests.injected import database_at, die, in_a_child, is_sqlite
from tests.services.issued import AT, DAY, accept_all, issue, plant

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = 4


def then_die(work):
    """``work``, and nothing after it."""

    def done(*args, **kwargs):
        work(*args, **kwargs)
        die()

    return done


def dies_at(owner, name, *, after=False, call=1):
    """Whoever calls ``owner.name`` for the ``call``-th time is killed, before it or after it."""
    real, left = getattr(owner, name), [call]

    def replaced(*args, **kwargs):
        left[0] -= 1
        if left[0] == 0:
            if after:
                real(*args, **kwargs)
            die()
        return real(*args, **kwargs)

    setattr(owner, name, replaced)


def at_commit(owner, name, *, after):
    """Killed at the commit of what ``owner.name`` is part of."""
    real = getattr(owner, name)

    def replaced(*args, **kwargs):
        found = real(*args, **kwargs)
        dies_at(connection, "_commit", after=after)
        return found

    setattr(owner, name, replaced)


def how_long(work):
    """Seconds, in a process like the one that is to be killed."""
    start = time.monotonic()
    assert in_a_child(work) == 0
    return time.monotonic() - start


# --- issuing ----------------------------------------------------------------------------------------------------------


def in_the_middle_of_the_line():
    def half(line):
        path = chain.checkpoint_path()
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("ab") as file:
            file.write(line.encode()[:40])
        die()

    chain.write_checkpoint = half


ISSUE = {
    "before anything is stored": (lambda: dies_at(issuing, "_store"), 0),
    "after its entry": (lambda: dies_at(issuing, "append", after=True), 0),
    "after its record": (lambda: dies_at(Statement.objects, "create", after=True), 0),
    "before its papers": (lambda: dies_at(StatementFile.objects, "bulk_create"), 0),
    "after its papers": (lambda: dies_at(StatementFile.objects, "bulk_create", after=True), 0),
    "before the commit": (lambda: at_commit(issuing, "_store", after=False), 0),
    "after the commit": (lambda: at_commit(issuing, "_store", after=True), 1),
    "before the checkpoint": (lambda: dies_at(chain, "write_checkpoint"), 1),
    "in the middle of the checkpoint": (in_the_middle_of_the_line, 1),
    "after the checkpoint": (lambda: dies_at(chain, "write_checkpoint", after=True), 1),
}
"""By where it is killed: how, and how many statements are issued then."""


def is_whole():
    """Every statement has its entry, its number and all its files, each with the hash that its entry holds. How many."""
    count = Statement.objects.count()
    assert [one.number for one in Statement.objects.order_by("serial")] == [f"CS-{number:04d}" for number in range(1, count + 1)]
    assert Entry.objects.count() == count
    for statement in Statement.objects.select_related("entry"):
        held = {file.name: file for file in statement.files.all()}
        told = chain.told_by(statement.entry)["files"]
        assert held.keys() == told.keys() and len(held) >= 5
        assert all(hashlib.sha256(bytes(file.data)).hexdigest() == file.sha256 == told[name] for name, file in held.items())
    return count


@pytest.mark.parametrize("where", ISSUE)
def test_an_issue_that_is_killed_is_whole_or_none_and_its_number_is_used_once(where, tmp_path, client, officer):
    plant(tmp_path)
    inject, expected = ISSUE[where]

    def work():
        inject()
        issue()

    assert in_a_child(work) == signal.SIGKILL
    assert is_whole() == expected
    for name in ("internal.pdf", "assessor.pdf", "public.pdf", "figures.json"):  # no half of one can be fetched
        answer = officer.get(f"/statements/CS-0001/files/{name}")
        assert answer.status_code == (200 if expected else 404)
    assert issue(why="once more").number == f"CS-{expected + 1:04d}"
    assert is_whole() == expected + 1
    assert list(faults(recompute=True, checkpoint=chain.checkpoint_path())) == []
    assert chain.checkpoint_path().read_bytes().endswith(b"\n")


@pytest.fixture
def officer(client):
    from django.contrib.auth.models import Group

    user = User.objects.create(username="an-officer")
    user.groups.add(Group.objects.get_or_create(name="officer")[0])
    client.force_login(user, backend="register.web.backends.RoleBackend")
    return client


def test_an_issue_that_is_killed_anywhere_is_whole_or_none(tmp_path):
    plant(tmp_path)
    whole = how_long(issue)
    chance, count = random.Random(11), is_whole()
    assert count == 1
    for number in range(ROUNDS):
        ended = in_a_child(lambda: issue(why="again"), kill_after=chance.uniform(0, whole), how=(signal.SIGKILL, signal.SIGTERM)[number % 2])
        assert is_whole() in (count, count + 1), ended
        count = is_whole()
    issue(why="the last")
    assert is_whole() == count + 1
    assert list(faults(recompute=True, checkpoint=chain.checkpoint_path())) == []


# --- importing --------------------------------------------------------------------------------------------------------


def rows():
    """(rows of all tables, rows of all histories, acts)"""
    return (
        sum(model._base_manager.count() for model in MODELS.values()),
        sum(model.history.count() for model in MODELS.values()),
        Act.objects.count(),
    )


IMPORT = {
    "after its act": (lambda: dies_at(change_sets, "_number_new_rows"), False),
    "after its first table": (lambda: dies_at(change_sets, "_record", after=True), False),
    "after its fifth table": (lambda: dies_at(change_sets, "_record", after=True, call=5), False),
    "before the commit": (lambda: at_commit(change_sets, "_write", after=False), False),
    "after the commit": (lambda: at_commit(change_sets, "_write", after=True), True),
}


def exported(folder):
    """Every row of every table, tags aside, which are made up anew."""
    export_register(folder)
    return [{column: text for column, text in row.items() if column != "tag"} for name, table in sorted(read_folder(folder).items()) for row in table]


@pytest.mark.parametrize("where", IMPORT)
def test_an_import_that_is_killed_is_whole_or_none_and_ends_as_an_unbroken_one(where, tmp_path):
    inject, is_done = IMPORT[where]

    def work():
        inject()
        import_register(WORKED)

    assert in_a_child(work) == signal.SIGKILL
    found = rows()
    assert (found == (0, 0, 0)) is not is_done
    report = import_register(WORKED)
    assert (report.act is None) is is_done
    whole = rows()
    assert whole[0] == whole[1] > 60 and whole[2] == 1
    again = exported(tmp_path / "again")
    with transaction.atomic():
        empty_the_register()
    import_register(WORKED)
    assert again == exported(tmp_path / "unbroken") and len(again) > 60


def test_an_import_that_is_killed_anywhere_is_whole_or_none():
    def work():
        import_register(WORKED)

    chance, long = random.Random(12), 0.3
    for number in range(ROUNDS):
        in_a_child(work, kill_after=chance.uniform(0, long), how=(signal.SIGKILL, signal.SIGTERM)[number % 2])
        records, histories, acts = rows()
        assert (records > 60) == (histories > 60) == (acts == 1) and acts in (0, 1)
        if not acts:
            assert records == histories == 0
    import_register(WORKED)
    assert rows()[2] == 1


# --- a photograph -----------------------------------------------------------------------------------------------------


def test_a_photograph_that_is_killed_leaves_no_record_without_its_file(tmp_path, officer):
    from register.services import kept_pictures

    plant(tmp_path)
    data = files.picture()

    def send():
        officer.post("/photographs/add/?part=P1", {"photos": SimpleUploadedFile("a.jpg", data), "token": "t"})

    def work():
        dies_at(kept_pictures, "keep_original", after=True)
        send()

    assert in_a_child(work) == signal.SIGKILL
    assert not Photograph.objects.exists()
    send()
    stored = Photograph.objects.get()
    assert original_path(stored.sha256).read_bytes() == data
    assert officer.get(f"/photographs/{stored.sha256}/large.webp").status_code == 200


def test_a_file_under_its_own_name_is_whole_wherever_its_writer_was_killed(tmp_path):
    from register.services import photographs

    target = tmp_path / "picture"
    data = os.urandom(300_000)
    for name, after, there in (("fsync", False, False), ("fsync", True, False), ("replace", False, False), ("replace", True, True)):

        def work(name=name, after=after):
            dies_at(os, name, after=after)
            photographs.write_aside(target, data)

        assert in_a_child(work) == signal.SIGKILL
        assert target.exists() is there
        assert all(path.name.startswith(".part-") for path in tmp_path.iterdir() if path != target)
    assert target.read_bytes() == data


# --- a backup, and putting it back ------------------------------------------------------------------------------------


@pytest.fixture
def backed_up(tmp_path):
    if not is_sqlite():
        pytest.skip("its dump is PostgreSQL's own")
    plant(tmp_path)
    issue()
    original = original_path("ab" * 32)
    original.parent.mkdir(parents=True)
    original.write_bytes(b"picture")
    backup(tmp_path / "kept" / "monday")
    return tmp_path / "kept"


BACKUP = {
    "before the database": lambda: dies_at(backups, "_dump_database"),
    "after the database": lambda: dies_at(backups, "_dump_database", after=True),
    "among the files": lambda: dies_at(backups.shutil, "copyfile", after=True),
    "before it is flushed": lambda: dies_at(os, "fsync"),
    "before it has its name": lambda: dies_at(os, "replace"),
}


@pytest.mark.parametrize("where", BACKUP)
def test_a_backup_that_is_killed_has_no_name_and_the_last_one_is_whole(where, backed_up):
    def work():
        BACKUP[where]()
        backup(backed_up / "tuesday")

    before = {path: hashlib.sha256(path.read_bytes()).hexdigest() for path in (backed_up / "monday").rglob("*") if path.is_file()}
    assert in_a_child(work) == signal.SIGKILL
    assert not (backed_up / "tuesday").exists() and len(unfinished(backed_up)) == 1
    assert {path: hashlib.sha256(path.read_bytes()).hexdigest() for path in (backed_up / "monday").rglob("*") if path.is_file()} == before
    verify_backup(backed_up / "monday")
    backup(backed_up / "tuesday")
    verify_backup(backed_up / "tuesday")


RESTORE = {
    "before anything": (lambda: dies_at(restoring, "_put_back"), False),
    "among the files": (lambda: dies_at(restoring, "_put_back", after=True), False),
    "before the database": (lambda: dies_at(restoring, "_load_database"), False),
    "before the database has its name": (lambda: dies_at(os, "replace", call=3), False),
    "after the database": (lambda: dies_at(restoring, "_load_database", after=True), True),
}


@pytest.mark.parametrize("where", RESTORE)
def test_a_restore_that_is_killed_serves_nothing_before_all_of_it_is_there(where, backed_up, tmp_path, settings, client):
    inject, is_there = RESTORE[where]
    settings.DATA = tmp_path / "new"
    settings.DATA.mkdir()
    settings.MEDIA_ROOT, settings.STATEMENTS = settings.DATA / "media", settings.DATA / "statements"
    database = settings.DATA / "register.sqlite3"
    client.raise_request_exception = False

    def work():
        inject()
        restore(backed_up / "monday")

    with database_at(database):
        assert in_a_child(work) == signal.SIGKILL
        assert database.exists() is is_there
        page = client.get("/id/statements/CS-0001/")
        assert page.status_code == (200 if is_there else 503)
        if is_there:
            with pytest.raises(BackupError, match="a register here already"):
                restore(backed_up / "monday")
        else:
            restore(backed_up / "monday")
        assert original_path("ab" * 32).read_bytes() == b"picture"
        assert is_whole() == 1 and list(faults(recompute=True, checkpoint=chain.checkpoint_path())) == []
    verify_backup(backed_up / "monday")


# --- two at once ------------------------------------------------------------------------------------------------------


def at_once(*works):
    """What each gave or raised, all begun at the same time, with connections of their own."""
    gate, found = threading.Barrier(len(works)), [None] * len(works)

    def run(number, work):
        try:
            gate.wait()
            found[number] = work()
        except Exception as error:
            found[number] = error
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=one) for one in enumerate(works)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def test_officers_at_the_same_moment_and_a_double_click_issue_one_statement(tmp_path):
    plant(tmp_path)
    reasons = accept_all(issuing.Asked("L1", DAY))

    def press(token):
        return lambda: issuing.issue_statement(issuing.Asked("L1", DAY, reasons=reasons, after="", token=token), at=AT)

    found = at_once(press("one"), press("one"), press("one"), press("two"), press("two"))
    issued = [one for one in found if isinstance(one, Statement)]
    late = [one for one in found if isinstance(one, issuing.AlreadyIssued)]
    assert {one.number for one in issued} == {"CS-0001"} and len(issued) + len(late) == 5 and late, found
    assert {one.token for one in issued} <= {"one"} or {one.token for one in issued} <= {"two"}
    assert is_whole() == 1 and list(faults(recompute=True)) == []


def test_statements_of_different_vehicles_at_the_same_moment_have_numbers_of_their_own(tmp_path):
    plant(tmp_path, installations=[{"position_id": "G1", "part_id": "P3", "fitted": "1900"}])
    reasons = {vehicle: accept_all(issuing.Asked(vehicle, DAY)) for vehicle in ("L1", "L2")}

    def press(vehicle, token):
        return lambda: issuing.issue_statement(issuing.Asked(vehicle, DAY, reasons=reasons[vehicle], token=token), at=AT)

    found = at_once(press("L1", "a"), press("L2", "b"))
    assert sorted(one.number for one in found) == ["CS-0001", "CS-0002"], found
    assert is_whole() == 2 and list(faults(recompute=True)) == []


def test_the_same_sheet_imported_twice_at_the_same_moment_is_in_the_register_once():
    found = at_once(lambda: import_register(WORKED), lambda: import_register(WORKED))
    assert not [one for one in found if isinstance(one, Exception) and not isinstance(one, Refused)], found
    records, histories, acts = rows()
    assert acts == 1 and records == histories > 60
