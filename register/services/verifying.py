"""Look through every issued statement for anything that was changed, left out, slipped in or swapped."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

from django.db import DatabaseError

from register.exchange.frozen import Damaged, canonical, register_of
from register.exchange.values import key_of
from register.models import Entry, Statement, StatementFile
from register.models.statement import ISSUED
from register.models.triggers import missing_triggers
from register.services.chain import NOTHING, checkpoint_line, hash_of, record_digests, told_by
from register.services.inputs import NoSuch
from register.services.loading import state
from register.services.prepared import number_of
from register.services.statement_figures import METHOD_VERSION, statement_figures
from register.services.statement_files import FIGURES, INPUTS, TEXTS


def faults(*, recompute: bool = False, checkpoint: Path | None = None) -> Iterator[str]:
    """Everything that is wrong, a sentence each, the first in the order of the chain first.

    recompute: work every figure out again from its frozen rows. checkpoint: a file kept elsewhere; OSError where it
    cannot be read.
    """
    entries: list[Entry] = []
    for seq, entry in _one_by_one(Entry):
        if entry is None:
            yield f"Entry {seq} of the chain cannot be read from the database: its row is damaged."
            return
        entries.append(entry)
    yield from _chain(entries)
    issued = [one for one in entries if one.kind == ISSUED and _is_sound(one)]
    statements: list[Statement] = []
    for serial, statement in _one_by_one(Statement):
        if statement is None:
            yield f"The record of statement {number_of(serial)} cannot be read from the database: its row is damaged."
        else:
            statements.append(statement)
    yield from _statements(issued, statements)
    told_of = {entry.seq: told_by(entry) for entry in issued}
    for statement in statements:
        if statement.entry_id in told_of:
            yield from _files(statement, told_of[statement.entry_id], recompute=recompute)
    yield from _record(issued)
    if checkpoint is not None:
        yield from _checkpoint(entries, checkpoint)
    for table in missing_triggers():
        yield f"The table {table} could be changed: its triggers are missing. Run manage.py migrate --skip-checks."


def _one_by_one(model: Any, **where: Any) -> Iterator[tuple[Any, Any]]:
    """Rows by their key; None for one that the database cannot read, such as text that is no UTF-8 any more."""
    for key in list(model.objects.filter(**where).order_by("pk").values_list("pk", flat=True)):
        try:
            found = model.objects.get(pk=key)
        except (DatabaseError, UnicodeDecodeError):
            found = None
        yield key, found


NEEDED = {"seq", "kind", "number", "at"}
NEEDED_OF_AN_ISSUE = {
    "issue", "vehicle", "name", "as_at", "reference", "supersedes", "issued_by", "agreed_by", "files",
    "method_version", "change_no", "record",
}  # fmt: skip


def _told(entry: Entry) -> dict[str, Any] | None:
    """What an entry says, None where it is not what an entry says."""
    try:
        told = told_by(entry)
    except ValueError:
        return None
    if not isinstance(told, dict):
        return None
    needed = NEEDED | (NEEDED_OF_AN_ISSUE if entry.kind == ISSUED else set())
    return told if needed <= told.keys() else None


def _is_sound(entry: Entry) -> bool:
    """Whether what it says can be gone by: what is wrong with any other is told already."""
    return hash_of(entry.previous, entry.content) == entry.hash and _told(entry) is not None


def _chain(entries: list[Entry]) -> Iterator[str]:
    previous = NOTHING
    for place, entry in enumerate(entries, 1):
        if entry.seq != place:
            yield f"Entry {place} of the chain is missing: {entry.seq} ({entry.kind} {entry.number}) stands in its place."
            return
        if entry.previous != previous:
            yield f"Entry {place} of the chain ({entry.kind} {entry.number}) does not follow the one before it."
        if hash_of(entry.previous, entry.content) != entry.hash:
            yield f"Entry {place} of the chain ({entry.kind} {entry.number}) was changed: its hash is not that of its content."
        told = _told(entry)
        if told is None:
            yield f"Entry {place} of the chain ({entry.kind} {entry.number}) cannot be read."
        elif (told["seq"], told["kind"], told["number"]) != (entry.seq, entry.kind, entry.number):
            yield f"Entry {place} of the chain says that it is {told['seq']}, {told['kind']} {told['number']}, and stands as {entry}."
        previous = entry.hash


def _statements(issued: list[Entry], statements: list[Statement]) -> Iterator[str]:
    """Every issue has its statement and every statement its entry; numbers and issues run without a gap."""
    rows = {one.entry_id: one for one in statements}
    counts: dict[str, int] = {}
    latest: dict[str, str] = {}
    for serial, entry in enumerate(issued, 1):
        told = told_by(entry)
        if told["number"] != number_of(serial):
            yield f"Statement {told['number']} stands where {number_of(serial)} should: the numbers have a gap."
        vehicle = key_of(str(told["vehicle"]))
        counts[vehicle] = counts.get(vehicle, 0) + 1
        if (told["issue"], told["supersedes"]) != (counts[vehicle], latest.get(vehicle, "")):
            yield f"Statement {told['number']} is not the {counts[vehicle]}. issue of {told['vehicle']}, or does not supersede the one before it."
        latest[vehicle] = told["number"]
        row = rows.pop(entry.seq, None)
        if row is None:
            yield f"Statement {told['number']} is in the chain (entry {entry.seq}), and its record is missing."
            continue
        for column, held, said in _columns(row, told, vehicle, serial):
            if held != said:
                yield f"Statement {told['number']}, {column}: the record says {held!r}, its entry {said!r}."
    for row in rows.values():
        yield f"Statement {row.number} is recorded and was never entered in the chain as issued."


def _columns(row: Statement, told: dict[str, Any], vehicle: str, serial: int) -> list[tuple[str, Any, Any]]:
    return [
        ("serial", row.serial, serial),
        ("number", row.number, told["number"]),
        ("vehicle", row.vehicle, vehicle),
        ("id", row.code, told["vehicle"]),
        ("name", row.name, told["name"]),
        ("issue", row.issue, told["issue"]),
        ("day", row.day.isoformat(), told["as_at"]),
        ("reference", row.reference, told["reference"]),
        ("supersedes", row.supersedes, told["supersedes"]),
        ("issued_by", row.issued_by_id, told["issued_by"]),
        ("agreed_by", row.agreed_by_id, told["agreed_by"]),
    ]


def _files(statement: Statement, told: dict[str, Any], *, recompute: bool) -> Iterator[str]:
    held: dict[str, bytes] = {}
    for key, file in _one_by_one(StatementFile, statement=statement.pk):
        if file is None:
            yield f"{statement.number}: one of its files (row {key}) cannot be read from the database."
            continue
        name = f"{statement.number}, {file.name}"
        held[file.name] = data = bytes(file.data)
        if file.name not in told["files"]:
            yield f"{name}: the file was added after it was issued."
            continue
        found = hashlib.sha256(data).hexdigest()
        if found != told["files"][file.name]:
            yield f"{name}: the file was changed. Its SHA-256 is {found}; it was issued with {told['files'][file.name]}."
        if file.sha256 != told["files"][file.name]:
            yield f"{name}: the recorded SHA-256 was changed. It says {file.sha256}; it was issued with {told['files'][file.name]}."
    for missing in sorted(told["files"].keys() - held.keys()):
        yield f"{statement.number}, {missing}: the file is missing."
    if recompute and {INPUTS, FIGURES} <= held.keys():
        yield from _recomputed(statement, told, held)


def _recomputed(statement: Statement, told: dict[str, Any], held: dict[str, bytes]) -> Iterator[str]:
    if told["method_version"] != METHOD_VERSION:
        yield (
            f"{statement.number}: it was issued by version {told['method_version']} of the method, and this program "
            f"has version {METHOD_VERSION}. Recompute it with the program of that version."
        )
        return
    try:
        register = register_of(held[INPUTS])
        texts = json.loads(held[TEXTS]) if TEXTS in held else None
        day = date.fromisoformat(told["as_at"])
        found = statement_figures(register, statement.vehicle, day, told["reference"], texts)
        if canonical(found) == held[FIGURES]:
            return
        issued = json.loads(held[FIGURES])
    except (Damaged, NoSuch) as error:
        yield f"{statement.number}, {INPUTS}: {error}"
        return
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        yield f"{statement.number}, {FIGURES}: the file cannot be read ({error})."
        return
    where = next((key for key in found if found[key] != issued.get(key)), "its layout")
    yield f"{statement.number}, {FIGURES}: recomputed from its frozen rows, {where} is not what was issued."


def _record(issued: list[Entry]) -> Iterator[str]:
    """Acts and history up to each issue are what they were then."""
    kinds: dict[bytes, list[Entry]] = {}
    for entry in issued:
        kinds.setdefault(canonical(told_by(entry)["record"]["columns"]), []).append(entry)
    for columns, some in kinds.items():
        digests = record_digests(json.loads(columns), [told_by(entry)["change_no"] for entry in some])
        for entry in some:
            told = told_by(entry)
            for table, was in told["record"]["sha256"].items():
                if digests[told["change_no"]].get(table) != was:
                    what = (
                        f"The acts up to change {told['change_no']} were"
                        if table == "acts"
                        else f"The history of {table.replace('_', ' ')} up to change {told['change_no']} was"
                    )
                    yield f"{what} altered since {entry.number} was issued."


def _checkpoint(entries: list[Entry], path: Path) -> Iterator[str]:
    for line, text in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if not text.strip():
            continue
        try:
            told = json.loads(text)
            length, said, register = int(told["length"]), str(told["head"]), str(told["register_id"])
        except (ValueError, KeyError, TypeError):
            if not any(checkpoint_line(entry).startswith(text) for entry in entries if _is_sound(entry)):
                yield f"{path}, line {line}: this is no checkpoint."
            continue  # one that broke off as it was written
        if register != str(state().register_id):
            yield f"{path}, line {line}: the checkpoint is of another register ({register})."
        elif length > len(entries):
            yield (
                f"The chain is shorter than the checkpoint: it has {len(entries)} entries, and had {length} by line "
                f"{line} of {path}. Its end was cut off, or an older backup was restored."
            )
        elif length and entries[length - 1].hash != said:
            yield f"Entry {length} of the chain is not the one of the checkpoint (line {line} of {path}): the chain was written anew."
