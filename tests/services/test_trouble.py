"""Trouble under the register is known by what the system says, and told by commands with what to do: never a traceback, and
never hidden by what went wrong while it was being cleared up."""

from __future__ import annotations

import errno
import os
import resource
import shutil
import sqlite3
from collections import namedtuple

import pytest
from builders import WORKED, tiny, write_folder
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction

from register.models import Act, Part
from register.services import backup as backups
from register.services.backup import BackupError, backup, verify_backup
from register.services.change_sets import apply
from register.services.import_register import import_register
from register.services.trouble import (
    AWAY,
    BUSY,
    FAILING,
    FULL,
    GONE,
    MEMORY,
    READ_ONLY,
    TROUBLES,
    amount,
    room_for,
    trouble_of,
)
from tests.injected import (
    database_at,
    full_database,
    held_by_somebody_else,
    in_a_child,
    is_sqlite,
    no_room_for_files,
    only_to_be_read,
)
from tests.services.test_backup import manage

committing = pytest.mark.django_db(transaction=True)


def kind_of(error):
    found = trouble_of(error)
    return found.kind if found else None


def raised(work):
    try:
        work()
    except Exception as error:
        return error
    raise AssertionError("nothing went wrong")


# --- what it is -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "kind"),
    [(errno.ENOSPC, FULL), (errno.EDQUOT, FULL), (errno.EFBIG, FULL), (errno.EROFS, READ_ONLY), (errno.EACCES, READ_ONLY), (errno.EIO, FAILING), (errno.ENOENT, None), (errno.EPIPE, None)],
)
def test_what_the_system_says_of_a_file_is_known(code, kind):
    assert kind_of(OSError(code, os.strerror(code))) == kind


def test_no_memory_is_trouble_and_a_fault_of_the_program_is_none():
    assert kind_of(MemoryError()) == MEMORY
    assert kind_of(ValueError("no")) is None and kind_of(None) is None
    assert kind_of(DatabaseError("ours, and not the driver's")) is None


def test_a_full_disk_is_not_hidden_by_the_rollback_after_it(tmp_path):
    """SQLite rolls back by itself where it cannot write; the ROLLBACK that follows is refused."""

    def work():
        own = sqlite3.connect(tmp_path / "own.sqlite3", isolation_level=None)
        own.execute("CREATE TABLE t (x)")
        own.execute("PRAGMA cache_size = 1")  # so that it writes before the end
        own.execute("BEGIN")
        try:
            for _ in range(400):
                own.execute("INSERT INTO t VALUES (randomblob(1000))")
        except sqlite3.Error:
            own.execute("ROLLBACK")
            raise

    def limited():
        resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))
        error = raised(work)
        assert "no transaction is active" in str(error), error
        assert kind_of(error) == FAILING, error  # a limit of the account: SQLite says no more than that it could not write

    assert in_a_child(limited) == 0


def test_an_error_that_something_else_went_before_is_not_taken_for_it():
    def work():
        try:
            raise OSError(errno.ENOSPC, "full")
        except OSError:
            raise ValueError("a fault of the program, in clearing up") from None

    assert kind_of(raised(work)) is None


@pytest.fixture
def many(tmp_path):
    """More than fits into what is free in the pages that there are."""
    return write_folder(tmp_path / "many", {"parts": [{"part_id": f"P{number}", "name": "bolt", "remarks": "a long remark. " * 100} for number in range(100)]})


@committing
def test_what_the_database_says_is_known(many):
    with full_database():
        assert kind_of(raised(lambda: import_register(many))) == FULL
    with held_by_somebody_else():
        assert kind_of(raised(lambda: import_register(many))) == BUSY
    with only_to_be_read():
        assert kind_of(raised(lambda: import_register(many))) == READ_ONLY
    assert Act.objects.count() == 0
    import_register(many)
    assert Act.objects.count() == 1


@committing
def test_a_change_set_inside_a_larger_one_fails_whole_on_a_full_disk(tmp_path):
    """The savepoint is gone with SQLite's own rollback: nothing after it may be written as if it were still there."""
    from builders import change

    import_register(write_folder(tmp_path / "tiny", tiny()))
    before = Act.objects.count()

    def work():
        with transaction.atomic():
            apply([change("parts", part_id="P7", name="lamp")], kind="test")
            apply([change("parts", part_id=f"P{number}", name="x", remarks="a long remark. " * 1_300) for number in range(8, 60)], kind="test")

    with full_database():
        assert kind_of(raised(work)) == FULL
        assert not connection.in_atomic_block and connection.get_autocommit()
    assert Act.objects.count() == before and not Part.objects.filter(key="p7").exists()
    work()
    assert Act.objects.count() == before + 2


def test_every_trouble_has_sentences_and_a_status_of_its_own():
    for one in TROUBLES.values():
        assert one.status == (507 if one.kind == FULL else 503)
        for text in (one.what, one.remedy.format(room="1 MB")):
            assert text.endswith(".") and text[0].isupper()


def test_how_much_room_is_asked_for_is_in_words():
    assert room_for() == "50 MB" and room_for(100_000_000) == "400 MB"
    assert amount(1) == "1 MB" and amount(12_345_678_901) == "13 GB"


# --- what commands say ------------------------------------------------------------------------------------------------


def said_by(capsys, *arguments):
    """(exit code, what was said)"""
    capsys.readouterr()
    code = 0
    try:
        call_command(*map(str, arguments))
    except SystemExit as left:
        code = left.code
    out, err = capsys.readouterr()
    return code, out + err


