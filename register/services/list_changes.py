"""Rows of a list to changes: only what the list itself changed since it was last accepted.

An officer who has put a weight right in the register keeps it, until the list says another one; then it is a
conflict that is shown. A record that was struck out is not brought back by a list that still has it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from register.exchange.flat_list.results import Question, RowDraft
from register.exchange.merging import merge
from register.exchange.overlay import Conflict, Keep, fold, write_row_value
from register.exchange.records import TRIOS, Change, Row, natural_key
from register.exchange.schema import TABLES, Table
from register.exchange.values import key_of, parse_texts
from register.services.loading import load_register, scope_of

_SAME_ROW = {
    "installations": ("position_id", "part_id"),
    "treatments": ("part_id", "work"),
    "movements": ("part_id", "place_id"),
    "citations": ("part_id", "source_id"),
    "events": ("vehicle_id", "kind", "title"),
}
"""By what a row is found again when the date in its key was corrected, in the list or in the register."""
Accepted = Mapping[str, Mapping[str, Any]]
"""Key of a row to {"table", "values"}, as last accepted."""


@dataclass(slots=True)
class Changes:
    """row_ids: key of a row to its row_id in the register. conflicts: what both the list and the register
    changed. questions: about cells that could not be taken."""

    changes: list[Change] = field(default_factory=list)
    row_ids: dict[str, str] = field(default_factory=dict)
    conflicts: list[Conflict] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)


def changes_of(
    rows: Sequence[RowDraft], accepted: Accepted, *, still_there: Collection[str] = (), keep: Keep = ""
) -> Changes:
    """accepted: the rows as last accepted. still_there: keys of all rows of the list, those left out too.
    keep: "file" (the list has its way) or "register" where the register changed a record too, or one of them
    for each ``Conflict.field``; what it does not decide is a conflict."""
    return _Comparing(rows, accepted, keep).compare(still_there)


class _Comparing:
    """The rows of a list, what it said before, and the register as it is."""

    def __init__(self, rows: Sequence[RowDraft], accepted: Accepted, keep: Keep) -> None:
        self.accepted = accepted
        self.keep = keep
        self.found = Changes()
        self.whole = [(row, Change(row.table, self.parsed(row, row.values), line=row.line)) for row in rows]
        self.register = load_register(scope_of(change for _, change in self.whole))
        self.indexes: dict[tuple[str, tuple[str, ...]], dict[tuple[Any, ...], list[str]]] = {}

    def compare(self, still_there: Collection[str]) -> Changes:
        gone: dict[tuple[str, str], str] = {}
        taken: list[str] = []
        for row, change in self.whole:
            named = [one for one in _named(change) if one in self.register.retired]
            if named:
                gone |= {one: self.register.retired[one].sentence() for one in named}
                continue
            if row.key not in self.accepted and key_of(row.own_id) in self.register.tables[row.table]:
                taken.append(row.own_id)
            self.row(row, change)
        self.found.notes += [
            f"{sentence} The list still has it; it is not brought back." for sentence in gone.values()
        ]
        self.found.notes += [*_taken(taken), *_no_longer(self.accepted, still_there)]
        return self.found

    def row(self, row: RowDraft, change: Change) -> None:
        key = self.key_of_row(row, change)
        stored = self.stored(row.table, key)
        if stored is not None and TABLES[row.table].row_id:
            self.found.row_ids[row.key] = stored["_code"]
        changed = self.changed(row, change, stored)
        if changed is not None:
            self.found.changes.append(changed)
            self.found.notes += self.decided(row)

    def parsed(self, row: RowDraft, texts: Mapping[str, str]) -> dict[str, Any]:
        """Values of the texts; a cell that cannot be taken is left out and asked about."""
        values, faults = parse_texts(TABLES[row.table], texts)
        for fault in faults:
            key = f"{row.key} {fault.column}"
            if key not in {question.key for question in self.found.questions}:
                asked = Question(key, fault.column, fault.message, fault.value, "", row.line)
                self.found.questions.append(asked)
        return values

    # --- the row of the register that a row of the list is about --------------------------------------------

    def key_of_row(self, row: RowDraft, change: Change) -> str:
        """The key of the register's row, "" for a new one."""
        table = TABLES[row.table]
        if table.own_id:
            return key_of(row.own_id)
        earlier = self.accepted.get(row.key)
        before = parse_texts(table, earlier["values"])[0] if earlier else {}
        same = _SAME_ROW.get(table.name, ())
        for values, columns in ((before, table.key), (change.values, table.key), (change.values, same)):
            if values and columns:
                wanted = natural_key(table, _merged(table, values), columns)
                found = self.index(table, columns).get(wanted, [])
                if len(found) == 1:
                    return found[0]
        return ""

    def index(self, table: Table, columns: tuple[str, ...]) -> dict[tuple[Any, ...], list[str]]:
        if (table.name, columns) not in self.indexes:
            found: dict[tuple[Any, ...], list[str]] = {}
            for key, row in self.rows(table.name).items():
                found.setdefault(natural_key(table, row, columns), []).append(key)
            self.indexes[table.name, columns] = found
        return self.indexes[table.name, columns]

    def rows(self, table: str) -> Mapping[str, Row]:
        rows = self.register.tables[table]
        return {**rows, **self.register.drafts} if table == "assessments" else rows

    def stored(self, table: str, key: str) -> Row | None:
        row = self.register.tables[table].get(key)
        return self.register.drafts.get(key) if row is None and table == "assessments" else row

    # --- what the list says otherwise than before -----------------------------------------------------------

    def changed(self, row: RowDraft, change: Change, stored: Row | None) -> Change | None:
        """None where the list says what it said when it was last accepted."""
        table = TABLES[row.table]
        row_id = stored["_code"] if stored is not None and table.row_id else None
        earlier = self.accepted.get(row.key)
        if earlier is None:
            return Change(row.table, change.values, row_id, row.line)
        before = earlier["values"]
        columns = dict.fromkeys((*row.values, *before))
        differing = [name for name in columns if row.values.get(name, "") != before.get(name, "")]
        if not differing:
            return None
        if stored is None:
            return Change(row.table, change.values, None, row.line)
        differing = self.undisputed(row, before, stored, differing)
        if not differing:
            return None
        # a draft that waits is in no table, so that its row_id alone does not tell which part it is about
        key = [name for name in table.key if name == "part_id"] if row_id else table.key
        texts = {name: row.values.get(name, "") for name in (*key, *differing)}
        return Change(row.table, self.parsed(row, texts), row_id, row.line)

    def undisputed(
        self, row: RowDraft, before: Mapping[str, str], stored: Row, columns: list[str]
    ) -> list[str]:
        """The columns to be changed; those that the register changed too are a conflict."""
        table = TABLES[row.table]
        then = _merged(table, parse_texts(table, before)[0])
        both = [column for column in columns if not self.same(table, column, then, stored)]
        was_decided = table.name == "assessments" and stored["_key"] in self.register.tables[table.name]
        if not both or was_decided:
            return columns
        name = row.own_id or ", ".join(filter(None, (row.values.get(column) for column in table.key[:2])))
        differences = tuple((one, self.written(table, one, stored), row.values.get(one, "")) for one in both)
        conflict = Conflict(table.name, stored["_key"], name, row.line, differences)
        side = self.keep if isinstance(self.keep, str) else self.keep.get(conflict.field, "")
        if not side:
            self.found.conflicts.append(conflict)
        return [one for one in columns if one not in both] if side == "register" else columns

    def written(self, table: Table, column: str, stored: Row) -> str:
        return write_row_value(self.register, table.by_name[column], stored[column])

    def same(self, table: Table, column: str, then: Row, stored: Row) -> bool:
        """Whether the register still has what the list said before."""
        if table.by_name[column].kind == "person":
            person = self.register.tables["people"].get(stored[column] or "", {"_code": "", "name": ""})
            return fold(then[column] or "") in (fold(person["_code"]), fold(person["name"]))
        trio = table.by_name[column].trio
        columns = (f"{trio}_low", trio, f"{trio}_high") if trio in TRIOS[table.name] else (column,)
        return all(then[one] == stored[one] for one in columns)

    def decided(self, row: RowDraft) -> Iterator[str]:
        """A note where the list changes a draft that has been decided."""
        if row.table != "assessments" or row.key not in self.accepted:
            return
        part = key_of(row.values["part_id"])
        assessments = self.register.tables["assessments"].values()
        if any(one["part_id"] == part and one["_from_draft"] for one in assessments):
            yield (
                f"The list now says something else of {row.values['part_id']}, whose draft has been decided "
                "already: the decision stays."
            )


