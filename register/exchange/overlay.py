"""Lay a change set over the register: pure, and the only place that knows what a change set does.

``overlay`` gives the register as it would be and every fault; a preview shows exactly that, and applying a change set
writes exactly that.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from register.exchange import rules
from register.exchange.faults import Fault
from register.exchange.merging import HISTORIC, merge
from register.exchange.records import Change, Register, Row, joined_key, natural_key, target_table
from register.exchange.schema import ORDER, TABLES, WRITE_ORDER, Column, Table
from register.exchange.values import key_of, missing_required, write_value
from register.fabric.quantities import write_fraction, write_mass

NEW = "new:"
UNKNOWN = ""


@dataclass(frozen=True, slots=True)
class Conflict:
    """A record changed in the register since the file was written, and differing from it: column, ours, theirs."""

    table: str
    key: str
    code: str
    line: int | None
    differences: tuple[tuple[str, str, str], ...]

    @property
    def field(self) -> str:
        """What a choice for this record is called: ``table:key``."""
        return f"{self.table}:{self.key}"

    def __str__(self) -> str:
        where = f" row {self.line}" if self.line else ""
        what = "; ".join(
            f'{column}: register "{ours}", file "{theirs}"' for column, ours, theirs in self.differences
        )
        return f"{self.table}{where} {self.code}: changed in the register since the file was written. {what}"


@dataclass(slots=True)
class Overlaid:
    """What a change set makes of a register.

    created, struck: table to keys; merged: table to struck key to the id that it is an alias of from now on; updated:
    table to key to {column: (old, new)}; cleared: (table, code, column, old text); drafts are counted under
    ``assessments`` and kept apart.
    """

    register: Register
    created: dict[str, list[str]] = field(default_factory=dict)
    updated: dict[str, dict[str, dict[str, tuple[Any, Any]]]] = field(default_factory=dict)
    struck: dict[str, list[str]] = field(default_factory=dict)
    merged: dict[str, dict[str, str]] = field(default_factory=dict)
    unchanged: Counter[str] = field(default_factory=Counter)
    cleared: list[tuple[str, str, str, str]] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    new_drafts: list[str] = field(default_factory=list)
    changed_drafts: list[str] = field(default_factory=list)
    accepted_drafts: list[str] = field(default_factory=list)
    given_row_ids: dict[str, str] = field(default_factory=dict)

    @property
    def changes_anything(self) -> bool:
        return bool(
            any(self.created.values())
            or any(self.updated.values())
            or any(self.struck.values())
            or self.new_drafts
            or self.changed_drafts
            or self.accepted_drafts
        )

    def touched(self) -> dict[str, set[str]]:
        return {name: {*self.created.get(name, ()), *self.updated.get(name, ())} for name in ORDER}


Keep = str | Mapping[str, str]
"""Who wins a conflict: "file", "register", "" (nobody yet), or one of these for each ``table:key``."""


def overlay(
    register: Register, changes: Iterable[Change], *, base_no: int | None = None, keep: Keep = ""
) -> Overlaid:
    """The register with the changes laid over it.

    base_no: the change_no that the author saw; a record changed since and differing is a conflict unless ``keep``
    says "file" (the change wins) or "register" (the record stays). Faults do not stop the work: all are found.
    """
    return _Laying(register, base_no, keep).lay(list(changes))


class _Laying:
    """The state of one overlay: what was found so far, and the indexes that find rows."""

    def __init__(self, register: Register, base_no: int | None, keep: Keep) -> None:
        self.before = register
        self.after = register.copy()
        self.base_no = base_no
        self.keep = keep
        self.out = Overlaid(self.after)
        self.lines: dict[tuple[str, str], int | None] = {}
        self.seen: dict[tuple[str, Any], int | None] = {}
        self.indexes: dict[tuple[str, tuple[str, ...]], dict[tuple[Any, ...], list[str]]] = {}
        self.names: dict[str, str] | None = None
        self.counter = 0
        self.typed: dict[str, str] = {}
        self.refused: set[tuple[str, str]] = set()
        self.unread: set[tuple[str, str]] = set()

    def lay(self, changes: list[Change]) -> Overlaid:
        by_table: dict[str, list[Change]] = {}
        for change in changes:
            by_table.setdefault(change.table, []).append(change)
        for name in WRITE_ORDER:
            table = TABLES[name]
            for change in by_table.get(name, ()):
                if change.action == "strike":
                    self.strike(table, change)
                else:
                    self.put(table, change)
        self.check_references()
        self.resolve_original_to()
        if self.out.struck:
            self.check_nothing_refers_to_the_struck()
            self.check_what_is_merged_into()
        problems = rules.check(
            self.after,
            self.out.touched(),
            before=self.before,
            struck=self.out.struck,
            drafts=set(self.out.new_drafts + self.out.changed_drafts),
            unread=self.unread,
        )
        for problem in problems:
            self.fault(problem.table, problem.key, problem.column, problem.value, problem.message)
        self.out.faults.sort(key=lambda fault: (WRITE_ORDER.index(fault.table), fault.row or 0))
        return self.out

    # --- finding the row that a change is about ---------------------------------------------------------------

    def index(self, table: Table, columns: tuple[str, ...]) -> dict[tuple[Any, ...], list[str]]:
        key = (table.name, columns)
        if key not in self.indexes:
            found: dict[tuple[Any, ...], list[str]] = {}
            for row_key, row in self.before.tables[table.name].items():
                found.setdefault(natural_key(table, row, columns), []).append(row_key)
            if table.name == "assessments":
                for row_key, row in self.before.drafts.items():
                    found.setdefault(natural_key(table, row, columns), []).append(row_key)
            self.indexes[key] = found
        return self.indexes[key]

    def find(self, table: Table, change: Change, given: Mapping[str, Any]) -> str | None:
        """The key of the stored row, or None for a new one. Raises ValueError with a sentence."""
        if table.own_id and not given.get(table.own_id):
            raise ValueError("it is needed and missing.")
        if table.own_id:
            return self.find_by_id(table, given)
        if table.row_id and change.row_id:
            key = key_of(change.row_id)
            if key in self.before.tables[table.name] or (
                table.name == "assessments" and key in self.before.drafts
            ):
                return key
            if (table.name, key) in self.before.retired:
                raise ValueError(self.before.retired[table.name, key].sentence())
            if self.before.any_rows(table.name) or (table.name == "assessments" and self.before.drafts):
                raise ValueError(
                    f"no {table.noun} of this register has that row_id. Leave it empty for a new row."
                )
            return None
        present = tuple(name for name in table.key if name in given)
        probe = dict(given)
        if table.name == "assessments" and "state" in given and given["state"] is None:
            probe["state"] = "accepted"
        if table.name == "citations" and "supports" in given and given["supports"] is None:
            probe["supports"] = True
        found = self.index(table, present).get(natural_key(table, probe, present), [])
        if len(found) > 1:
            raise ValueError(
                f"{len(found)} rows of the register answer to this; give row_id, or {', '.join(n for n in table.key if n not in given)}."
            )
        if found:
            return found[0]
        return self.the_same_draft_once_accepted(table, probe)

    def find_by_id(self, table: Table, given: Mapping[str, Any]) -> str | None:
        key = key_of(given[table.own_id])
        if key in self.before.tables[table.name]:
            return key
        if (table.name, key) in self.before.retired:
            raise ValueError(self.before.retired[table.name, key].sentence())
        return None

    def the_same_draft_once_accepted(self, table: Table, given: Mapping[str, Any]) -> str | None:
        """A draft in a file that has been accepted here since is the accepted row."""
        if table.name != "assessments" or given.get("state") != "draft":
            return None
        columns = ("part_id", "assessed_on")
        for key in self.index(table, columns).get(natural_key(table, given, columns), []):
            if self.before.tables["assessments"].get(key, {}).get("_from_draft"):
                return key
        return None

    # --- putting a row ---------------------------------------------------------------------------------------

    def put(self, table: Table, change: Change) -> None:
        given = self.with_keys(table, change)
        try:
            key = self.find(table, change, given) if self.key_is_read(table, change) else None
        except ValueError as sentence:
            self.fault_at(
                table.name,
                change.line,
                "row_id" if change.row_id else (table.own_id or table.key[0]),
                change.row_id or given.get(table.own_id or table.key[0]),
                str(sentence),
            )
            return
        stored = self.stored(table, key)
        if self.is_second_time(table, change, given, key):
            return
        if stored is None:
            missing = missing_required(table, given)
        else:
            missing = [
                column.name
                for column in table.columns
                if column.required and column.name in given and given[column.name] is None
            ]
        for column in missing:
            self.fault_at(table.name, change.line, column, None, "it is needed and missing.")
        if missing:
            self.refuse(table, given)
            return
        row, problems = merge(table, stored, given)
        if change.unread:
            loose = {table.by_name[name].trio for name in change.unread} - {""}
            problems = [problem for problem in problems if table.by_name[problem[0]].trio not in loose]
        for name, value, why in problems:
            self.fault_at(
                table.name,
                change.line,
                name,
                value if value is not None else write_value(table.by_name[name], given.get(name)),
                why,
            )
        if problems:
            self.refuse(table, given)
            return
        if table.name == "assessments" and self.put_draft(table, change, key, stored, row):
            return
        if stored is None:
            self.create(table, change, row)
        else:
            self.change_row(table, change, key or "", stored, row, given)

    def key_is_read(self, table: Table, change: Change) -> bool:
        return bool(table.own_id or change.row_id) or not set(table.key) & set(change.unread)

    def refuse(self, table: Table, given: Mapping[str, Any]) -> None:
        """Keep the id of a row at fault: a reference to it is not at fault too."""
        if table.own_id:
            self.refused.add((table.name, key_of(given[table.own_id])))

    def stored(self, table: Table, key: str | None) -> Row | None:
        if key is None:
            return None
        row = self.before.tables[table.name].get(key)
        if row is None and table.name == "assessments":
            row = self.before.drafts.get(key)
        return row

    def is_second_time(self, table: Table, change: Change, given: Mapping[str, Any], key: str | None) -> bool:
        """The same key twice in one change set, by id, by row_id or by the natural key."""
        if not self.key_is_read(table, change):
            return False
        probe: Any = key
        if table.own_id:
            probe = key_of(given[table.own_id])
        elif probe is None and change.row_id:
            probe = key_of(change.row_id)
        elif probe is None:
            probe = natural_key(table, merge(table, None, given)[0])
        if (table.name, probe) in self.seen:
            first = self.seen[table.name, probe]
            where = f"row {first} of this file" if first else "this change"
            self.fault_at(
                table.name,
                change.line,
                (change.row_id and "row_id") or (table.own_id or table.key[0]),
                change.row_id or self.raw(given.get(table.own_id or table.key[0])),
                f"the same {table.noun} is in {where} already.",
            )
            return True
        self.seen[table.name, probe] = change.line
        return False

    def create(self, table: Table, change: Change, row: Row) -> None:
        if table.own_id:
            key, code = key_of(row[table.own_id]), row[table.own_id]
        elif table.row_id:
            self.counter += 1
            key = code = f"{NEW}{self.counter}"
            if change.row_id:
                key, code = key_of(change.row_id), change.row_id
                self.out.given_row_ids[key] = table.name
        else:
            key = code = joined_key(table, row)
        row |= {"_key": key, "_code": code, "_act": 0}
        if table.name == "assessments":
            row["_from_draft"] = False
        if change.unread:
            self.unread.add((table.name, key))
        self.after.tables[table.name][key] = row
        self.out.created.setdefault(table.name, []).append(key)
        self.lines[table.name, key] = change.line

    def change_row(
        self, table: Table, change: Change, key: str, stored: Row, row: Row, given: Mapping[str, Any]
    ) -> None:
        differences = {
            column.name: (stored[column.name], row[column.name])
            for column in table.columns
            if not same(stored[column.name], row[column.name])
        }
        if not differences:
            self.out.unchanged[table.name] += 1
            return
        if self.base_no is not None and stored["_act"] > self.base_no:
            side = self.keep if isinstance(self.keep, str) else self.keep.get(f"{table.name}:{key}", "")
            if side == "register":
                self.out.unchanged[table.name] += 1
                return
            if side != "file":
                self.out.conflicts.append(
                    Conflict(
                        table.name,
                        key,
                        self.name_of(table, stored),
                        change.line,
                        tuple(
                            (name, self.written(table, name, old), self.written(table, name, new))
                            for name, (old, new) in differences.items()
                        ),
                    )
                )
                return
        if change.unread:
            self.unread.add((table.name, key))
        self.after.tables[table.name][key] = row
        self.out.updated.setdefault(table.name, {})[key] = differences
        self.lines[table.name, key] = change.line
        for name, (old, new) in differences.items():
            if (
                old is not None
                and name in given
                and given[name] is None
                and (new is None or table.by_name[name].default)
            ):
                self.out.cleared.append(
                    (table.name, self.name_of(table, stored), name, self.written(table, name, old))
                )

    def put_draft(self, table: Table, change: Change, key: str | None, stored: Row | None, row: Row) -> bool:
        """Drafts wait as stored change sets. Returns whether the row was dealt with here."""
        waiting = key is not None and key in self.before.drafts
        if row["state"] != "draft":
            if waiting and key is not None:
                row |= {
                    "_key": key,
                    "_code": stored["_code"] if stored else key,
                    "_act": 0,
                    "_from_draft": True,
                }
                self.after.drafts.pop(key, None)
                self.after.tables["assessments"][key] = row
                self.out.created.setdefault("assessments", []).append(key)
                self.out.accepted_drafts.append(key)
                self.lines["assessments", key] = change.line
                return True
            return False
        if stored is not None and not waiting:
            self.out.unchanged["assessments"] += 1  # accepted since: the draft in the file is that row
            return True
        if waiting and key is not None and stored is not None:
            if all(same(stored[column.name], row[column.name]) for column in table.columns):
                self.out.unchanged["assessments"] += 1
                return True
            self.after.drafts[key] = row
            self.out.changed_drafts.append(key)
        else:
            self.counter += 1
            key = key_of(change.row_id) if change.row_id else f"{NEW}{self.counter}"
            row |= {"_key": key, "_code": change.row_id or key, "_act": 0}
            self.after.drafts[key] = row
            self.out.new_drafts.append(key)
        self.lines["assessments", key] = change.line
        return True

    # --- striking out ----------------------------------------------------------------------------------------

    def strike(self, table: Table, change: Change) -> None:
        given = change.row_id or str(change.values.get("key", ""))
        key = given if given in self.after.tables[table.name] else key_of(given)  # the name of a file has its case
        if key not in self.after.tables[table.name]:
            self.fault_at(
                table.name, change.line, "row_id", key, f"there is no such {table.noun} to strike out."
            )
            return
        if change.values.get("merged_into"):
            self.out.merged.setdefault(table.name, {})[key] = key_of(str(change.values["merged_into"]))
        del self.after.tables[table.name][key]
        self.out.struck.setdefault(table.name, []).append(key)

    def check_what_is_merged_into(self) -> None:
        """An alias leads to a record that is there; kept with its id as typed."""
        for name, aliases in self.out.merged.items():
            for key, into in aliases.items():
                if into not in self.after.tables[name]:
                    self.fault_at(
                        name,
                        None,
                        "merged_into",
                        into,
                        f"there is no such {TABLES[name].noun} for {self.before.code(name, key)} to be merged into.",
                    )
                aliases[key] = self.after.code(name, into)

    def check_nothing_refers_to_the_struck(self) -> None:
        for name in ORDER:
            table = TABLES[name]
            columns = [
                (column.name, target_table(column))
                for column in table.columns
                if target_table(column) in self.out.struck
            ]
            struck = {column: set(self.out.struck[to]) for column, to in columns}
            for row in self.after.tables[name].values() if columns else ():
                for column, to in columns:
                    if row[column] in struck[column]:
                        self.fault_at(
                            to,
                            None,
                            "",
                            self.before.code(to, row[column]),
                            f"{TABLES[to].noun} cannot be struck out while {table.noun} {self.name_of(table, row)} refers to it.",
                        )

    # --- references ------------------------------------------------------------------------------------------

    def with_keys(self, table: Table, change: Change) -> dict[str, Any]:
        """The given values with references as keys and persons' names found or made."""
        given = dict(change.values)
        for column in table.columns:
            value = given.get(column.name)
            if value is None:
                continue
            if column.kind == "ref":
                given[column.name] = key_of(value)
                self.typed.setdefault(given[column.name], value)
            elif column.kind == "person":
                given[column.name] = self.person(value)
        return given

    def person(self, value: str) -> str:
        people = self.after.tables["people"]
        if key_of(value) in people:
            return key_of(value)
        if self.names is None:
            self.names = {}
            for key in sorted(people):
                self.names.setdefault(fold(people[key]["name"]), key)
        if fold(value) not in self.names:
            self.names[fold(value)] = self.make_person(value)
        return self.names[fold(value)]

    def make_person(self, name: str) -> str:
        stem = (
            re.sub(
                r"[^a-z0-9]+",
                "-",
                unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower(),
            ).strip("-")[:30]
            or "person"
        )
        people, retired = self.after.tables["people"], self.before.retired
        candidates = (stem if number == 1 else f"{stem}-{number}" for number in range(1, 1_000_000))
        key = next(
            candidate
            for candidate in candidates
            if candidate not in people and ("people", candidate) not in retired
        )
        row, _ = merge(TABLES["people"], None, {"person_id": key, "name": name})
        self.create(TABLES["people"], Change("people", {}), row)
        return key

    def check_references(self) -> None:
        touched = self.out.touched()
        for name in ORDER:
            table = TABLES[name]
            columns = [(column, target_table(column)) for column in table.columns if target_table(column)]
            if not columns:
                continue
            rows = [self.after.tables[name][key] for key in touched[name]]
            if name == "assessments":
                rows += [self.after.drafts[key] for key in (*self.out.new_drafts, *self.out.changed_drafts)]
            for row in rows:
                for column, to in columns:
                    value = row[column.name]
                    if (
                        value is not None
                        and value not in self.after.tables[to]
                        and (to, value) not in self.refused
                    ):
                        retired = self.before.retired.get((to, value))
                        sentence = (
                            retired.sentence()
                            if retired
                            else f"no {TABLES[to].noun} has that id, in the register or in this file."
                        )
                        self.fault(name, row["_key"], column.name, value, sentence)

    def resolve_original_to(self) -> None:
        """``original_to`` left empty: the one vehicle in which the part has been, kept from now on."""
        waiting = [
            row
            for key in self.out.touched()["assessments"]
            if (row := self.after.tables["assessments"][key])["state"] == "accepted"
            and row["status"] in HISTORIC
            and row["original_to"] is None
        ]
        if not waiting:
            return
        parts = {row["part_id"] for row in waiting}
        been: dict[str, set[str]] = {}
        for fitting in self.after.tables["installations"].values():
            position = self.after.tables["positions"].get(fitting["position_id"])
            if fitting["part_id"] in parts and not fitting["temporary"]:
                been.setdefault(fitting["part_id"], set()).add(
                    position["vehicle_id"] if position else UNKNOWN
                )
        for row in waiting:
            vehicles = been.get(row["part_id"], set())
            if UNKNOWN in vehicles:
                continue  # a position is at fault, and told of there
            if len(vehicles) == 1:
                row["original_to"] = next(iter(vehicles))
                difference = self.out.updated.get("assessments", {}).get(row["_key"])
                if difference is not None:
                    difference["original_to"] = (
                        difference.get("original_to", (None,))[0],
                        row["original_to"],
                    )
                continue
            names = ", ".join(self.after.code("vehicles", key) for key in sorted(vehicles))
            why = (
                f"the part has been in several vehicles ({names})"
                if vehicles
                else "the part has been in no vehicle"
            )
            self.fault(
                "assessments",
                row["_key"],
                "original_to",
                None,
                f"{why}: say which vehicle it is original to.",
            )

    # --- faults ----------------------------------------------------------------------------------------------

    def fault(self, table: str, key: str, column: str, value: Any, message: str) -> None:
        line = self.lines.get((table, key))
        if line is None and not key.startswith(NEW) and message:
            row = (
                self.after.tables[table].get(key)
                or self.before.tables[table].get(key)
                or self.after.drafts.get(key)
            )
            if row is not None:
                message = f"{self.name_of(TABLES[table], row)}: {message}"
        self.fault_at(table, line, column, self.written(TABLES[table], column, value), message)

    def fault_at(self, table: str, line: int | None, column: str, value: Any, message: str) -> None:
        self.out.faults.append(
            Fault(table, line, column, "" if value is None else str(value), message[:1].upper() + message[1:])
        )

    def raw(self, value: Any) -> str:
        return "" if value is None else getattr(value, "text", str(value))

    def written(self, table: Table, name: str, value: Any) -> str:
        column = table.by_name.get(name)
        if value is None:
            return ""
        if column is None or (isinstance(value, str) and column.kind not in ("ref", "person")):
            return str(value)
        if column.kind == "ref" and value not in self.after.tables[column.to]:
            return self.typed.get(value, str(value))  # an id that is nowhere, as it was typed
        return write_row_value(self.after, column, value)

    def name_of(self, table: Table, row: Row) -> str:
        """What a row is called in a sentence."""
        if table.own_id:
            return str(row["_code"])
        return ", ".join(text for name in table.key[:3] if (text := self.written(table, name, row.get(name))))


def write_row_value(register: Register, column: Column, value: Any) -> str:
    """The text of a stored value, as an export writes it."""
    if value is None:
        return ""
    to = target_table(column)
    if to:
        return register.code(to, value)
    if column.trio and isinstance(value, int):
        return write_mass(value) if column.kind == "mass" else write_fraction(value)
    return write_value(column, value)


def same(one: Any, other: Any) -> bool:
    return bool(one == other)


def fold(name: str) -> str:
    return " ".join(name.split()).casefold()
