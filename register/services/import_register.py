"""Import a workbook or a folder of CSV files: whole or nothing, every fault at once."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path

from django.db import connection

from register.exchange.faults import Fault, Refused
from register.exchange.overlay import Conflict, Keep, Overlaid, overlay
from register.exchange.rawtables import ReadResult, read_register_file
from register.exchange.records import Change
from register.exchange.schema import ORDER, TABLES
from register.models import Act, User
from register.services.change_sets import apply, refuse_if_faulty
from register.services.loading import load_register
from register.services.photographs import keep_original, sha256_of


@dataclass(slots=True)
class ImportReport:
    """What an import did, or would do: counts by table, values cleared (table, id, column, old text), notes."""

    created: Counter[str] = field(default_factory=Counter)
    updated: Counter[str] = field(default_factory=Counter)
    unchanged: Counter[str] = field(default_factory=Counter)
    cleared: list[tuple[str, str, str, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    act: Act | None = None

    def lines(self) -> list[str]:
        """One line a table that had rows, then the values cleared, then the notes."""
        cleared = Counter(table for table, *_ in self.cleared)
        found = [
            f"{name}: {self.created[name]} created, {self.updated[name]} updated, {self.unchanged[name]} unchanged, {cleared[name]} cleared"
            for name in ORDER
            if self.created[name] or self.updated[name] or self.unchanged[name]
        ]
        found += [
            f'cleared: {table} {code}, {column}: was "{old}"' for table, code, column, old in self.cleared
        ]
        return found + self.notes


def import_register(
    path: Path,
    *,
    dry_run: bool = False,
    keep: Keep = "",
    user: User | None = None,
    reason: str = "",
    kind: str = "import",
) -> ImportReport:
    """Read the file and apply it. keep: "file" or "register" where both changed. Raises Refused or Conflicted."""
    read = read_register_file(path)
    changes = changes_of(read)
    photographs, missing = _photographs(read, changes)
    if read.faults or missing:
        raise Refused([*read.faults, *missing, *_faults_of_the_rest(read, changes)])
    base_no, notes = _base(read)
    if dry_run:
        result = overlay(load_register(), changes, base_no=base_no, keep=keep)
        refuse_if_faulty(result)
        return report(result, [*read.notes, *notes])
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA cache_spill=0")  # readers go on while a long import writes
    for file in photographs:
        keep_original(file)
    act, result = apply(
        changes,
        kind=kind,
        user=user,
        reason=reason or f"import of {path.name}",
        base_no=base_no,
        keep=keep,
        whole=True,
    )
    found = report(result, [*read.notes, *notes])
    found.act = act
    return found


def _faults_of_the_rest(read: ReadResult, changes: list[Change]) -> list[Fault]:
    """What is wrong with what could be read, so that one look at the file finds everything. A fault that only follows
    from a cell told of already is left out: the same cell, or a reference to a row that could not be read."""
    told: set[tuple[str, int | None, str]] = {
        (row.table, row.line, column) for rows in read.rows.values() for row in rows for column in row.bad
    }
    told |= {(fault.table, fault.row, fault.column) for fault in read.faults}
    lost = _Lost(read)
    found = overlay(load_register(), [change for change in changes if change.values], base_no=None)
    return [
        fault
        for fault in found.faults
        if (fault.table, fault.row, fault.column) not in told and not lost.explain(fault)
    ]


class _Lost:
    """What could not be read so far that nobody knows whether a reference to it is right: whole tables (a sheet whose name
    is none may be any of those that are not there), rows without a key, rows whose id is misspelt."""

    def __init__(self, read: ReadResult) -> None:
        self.tables = (
            {name for name in TABLES if not read.rows.get(name)}
            if any(fault.table not in TABLES for fault in read.faults)
            else set()
        )
        self.ids: set[tuple[str, str]] = set()
        kept = {(row.table, row.line) for rows in read.rows.values() for row in rows}
        for fault in read.faults:
            table = TABLES.get(fault.table)
            if table is None or (fault.table, fault.row) in kept:
                continue
            if fault.column == table.own_id:
                self.ids.add((fault.table, _bare(fault.value)))
            elif not read.rows.get(fault.table) or (not fault.column and fault.row != 1):
                self.tables.add(fault.table)

    def explain(self, fault: Fault) -> bool:
        column = TABLES[fault.table].by_name.get(fault.column)
        return (
            column is not None
            and column.kind == "ref"
            and (column.to in self.tables or (column.to, _bare(fault.value)) in self.ids)
        )


def _bare(code: str) -> str:
    return "".join(letter for letter in code.casefold() if letter.isalnum())


def changes_of(read: ReadResult) -> list[Change]:
    """The change set that a file amounts to."""
    return [
        Change(row.table, row.values, row.row_id, row.line, unread=row.bad)
        for rows in read.rows.values()
        for row in rows
    ]


def report(result: Overlaid, notes: list[str]) -> ImportReport:
    found = ImportReport(
        Counter({name: len(keys) for name, keys in result.created.items()}),
        Counter({name: len(keys) for name, keys in result.updated.items()}),
        Counter(result.unchanged),
        result.cleared,
        notes,
        result.conflicts,
    )
    found.created["assessments"] += len(result.new_drafts)
    found.updated["assessments"] += len(result.changed_drafts)
    return found


def _base(read: ReadResult) -> tuple[int | None, list[str]]:
    """The change_no to compare with, if the file came from this register."""
    if not read.export:
        return None, [
            "The file does not say which state of the register it was written from: where both differ, the file wins."
        ]
    from register.services.loading import state

    if read.export.get("register_id") != str(state().register_id):
        return None, ["The file was exported from another register: where both differ, the file wins."]
    try:
        return int(read.export.get("change_no") or ""), []
    except ValueError:
        raise Refused(
            [
                Fault(
                    "export", 2, "change_no", str(read.export.get("change_no")), "a whole number is expected."
                )
            ]
        ) from None


def _photographs(read: ReadResult, changes: list[Change]) -> tuple[list[Path], list[Fault]]:
    """The picture files named, each beside the tables, and a fault for each that is missing or is not the file that was
    meant; fills in their SHA-256."""
    files: list[Path] = []
    faults: list[Fault] = []
    for at, change in enumerate(changes):
        if change.table != "photographs" or not change.values.get("file"):
            continue
        path = read.base / change.values["file"]
        told = change.values.get("sha256")
        if not path.is_file():
            faults.append(
                Fault(
                    "photographs",
                    change.line,
                    "file",
                    change.values["file"],
                    "there is no such file beside the tables.",
                )
            )
            continue
        try:
            found = sha256_of(path)
        except ValueError as error:
            faults.append(Fault("photographs", change.line, "file", change.values["file"], str(error)))
            continue
        if told and told != found:
            faults.append(
                Fault(
                    "photographs", change.line, "sha256", told, "the file beside the tables is another one."
                )
            )
        files.append(path)
        changes[at] = replace(change, values={**change.values, "sha256": found})
    return files, faults