def _merged(table: Table, values: Mapping[str, Any]) -> Row:
    """The row that the values make, its references as keys."""
    refs = {name for name, value in values.items() if value is not None and table.by_name[name].kind == "ref"}
    return merge(
        table, None, {name: key_of(value) if name in refs else value for name, value in values.items()}
    )[0]


def _named(change: Change) -> list[tuple[str, str]]:
    """(table, key) of everything that a change names by its id."""
    columns = TABLES[change.table].by_name
    return [
        (columns[name].to or change.table, key_of(value))
        for name, value in change.values.items()
        if columns[name].kind in ("id", "ref") and isinstance(value, str)
    ]


def _taken(ids: Sequence[str]) -> Iterator[str]:
    if ids:
        named = ", ".join(ids[:5]) + (f" and {len(ids) - 5:,} more" if len(ids) > 5 else "")
        yield (
            f"In the register already: {named}. The list would change these records; if they are other "
            f"things, "
            "let its ids begin otherwise."
        )


def _no_longer(accepted: Accepted, still_there: Collection[str]) -> Iterable[str]:
    lost: dict[str, list[str]] = {}
    for key, row in accepted.items():
        if key not in still_there and row["table"] != "vehicles":
            lost.setdefault(key.partition(":")[2], []).append(TABLES[row["table"]].noun)
    for ident, nouns in lost.items():
        yield (
            f"The list no longer has {ident} ({', '.join(nouns)}): it stays in the register. If it is "
            f"wrong there, "
            "strike it out with a reason."
        )
