"""Issued statements: frozen, numbered without a gap, entered in a chain that tells whatever was done to it."""

from __future__ import annotations

import hashlib
import json
import random
from datetime import timedelta

import pytest
from builders import change
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from register.exchange.faults import Refused
from register.exchange.frozen import register_of
from register.models import Entry, Statement, StatementFile, triggers
from register.services.chain import NOTHING, checkpoint_path
from register.services.change_sets import apply
from register.services.figures import figures_of
from register.services.inputs import inputs_from, inputs_of
from register.services.issuing import AlreadyIssued, Asked, issue_statement, withdraw_statement
from register.services.verifying import faults
from tests.services.issued import AT, DAY, accept_all, issue, plant

pytestmark = pytest.mark.django_db


@pytest.fixture
def planted(tmp_path):
    plant(tmp_path)


def drop_triggers():
    """PostgreSQL drops no trigger of a table whose rows have checks outstanding."""
    connection.check_constraints()
    triggers.drop_triggers()


def put_triggers_back():
    connection.check_constraints()
    triggers.make_triggers()


def file_of(statement, name):
    return bytes(StatementFile.objects.get(statement=statement, name=name).data)


def verify(capsys, *options):
    """(exit code, what was said)"""
    capsys.readouterr()
    try:
        call_command("verify_statements", *options)
    except SystemExit as left:
        return left.code, capsys.readouterr().err
    return 0, capsys.readouterr().out


# --- issuing --------------------------------------------------------------------------------------------------------


def test_what_is_issued_is_frozen_with_its_figures_and_its_papers(planted):
    statement = issue()
    assert (statement.number, statement.issue, statement.supersedes) == ("CS-0001", 1, "")
    names = set(StatementFile.objects.values_list("name", flat=True))
    assert names == {"inputs.json", "texts.json", "figures.json", "internal.pdf", "assessor.pdf", "public.pdf"}
    told = json.loads(statement.entry.content)
    for file in StatementFile.objects.all():
        assert hashlib.sha256(bytes(file.data)).hexdigest() == file.sha256 == told["files"][file.name]
    assert file_of(statement, "internal.pdf").startswith(b"%PDF")
    assert statement.entry.previous == NOTHING
    assert statement.entry.hash == hashlib.sha256(b"\0" + b"0" * 64 + statement.entry.content.encode()).hexdigest()


def test_the_frozen_rows_compute_as_the_register_does(planted):
    statement = issue()
    frozen = register_of(file_of(statement, "inputs.json"))
    assert inputs_from(frozen, "l1") == inputs_of("l1")
    told = json.loads(file_of(statement, "figures.json"))
    live = figures_of("L1", day=DAY)["mass"]
    mass = next(one for one in told["fabric"] if one["basis"] == "mass")
    assert (mass["low"], mass["high"]) == (round(float(live.whole.low), 6), round(float(live.whole.high), 6))


def test_a_later_correction_changes_the_figures_and_not_the_statement(planted, capsys):
    first = issue()
    before = {file.name: bytes(file.data) for file in StatementFile.objects.filter(statement=first)}
    apply([change("parts", part_id="P1", name="first chimney", mass="600 kg")], kind="test")
    second = issue(why="the chimney was weighed again")
    assert (second.number, second.issue, second.supersedes) == ("CS-0002", 2, "CS-0001")
    assert {file.name: bytes(file.data) for file in StatementFile.objects.filter(statement=first)} == before
    assert file_of(second, "figures.json") != before["figures.json"]
    assert verify(capsys, "--recompute")[0] == 0


def test_numbers_run_through_the_register_and_issues_through_a_vehicle(planted):
    apply([change("installations", position_id="G1", part_id="P3", fitted="1900")], kind="test")
    made = [issue("L1"), issue("L2"), issue("L1"), issue("L2")]
    assert [(one.number, one.issue) for one in made] == [("CS-0001", 1), ("CS-0002", 1), ("CS-0003", 2), ("CS-0004", 2)]


def test_the_same_button_pressed_twice_issues_once(planted):
    first, second = issue(token="abc"), issue(token="abc")
    assert first == second
    assert Statement.objects.count() == Entry.objects.count() == 1


def test_an_officer_who_did_not_know_of_a_statement_is_told_of_it(planted):
    issue(after="")
    with pytest.raises(AlreadyIssued, match="CS-0001 of this vehicle was issued meanwhile"):
        issue(after="")
    assert Statement.objects.count() == 1


def test_a_paper_made_while_somebody_recorded_something_is_made_again(planted, monkeypatch):
    from register.services import issuing

    made = []
    papers = issuing.Prepared.papers

    def slow(self):
        found = papers(self)
        if not made:
            apply([change("parts", part_id="P1", name="first chimney", mass="99 kg")], kind="test")
        made.append(self)
        return found

    monkeypatch.setattr(issuing.Prepared, "papers", slow)
    statement = issue()
    assert len(made) == 2
    assert b"99 kg" in file_of(statement, "inputs.json")


