"""Whatever changes behind the register's back is found and named: a bit anywhere in the database's file, in a record, its
history, an act, a seal, a paper or a picture; and nothing is found in a register that was only used.

SQLite keeps no checksum of a page, so that its own check does not see a bit in a value.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing

import picture_files as files
import pytest
from builders import change, tiny, write_folder
from django.core.management import call_command
from django.db import DataError, IntegrityError, connection, transaction

from register.models import Act, Photograph, Seal, User, triggers
from register.services import verifying_seals
from register.services.change_sets import apply
from register.services.import_register import import_register
from register.services.photographs import SIZES, copy_path, original_path
from register.services.records import strike_out
from register.services.seals import RETIRED
from register.services.tables import MODELS
from register.services.trouble import trouble_of
from register.services.verifying import faults
from register.services.verifying_pictures import picture_faults
from register.services.verifying_records import against_history, record_faults
from register.services.verifying_seals import seal_faults
from tests.demo_register import plant_demo_register
from tests.injected import database_at, is_sqlite, only_to_be_read
from tests.services.issued import issue

pytestmark = pytest.mark.django_db


def found():
    return [*record_faults(), *seal_faults(), *faults()]


def plant(folder):
    """Two engines and two pictures; things recorded, corrected and struck out before and after a statement."""
    tables = tiny(
        parts=[{"part_id": "P4", "name": "lamp", "mass": "2 kg"}],
        photographs=[{"file": "p/a.jpg", "part_id": "P1", "caption": "the seam"}, {"file": "p/b.jpg", "part_id": "P2", "caption": "the dome"}],
        places=[{"place_id": "ST", "name": "Store"}],
        people=[{"person_id": "MT", "name": "M Tarn"}],
        treatments=[{"part_id": "P1", "date": "1950", "work": "patched"}],
        citations=[{"part_id": "P1", "source_id": "S1", "locator": "p 4"}],
        events=[{"vehicle_id": "L1", "date": "1950", "kind": "overhaul", "title": "overhaul"}],
        movements=[{"part_id": "P3", "moved_on": "2001", "place_id": "ST"}],
        reference_periods=[{"vehicle_id": "L1", "label": "as rebuilt", "date": "1930"}],
    )
    folder.joinpath("tiny/p").mkdir(parents=True)
    folder.joinpath("tiny/p/a.jpg").write_bytes(files.picture(size=(300, 200), colour=(200, 40, 40)))
    folder.joinpath("tiny/p/b.jpg").write_bytes(files.picture(size=(300, 200), colour=(40, 40, 200)))
    import_register(write_folder(folder / "tiny", tables))
    user = User.objects.create(username="an-officer")
    apply([change("parts", part_id="P1", name="first chimney", mass="61 kg")], kind="test", user=user, reason="weighed")
    strike_out("parts", "p4", user=user, reason="counted twice")
    issue()
    apply([change("parts", part_id="P1", name="first chimney", mass="62 kg")], kind="test", user=user, reason="weighed again")
    apply([change("parts", part_id="P9", name="gauge"), change("vehicles", vehicle_id="L2", name="Lapwing II")], kind="test")
    return user


# --- what was only used -----------------------------------------------------------------------------------------------


def test_nothing_is_found_in_a_register_that_was_only_used(tmp_path):
    plant(tmp_path)
    assert found() == [] and list(picture_faults()) == []
    assert Seal.objects.count() == Act.objects.count() == 5


def test_nothing_is_found_in_the_demo_register():
    plant_demo_register()
    assert found() == []


def test_a_register_is_looked_through_though_it_may_only_be_read(tmp_path):
    plant(tmp_path)
    with only_to_be_read():
        assert found() == []


@pytest.fixture
def planted(tmp_path):
    """The same, with nothing that keeps it from being altered."""
    plant(tmp_path)
    connection.check_constraints()
    triggers.drop_triggers()


# --- a value, in any table --------------------------------------------------------------------------------------------

def other(value):
    """Another value of the same kind."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + 1
    return f"{value[:-1]}{chr(ord(value[-1]) ^ 1)}" if value else "x"


def altered(table, pk, leave, look):
    """(row, column, what was found) after one value of each column was changed by itself, in one row or another."""
    quoted = connection.ops.quote_name
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table} ORDER BY {pk}")
        names = [one[0] for one in cursor.description]
        rows = [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]
    for number, column in enumerate(one for one in names if one not in leave):
        row = rows[number % len(rows)]
        value = "" if row[column] is None else row[column]
        if not isinstance(value, str | int):
            continue
        try:
            with transaction.atomic(), connection.cursor() as cursor:
                if is_sqlite():
                    cursor.execute("PRAGMA defer_foreign_keys = ON")
                cursor.execute(f"UPDATE {table} SET {quoted(column)} = %s WHERE {pk} = %s", [other(value), row[pk]])
                said = list(look())
                raise ZeroDivisionError
        except ZeroDivisionError:
            yield row, column, said
        except (IntegrityError, DataError):
            continue  # the database's own rules were quicker