@committing
def test_an_import_onto_a_full_disk_says_how_much_room_it_needs_and_works_when_there_is(many, capsys):
    import_register(WORKED)
    with full_database():
        code, said = said_by(capsys, "import_register", many)
        assert code == 1 and said.startswith("The disk is full.") and "Nothing was stored. Free at least 50 MB" in said
        assert said_by(capsys, "fabric", "BRIN")[0] == 0  # it is still read
        assert Part.objects.filter(name="bolt").count() == 0
    assert said_by(capsys, "import_register", many)[0] == 0
    assert Part.objects.filter(name="bolt").count() == 100


@committing
@pytest.mark.parametrize(("fault", "words"), [(held_by_somebody_else, "Somebody else is writing"), (only_to_be_read, "cannot be written to")])
def test_an_import_into_a_database_that_is_held_or_read_only_says_so(fault, words, capsys):
    with fault():
        code, said = said_by(capsys, "import_register", WORKED)
    assert code == 1 and words in said and "Traceback" not in said
    assert Act.objects.count() == 0


@pytest.mark.django_db
def test_a_paper_that_finds_no_room_is_named_with_the_room_it_needs(tmp_path, monkeypatch, capsys):
    import_register(write_folder(tmp_path / "tiny", tiny()))
    paper = tmp_path / "out" / "draft.pdf"
    with monkeypatch.context() as fault:
        no_room_for_files(fault)
        code, said = said_by(capsys, "statement", "L1", "--output", paper)
    assert code == 1 and "The disk is full." in said and "50 MB" in said
    assert list(paper.parent.iterdir()) == []
    assert said_by(capsys, "statement", "L1", "--output", paper)[0] == 0 and paper.exists()


# --- a backup ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def planted(transactional_db, tmp_path):
    if not is_sqlite():
        pytest.skip("its dump is PostgreSQL's own")
    import_register(write_folder(tmp_path / "tiny", tiny()))
    backup(tmp_path / "kept" / "monday")
    return tmp_path / "kept"


def folders(kept):
    return sorted(path.name for path in kept.iterdir())


def test_a_backup_that_would_not_fit_is_not_begun_and_says_how_much_it_needs(planted, monkeypatch):
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage(10**9, 10**9 - 10**6, 10**6))
    with pytest.raises(BackupError, match=r"The backup needs \d+ MB, and 1 MB are free at .*: *|No backup was written"):
        backup(planted / "tuesday")
    assert folders(planted) == ["monday"]


def test_a_backup_that_finds_the_disk_full_leaves_nothing_under_its_name_and_the_last_one_whole(planted, monkeypatch):
    with monkeypatch.context() as fault:
        no_room_for_files(fault)
        with pytest.raises(BackupError, match=r"The disk is full\..*Free at least \d+ MB there"):
            backup(planted / "tuesday")
    assert folders(planted) == ["monday"]
    verify_backup(planted / "monday")
    backup(planted / "tuesday")
    verify_backup(planted / "tuesday")


def test_a_backup_whose_database_cannot_be_written_whole_is_none(planted):
    def limited():
        resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))
        error = raised(lambda: backup(planted / "tuesday"))
        assert isinstance(error, BackupError) and "No backup was written." in str(error), error

    assert in_a_child(limited) == 0
    assert folders(planted) == ["monday"]


def test_a_backup_says_which_change_it_ends_at_though_somebody_writes_meanwhile(planted, monkeypatch):
    from builders import change

    dump = backups._dump_database

    def busy(aside):
        found = dump(aside)
        apply([change("parts", part_id="P7", name="lamp")], kind="test")
        return found

    monkeypatch.setattr(backups, "_dump_database", busy)
    assert backup(planted / "tuesday")["change_no"] == 1 and Act.objects.count() == 2


# --- a database that is not there -------------------------------------------------------------------------------------


def test_a_command_makes_no_database_of_a_file_that_is_gone(transactional_db, tmp_path, capsys):
    if not is_sqlite():
        pytest.skip("a file of SQLite's")
    path = tmp_path / "gone.sqlite3"
    for arguments in (("fabric", "BRIN"), ("import_register", WORKED), ("verify_statements",), ("backup", tmp_path / "backup")):
        with database_at(path):
            code, said = said_by(capsys, *arguments)
        assert code == 1 and "The database is not there." in said and "No new one was made" in said, said
        assert not path.exists() and not (tmp_path / "backup").exists()


def test_migrate_and_django_s_own_commands_make_no_register_anew_where_one_was(tmp_path):
    place, database = tmp_path / "data", tmp_path / "data" / "register.sqlite3"
    original = place / "media" / "originals" / "ab" / "picture"
    original.parent.mkdir(parents=True)
    original.write_bytes(b"picture")
    done = manage(place, "axes_reset", check=False)
    assert done.returncode == 1 and "The database is not there." in done.stderr and "Traceback" not in done.stderr, done.stderr
    for lose in (lambda: None, database.touch):  # gone, or of no bytes
        lose()
        done = manage(place, "migrate", check=False)
        assert done.returncode == 1 and "is gone or empty, and a register was kept here" in done.stderr and "Traceback" not in done.stderr
        assert not database.exists() or database.stat().st_size == 0


@pytest.mark.parametrize("kind", [GONE, AWAY])
def test_what_to_do_about_a_database_that_is_not_there_is_said(kind):
    assert "DATABASE_URL" in TROUBLES[kind].remedy