def test_a_register_that_never_rests_is_held_still(planted, monkeypatch):
    from register.services import issuing

    masses = iter(range(100, 200))
    papers = issuing.Prepared.papers

    def disturbed(self):
        found = papers(self)
        if not connection.in_atomic_block or len(connection.savepoint_ids) < 2:
            apply([change("parts", part_id="P1", name="first chimney", mass=f"{next(masses)} kg")], kind="test")
        return found

    monkeypatch.setattr(issuing.Prepared, "papers", disturbed)
    issue()
    assert Statement.objects.count() == 1


# --- what stands in the way -----------------------------------------------------------------------------------------


def refusal(**details):
    with pytest.raises(Refused) as told:
        issue(**details)
    assert not Statement.objects.exists()
    assert not Entry.objects.exists()
    return "\n".join(fault.message for fault in told.value.faults)


def test_a_character_without_a_glyph_refuses_the_issue_and_is_named_with_its_field(planted):
    apply([change("parts", part_id="P1", name="first chimney 漢", mass="60 kg")], kind="test")
    said = refusal()
    assert "“漢” (U+6F22)" in said
    assert "schedule" in said and "part" in said


def test_a_reason_that_cannot_be_printed_is_refused_with_its_field(planted):
    reasons = dict.fromkeys(accept_all(Asked("L1", DAY)), "see 漢\0")
    with pytest.raises(Refused) as told:
        issue_statement(Asked("L1", DAY, reasons=reasons), at=AT)
    assert {fault.column for fault in told.value.faults} == {f"accept-{code}" for code in reasons}
    assert "“漢” (U+6F22)" in told.value.faults[0].message


def test_a_finding_is_accepted_with_a_reason_that_is_issued_with_it(planted):
    with pytest.raises(Refused, match="identity"):
        issue_statement(Asked("L1", DAY), at=AT)
    statement = issue()
    told = json.loads(statement.entry.content)
    assert {"code": "identity", "records": [""], "reason": "known, and said so"} in told["accepted"]


def test_a_day_to_come_and_a_clock_that_is_behind_are_refused(planted):
    assert "a day that has come" in refusal(day=AT.date() + timedelta(days=2))
    assert "Put the clock of the machine right" in refusal(at=AT - timedelta(days=20_000))


def test_a_vehicle_with_nothing_fitted_is_refused(planted):
    apply([change("vehicles", vehicle_id="L9", name="Linnet", kind="wagon", built="1900")], kind="test")
    assert "no part is fitted on that day" in refusal(vehicle="L9")


def test_a_photograph_that_is_missing_is_no_evidence(planted):
    apply([change("photographs", file="x.jpg", sha256="0" * 64, part_id="P1")], kind="test")
    assert "x.jpg is missing (recorded SHA-256 000" in refusal()


def test_the_second_person_is_somebody_else(planted, django_user_model):
    user = django_user_model.objects.create(username="one")
    with pytest.raises(Refused, match="a second person is somebody else"):
        issue(user=user, agreed_by=user)


def test_a_new_issue_says_why(planted):
    issue()
    with pytest.raises(Refused, match="supersedes it"):
        issue(why="  ")


# --- withdrawing ----------------------------------------------------------------------------------------------------


def test_withdrawing_enters_why_and_leaves_the_statement(planted, capsys):
    statement = issue()
    with pytest.raises(Refused, match="say why"):
        withdraw_statement("CS-0001", user=None, reason=" ", at=AT)
    first = withdraw_statement("CS-0001", user=None, reason="the wrong engine", at=AT)
    assert withdraw_statement("CS-0001", user=None, reason="again", at=AT) == first
    assert Entry.objects.count() == 2
    assert Statement.objects.get() == statement
    assert verify(capsys)[0] == 0


# --- nothing can be altered -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("model", [Entry, Statement, StatementFile])
def test_the_database_refuses_to_alter_what_was_issued(planted, model):
    issue()
    for attack in (lambda: model.objects.update(number="X") if model is not StatementFile else model.objects.update(name="X"), lambda: model.objects.all()._raw_delete("default")):
        with pytest.raises(IntegrityError, match="never changed or deleted"), transaction.atomic():
            attack()


