"""What a change set said before it was written anew, and what it says now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from register.exchange.schema import TABLES

SAME_RECORD = {
    "assessments": ("part_id",),
    "treatments": ("part_id",),
    "citations": ("part_id", "source_id"),
}
"""Columns by which a record that has no id of its own is told again, whatever else was written anew."""


@dataclass(frozen=True, slots=True)
class Difference:
    """record: ``assessment P2``. before, now: texts as typed, "" for nothing."""

    record: str
    column: str
    before: str
    now: str


def differences(before: Iterable[Mapping[str, Any]], now: Iterable[Mapping[str, Any]]) -> list[Difference]:
    """Between stored rows of one change set, field by field, in the order of the rows."""
    was, is_now = _by_record(before), _by_record(now)
    found = []
    for record in dict.fromkeys((*was, *is_now)):
        old, new = was.get(record, {}), is_now.get(record, {})
        for column in dict.fromkeys((*old, *new)):
            texts = str(old.get(column) or ""), str(new.get(column) or "")
            if texts[0] != texts[1] and column != "sha256":
                found.append(Difference(_words(record), column, *texts))
    return found


Record = tuple[str, tuple[str, ...]]


def _by_record(rows: Iterable[Mapping[str, Any]]) -> dict[Record, dict[str, Any]]:
    found: dict[Record, dict[str, Any]] = {}
    for row in rows:
        table, values = TABLES[row["table"]], row["values"]
        own = (table.own_id,) if table.own_id else SAME_RECORD.get(table.name, table.key)
        record = table.name, tuple(str(values.get(name) or "") for name in own)
        found[record] = found.get(record, {}) | values
    return found


def _words(record: Record) -> str:
    name, ids = record
    return f"{TABLES[name].noun} {', '.join(one for one in ids if one)}"