def test_a_value_of_a_record_that_changed_is_found_with_its_table_and_id(planted):
    for name, model in MODELS.items():
        tried = 0
        for row, column, said in altered(model._meta.db_table, "key", ("key", "act_id"), lambda name=name: against_history(name)):
            tried += 1
            assert said == [f"{name.replace('_', ' ')}, {row['key']}: {column.replace('_', ' ')} was changed since it was recorded, in the record or in its history."]
        assert tried > 2, name


def test_a_value_of_a_history_that_changed_is_found_with_its_table_and_id(planted, monkeypatch):
    for name, model in MODELS.items():
        monkeypatch.setattr(verifying_seals, "MODELS", {name: model})  # the history of this table alone is read, for time
        tried = 0
        for row, column, said in altered(model.history.model._meta.db_table, "history_id", ("history_id", "history_change_reason"), seal_faults):
            tried += 1
            where = [one for one in said if f"istory of {name.replace('_', ' ')} " in one]
            assert where and any(str(row["key"]) in one or column in ("key", "act_id") for one in where), (name, column, said)
        assert tried > 2, name


@pytest.mark.parametrize(("table", "pk", "words"), [("register_act", "change_no", "acts, {}: "), ("register_seal", "act_id", "The seal of change {} "), ("register_retiredid", "id", f"The history of {RETIRED} was changed since change 3 wrote it")])
def test_a_value_of_an_act_a_seal_or_a_retired_id_that_changed_is_found(table, pk, words, planted):
    tried = 0
    for row, column, said in altered(table, pk, ("change_no", "id", "act_id", "token"), seal_faults):
        tried += 1
        assert any(one.startswith(words.format(row[pk])) for one in said), (column, said)
    assert tried > 1


def after(*statements):
    """What is found after these."""
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            if is_sqlite():
                cursor.execute("PRAGMA defer_foreign_keys = ON")
            for one in statements:
                cursor.execute(one)
            said = [*record_faults(), *seal_faults()]
            raise ZeroDivisionError
    except ZeroDivisionError:
        return "\n".join(said)


def test_a_row_that_is_gone_or_was_slipped_in_is_found(planted):
    assert "parts, p9: the record is gone" in after("DELETE FROM register_part WHERE key = 'p9'")
    assert "parts, p9: the record is not in its history" in after("DELETE FROM register_historicalpart WHERE key = 'p9'")
    assert "The history of parts that change 4 wrote is gone" in after("DELETE FROM register_historicalpart WHERE act_id = 4")
    assert "The history of parts was changed since change 1 wrote it: 4 rows were written, and 3 are there" in after("DELETE FROM register_historicalpart WHERE key = 'p1' AND act_id = 1")
    assert "Change 2 has no seal" in after("DELETE FROM register_seal WHERE act_id = 2")
    assert "does not follow the one before it" in after("DELETE FROM register_seal WHERE act_id = 2")
    assert "The acts have a gap: the last is change 5, and there are 4." in after("DELETE FROM register_seal WHERE act_id = 4", "DELETE FROM register_historicalpart WHERE act_id = 4", "DELETE FROM register_act WHERE change_no = 4")
    moved = after("UPDATE register_historicalpart SET act_id = 5 WHERE key = 'p1' AND act_id = 2")
    assert "The history of parts that change 2 wrote is gone" in moved and "The history of parts was changed since change 5 wrote it: p1" in moved


def test_what_was_written_before_there_were_seals_is_said(planted, capsys):
    Seal.objects.filter(act__lt=3)._raw_delete("default")
    connection.check_constraints()
    triggers.make_triggers()
    call_command("verify_register")
    assert "What was written before change 3 has no seal" in capsys.readouterr().out


# --- a bit of the file ------------------------------------------------------------------------------------------------

COVERED = {"register_act", "register_seal", "register_retiredid", "register_entry", "register_statement", "register_statementfile"}
COVERED |= {model._meta.db_table for model in MODELS.values()} | {model.history.model._meta.db_table for model in MODELS.values()}
IN_NO_VALUE = {"register_statementfile": ("id",), "register_retiredid": ("id",), "register_act": ("token",), "register_statement": ("token",)}
"""Columns that say nothing of the register: row numbers, and what told one sent form from another."""


def contents(path):
    """Every value of what is covered, read by the standard library alone; None where it cannot be read."""
    told = {}
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as own:
            own.text_factory = bytes
            for table in sorted(COVERED):
                cursor = own.execute(f"SELECT * FROM {table}")
                names = [one[0] for one in cursor.description]
                left = [at for at, name in enumerate(names) if name not in ("history_id", "history_change_reason", *IN_NO_VALUE.get(table, ()))]
                told[table] = sorted(repr([row[at] for at in left]) for row in cursor)
    except sqlite3.Error:
        return None
    return told


