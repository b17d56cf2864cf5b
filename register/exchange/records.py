"""The register as plain values: what change sets are laid over, and what rules are checked against.

A row is a dict from column name to value, with ``_key`` (lower-case id), ``_code`` (id as typed) and ``_act`` (the
change_no of its last change). References and persons hold keys; what is empty is None.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from register.exchange.schema import ORDER, TABLES, Column, Table
from register.exchange.values import read_value
from register.fabric.interval import Interval

Row = dict[str, Any]
TAGGED = ("vehicles", "positions", "parts")


@dataclass(frozen=True, slots=True)
class Retired:
    """An id that was struck out or merged: who, when and why, for the sentence."""

    code: str
    when: str
    who: str
    why: str
    merged_into: str = ""

    def sentence(self) -> str:
        what = f"was merged into {self.merged_into}" if self.merged_into else "was struck out"
        why = f": {self.why}" if self.why else ""
        return f"{self.code} {what} on {self.when} by {self.who}{why}. An id is never used again; choose another."


@dataclass(slots=True)
class Register:
    """``tables`` maps table to key to row. ``drafts`` are draft assessments that wait for review, by row_id."""

    tables: dict[str, dict[str, Row]] = field(default_factory=lambda: {name: {} for name in ORDER})
    drafts: dict[str, Row] = field(default_factory=dict)
    retired: dict[tuple[str, str], Retired] = field(default_factory=dict)
    change_no: int = 0
    register_id: str = ""
    has_rows: Callable[[str], bool] | None = None

    def code(self, table: str, key: str | None) -> str:
        """The id as typed, "" for none."""
        if key is None:
            return ""
        row = self.tables[table].get(key)
        return row["_code"] if row else key

    def any_rows(self, table: str) -> bool:
        return bool(self.tables[table]) or bool(self.has_rows and self.has_rows(table))

    def copy(self) -> Register:
        return Register(
            {name: dict(rows) for name, rows in self.tables.items()},
            dict(self.drafts),
            self.retired,
            self.change_no,
            self.register_id,
            self.has_rows,
        )


@dataclass(frozen=True, slots=True)
class Change:
    """One row of a change set. action: ``put`` (create or change) or ``strike``.

    values: only the columns given; None clears. line: the row in a file, for messages. row_id: as given.
    unread: columns whose cells could not be read; they are told of already, and what only follows is not told.
    """

    table: str
    values: Mapping[str, Any]
    row_id: str | None = None
    line: int | None = None
    action: str = "put"
    unread: tuple[str, ...] = ()


def target_table(column: Column) -> str:
    """The table whose key a column holds, "" for none."""
    if column.kind == "ref":
        return column.to
    return "people" if column.kind == "person" else ""


def default_of(column: Column) -> Any:
    """What an empty cell of the column means. Ranges are Intervals; a trio takes its ends elsewhere."""
    return read_value(column, column.default) if column.default else None


DEFAULTS: dict[str, dict[str, Any]] = {
    table.name: {column.name: default_of(column) for column in table.columns if column.default}
    for table in TABLES.values()
}
TRIOS: dict[str, tuple[str, ...]] = {
    table.name: tuple(column.trio for column in table.columns if column.part == "best")
    for table in TABLES.values()
}


def trio_interval(row: Row, name: str) -> Interval | None:
    """The interval that the three columns ``<name>_low``, ``name``, ``<name>_high`` of a stored row mean."""
    best = row[name]
    if best is None:
        return None
    low, high = row[f"{name}_low"], row[f"{name}_high"]
    return Interval(best if low is None else low, best, best if high is None else high)


def natural_value(column: Column, value: Any) -> Any:
    """What counts when keys are compared: dates by their EDTF, all else as it is."""
    if value is None:
        return ""
    return value.edtf if column.kind in ("date", "day") else value


def natural_key(
    table: Table, row: Mapping[str, Any], columns: Iterable[str] | None = None
) -> tuple[Any, ...]:
    return tuple(
        natural_value(table.by_name[name], row.get(name))
        for name in (table.key if columns is None else columns)
    )


def joined_key(table: Table, row: Mapping[str, Any]) -> str:
    """The key of a row whose table has neither an id nor row ids: its natural key in one text."""
    text = "|".join(str(part) for part in natural_key(table, row))
    return text if len(text) <= 200 else hashlib.sha256(text.encode()).hexdigest()