def flips(table, key):
    """(column, value with one bit flipped) for every column of every row, at the ends and at some places between."""
    chance = random.Random(7)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table} ORDER BY {key}")
        names = [one[0] for one in cursor.description]
        for row in cursor.fetchall():
            values = dict(zip(names, row, strict=True))
            for name in names:
                value = values[name]
                if name in ("id", "token") or value is None:
                    continue
                if isinstance(value, int):
                    yield values[key], name, value ^ 1
                    continue
                is_text = isinstance(value, str)
                data = value.encode() if is_text else str(value).encode() if not isinstance(value, bytes | memoryview) else bytes(value)
                if not data or not (is_text or isinstance(value, bytes | memoryview)):
                    continue
                places = {0, len(data) - 1, *(chance.randrange(len(data)) for _ in range(6))}
                for place in sorted(places):
                    flipped = bytearray(data)
                    flipped[place] ^= 1 << chance.randrange(7)
                    yield values[key], name, flipped.decode("latin-1").replace("\0", "?") if is_text else bytes(flipped)


@pytest.mark.parametrize(("table", "key"), [("register_entry", "seq"), ("register_statement", "serial"), ("register_statementfile", "id")])
def test_one_bit_flipped_anywhere_is_found_and_named(table, key, planted):
    issue()
    issue(why="again")
    drop_triggers()
    tried = 0
    for row, column, value in list(flips(table, key)):
        try:
            with transaction.atomic():
                if connection.vendor == "sqlite":
                    connection.cursor().execute("PRAGMA defer_foreign_keys = ON")
                with connection.cursor() as cursor:
                    cursor.execute(f"UPDATE {table} SET {column} = %s WHERE {key} = %s", [value, row])
                found = next(faults(), "")
                raise ZeroDivisionError
        except ZeroDivisionError:
            tried += 1
            assert found and "triggers" not in found, (table, row, column, value)
            assert "CS-0" in found or "Entry" in found, found
        except IntegrityError:
            pass  # the database's own rules were quicker
    assert tried > 20


def test_deleting_inserting_and_swapping_entries_is_found(planted):
    for number in range(4):
        issue(why=str(number))
    drop_triggers()

    def after(*statements):
        try:
            with transaction.atomic():
                with connection.cursor() as cursor:
                    for text in statements:
                        cursor.execute(text)
                found = next(faults(), "")
                raise ZeroDivisionError
        except ZeroDivisionError:
            return found

    gone = "DELETE FROM register_statementfile WHERE statement_id = 2", "DELETE FROM register_statement WHERE serial = 2"
    assert "Entry 2 of the chain is missing" in after(*gone, "DELETE FROM register_entry WHERE seq = 2")
    assert "Statement CS-0002 is in the chain" in after(*gone)
    assert "internal.pdf: the file is missing" in after("DELETE FROM register_statementfile WHERE statement_id = 2 AND name = 'internal.pdf'")
    assert "Entry 5" in after("INSERT INTO register_entry (seq, kind, number, content, previous, hash) VALUES (5, 'withdrawn', 'CS-0001', '{}', 'x', 'y')")
    swapped = [f"UPDATE register_entry SET {name} = (SELECT {name} FROM (SELECT {name}, seq FROM register_entry) AS a WHERE a.seq = 5 - register_entry.seq) WHERE seq IN (2, 3)" for name in ("content", "previous")]
    assert "Entry 2" in after(*swapped)
    files = "UPDATE register_statementfile SET data = (SELECT f.data FROM register_statementfile f WHERE f.statement_id = 1 AND f.name = 'internal.pdf') WHERE statement_id = 2 AND name = 'internal.pdf'"
    assert "CS-0002, internal.pdf: the file was changed" in after(files)
    extra = "INSERT INTO register_statementfile (statement_id, name, sha256, data) SELECT 1, 'more.pdf', sha256, data FROM register_statementfile WHERE statement_id = 1 AND name = 'public.pdf'"
    assert "CS-0001, more.pdf: the file was added" in after(extra)


def test_altered_history_is_found_and_named(planted):
    issue()
    drop_triggers()
    with connection.cursor() as cursor:
        cursor.execute("UPDATE register_historicalpart SET name = 'another' WHERE key = 'p1'")
    assert next(faults()) == "The history of parts up to change 1 was altered since CS-0001 was issued."
    with connection.cursor() as cursor:
        cursor.execute("UPDATE register_historicalpart SET name = 'first chimney' WHERE key = 'p1'")
        cursor.execute("UPDATE register_act SET reason = 'none'")
    assert next(faults()) == "The acts up to change 1 were altered since CS-0001 was issued."