def places(data):
    """(what, byte) to flip a bit of: the ends of the head, all over the file, and where words of the register stand."""
    chance = random.Random(5)
    yield from (("head", at) for at in (0, 18, 28, 40, 44, 56, 60, 96))
    yield from (("anywhere", chance.randrange(100, len(data))) for _ in range(50))
    for word in (b"first chimney", b"Lapwing", b"weighed again", b"counted twice", b"61 kg", b"62 kg", b"p/a.jpg", b"the seam", b"%PDF", b"CS-0001", b"patched", b"Store"):
        at = data.find(word)
        while at >= 0:
            yield word.decode(), at + len(word) // 2
            at = data.find(word, at + 1)


@pytest.mark.django_db(transaction=True)
def test_a_bit_flipped_anywhere_in_the_file_of_the_database_is_found_if_it_changes_a_value(tmp_path):
    if not is_sqlite():
        pytest.skip("PostgreSQL has checksums of its pages")
    plant(tmp_path)
    connection.close()
    whole = tmp_path / "whole.sqlite3"
    shutil.copyfile(connection.settings_dict["NAME"], whole)
    right, data = contents(whole), whole.read_bytes()
    chance, flipped = random.Random(6), tmp_path / "flipped.sqlite3"
    counts = {"changed": 0, "unreadable": 0, "the same": 0}
    for what, at in places(data):
        altered = bytearray(data)
        altered[at] ^= 1 << chance.randrange(7)
        flipped.write_bytes(bytes(altered))
        now = contents(flipped)
        if now == right:
            counts["the same"] += 1
            continue
        with database_at(flipped):
            try:
                said = found()
            except Exception as error:
                assert trouble_of(error), (what, at, error)  # a command says so, and exits with 1
                said = [str(error)]
        counts["changed" if now else "unreadable"] += 1
        assert said, (what, at)
        if now:
            tables = [table for table in right if now[table] != right[table]]
            assert any(named(table, one) for table in tables for one in said), (what, at, tables, said)
    assert counts["changed"] > 25 and counts["unreadable"] > 2, counts


def named(table, sentence):
    """Whether a sentence says which table it is of."""
    words = {model._meta.db_table: name for name, model in MODELS.items()} | {model.history.model._meta.db_table: name for name, model in MODELS.items()}
    words |= {"register_act": "act", "register_seal": "seal", "register_retiredid": RETIRED, "register_entry": "Entry", "register_statement": "CS-", "register_statementfile": "CS-"}
    return words[table].replace("_", " ") in sentence or table in sentence or "structure" in sentence


# --- pictures, and the command ----------------------------------------------------------------------------------------


def test_a_picture_that_changed_in_any_way_is_found_with_its_file(tmp_path):
    plant(tmp_path)
    a, b = (Photograph.objects.get(key=f"p/{name}.jpg").sha256 for name in "ab")
    data, chance = original_path(a).read_bytes(), random.Random(9)
    for _ in range(20):
        flipped = bytearray(data)
        flipped[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        original_path(a).write_bytes(bytes(flipped))
        (said,) = picture_faults()
        assert said.startswith("photographs, p/a.jpg: The file is not the one that was recorded") and a in said
    original_path(a).unlink()
    assert list(picture_faults()) == [f"photographs, p/a.jpg: The file is missing (recorded SHA-256 {a})."]
    original_path(a).write_bytes(data)
    kept = copy_path(a, "small").read_bytes()
    copy_path(a, "small").write_bytes(copy_path(b, "small").read_bytes())
    (said,) = picture_faults()
    assert said == f"photographs, p/a.jpg: its small copy shows another picture. Delete {copy_path(a, 'small')}, and it is made again."
    copy_path(a, "small").write_bytes(kept[:-1])  # cut short: it is made again for whoever looks
    assert list(picture_faults()) == [] and set(SIZES) == {"large", "small"}


def test_the_command_names_what_is_wrong_and_exits_with_1(tmp_path, capsys):
    plant(tmp_path)
    call_command("verify_register", "--recompute")
    assert capsys.readouterr().out == "5 acts, 2 pictures and 1 issued statements: nothing was altered.\n"
    original_path(Photograph.objects.get(key="p/a.jpg").sha256).unlink()
    with pytest.raises(SystemExit) as left:
        call_command("verify_register")
    assert left.value.code == 1 and capsys.readouterr().err.startswith("photographs, p/a.jpg: The file is missing")
    call_command("verify_register", "--without-pictures")
    connection.check_constraints()
    triggers.drop_triggers()
    with connection.cursor() as cursor:
        cursor.execute("UPDATE register_part SET name = 'last chimney' WHERE key = 'p1'")
        cursor.execute("UPDATE register_historicalpart SET name = 'last chimney' WHERE key = 'p1' AND act_id = 1")
    with pytest.raises(SystemExit):
        call_command("verify_register", "--without-pictures")
    said = capsys.readouterr().err
    assert "parts, p1: name was changed since it was recorded" in said and "The history of parts was changed since change 1 wrote it: p1." in said
    assert "altered since CS-0001 was issued" in said and "triggers are missing" in said