def test_figures_and_rows_changed_together_with_every_hash_are_found_by_recomputing_or_by_the_checkpoint(planted, tmp_path, django_capture_on_commit_callbacks, capsys):
    """Somebody who can write to the database can write the chain anew: what is kept outside it tells."""
    from register.exchange.frozen import canonical
    from register.services.chain import hash_of

    with django_capture_on_commit_callbacks(execute=True):
        statement = issue()
    kept = tmp_path / "kept.jsonl"
    kept.write_bytes(checkpoint_path().read_bytes())
    drop_triggers()
    file = StatementFile.objects.get(name="figures.json")
    data = bytes(file.data).replace(b'"items":2', b'"items":3')
    assert data != bytes(file.data)
    told = json.loads(statement.entry.content)
    told["files"]["figures.json"] = hashlib.sha256(data).hexdigest()
    content = canonical(told).decode()
    StatementFile.objects.filter(name="figures.json").update(data=data, sha256=told["files"]["figures.json"])
    Entry.objects.update(content=content, hash=hash_of(NOTHING, content))
    put_triggers_back()
    assert list(faults()) == []
    assert "CS-0001, figures.json: recomputed from its frozen rows, fabric is not what was issued" in verify(capsys, "--recompute")[1]
    code, said = verify(capsys, "--checkpoint", str(kept))
    assert code == 1 and "Entry 1 of the chain is not the one of the checkpoint" in said


def test_a_tail_that_was_cut_off_is_found_by_the_checkpoint(planted, tmp_path, django_capture_on_commit_callbacks, capsys):
    with django_capture_on_commit_callbacks(execute=True):
        issue()
        issue(why="again")
    assert verify(capsys, "--recompute", "--checkpoint", str(checkpoint_path()))[0] == 0
    drop_triggers()
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM register_statementfile WHERE statement_id = 2")
        cursor.execute("DELETE FROM register_statement WHERE serial = 2")
        cursor.execute("DELETE FROM register_entry WHERE seq = 2")
    put_triggers_back()
    assert verify(capsys)[0] == 0  # nothing inside the database can tell
    code, said = verify(capsys, "--checkpoint", str(checkpoint_path()))
    assert code == 1 and "shorter than the checkpoint: it has 1 entries, and had 2" in said
    code, said = verify(capsys, "--checkpoint", str(tmp_path / "nothing.jsonl"))
    assert code == 1 and "nothing.jsonl" in said


def test_dropped_triggers_are_a_fault(planted, capsys):
    issue()
    drop_triggers()
    code, said = verify(capsys)
    assert code == 1 and "its triggers are missing" in said


def test_the_printed_head_is_the_last_hash_before_the_statement(planted):
    from io import BytesIO

    from pypdf import PdfReader

    first, second = issue(), issue(why="again")
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(file_of(second, "assessor.pdf"))).pages)
    squeezed = "".join(text.split())
    assert first.entry.hash in squeezed
    assert hashlib.sha256(file_of(second, "inputs.json")).hexdigest() in squeezed


def test_accepting_is_for_what_was_found(planted):
    assert set(accept_all(Asked("L1", DAY))) == {"identity", "unsupported"}


def text_of(statement, name):
    from io import BytesIO

    from pypdf import PdfReader

    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(file_of(statement, name))).pages).split())


def test_the_editions_differ_in_what_they_name_and_in_no_figure(tmp_path):
    tables = {
        "people": [{"person_id": "OW", "name": "CANARY Owner", "public_as": "a friend of the railway"}, {"person_id": "HO", "name": "CANARY Holder"}],
        "places": [{"place_id": "ST", "name": "CANARY Store"}],
        "positions": [{"position_id": "Q3", "vehicle_id": "L1", "name": "lamp", "visibility": "hidden"}],
        "installations": [{"position_id": "Q3", "part_id": "P3", "fitted": "1930", "removed": "1940"}],
        "movements": [{"part_id": "P3", "moved_on": "1990", "place_id": "ST"}],
        "events": [{"vehicle_id": "L1", "date": "1950", "kind": "examination", "title": "boiler examined", "holder": "HO"}],
    }
    plant(tmp_path, **tables)
    apply([change("vehicles", vehicle_id="L1", owner="OW")], kind="test")
    statement = issue()
    internal, assessor, public = (text_of(statement, f"{edition}.pdf") for edition in ("internal", "assessor", "public"))
    for marker in ("CANARY Store", "CANARY Owner", "CANARY Holder"):
        assert marker in internal, marker
        assert marker not in assessor + public, marker
    assert "a friend of the railway" in assessor and "a friend of the railway" not in public
    for text in (internal, assessor, public):
        assert "CS-0001" in text and statement.files.get(name="figures.json").sha256 in text.replace(" ", "")
    assert len(public) < len(assessor)


def test_what_does_not_agree_is_accepted_with_a_reason_unless_it_was_explained(planted):
    from register.services.findings import check_vehicle, say_of

    assert "unsupported" in accept_all(Asked("L1", DAY))
    finding = next(one for one in check_vehicle("L1", day=DAY).open if one.code == "unsupported")
    say_of(finding, verb="explained", reason="seen by two of us", user=None, at=AT)
    assert "unsupported" not in accept_all(Asked("L1", DAY))
