"""Seals of acts: made by the act itself, of what is read back from the history that it wrote; and compared with the history
whenever somebody asks.

A row is taken without the columns that hold what a new column would hold of old rows, so that a column added in a later
release leaves every seal as it is.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from typing import Any

from register.exchange.frozen import canonical
from register.exchange.schema import TABLES
from register.models import Act, RetiredId, Seal
from register.services.tables import MODELS, fields_of

NOTHING = "0" * 64
"""What stands before the first seal."""
RETIRED = "retired ids"
SHORT = 8
"""Hexadecimal digits of a row's SHA-256 that are kept, to tell which row it is."""
OF_HISTORY = ("history_type", "history_date", "history_user_id")
OF_RETIRED = ("table", "key", "code", "merged_into", "reason")


def seal(act: Act, tables: Iterable[str]) -> Seal:
    """Seal an act that has written into the history of these tables; inside its transaction."""
    before = Seal.objects.order_by("-act_id").values_list("sha256", flat=True).first()
    told = {name: sealed(rows_of(name, act=act.pk)).told for name in sorted({*tables, RETIRED})}
    content = canonical(
        {"act": act_told(act), "previous": before or NOTHING, "tables": {name: one for name, one in told.items() if one["rows"]}}
    ).decode()
    return Seal.objects.create(act=act, content=content, sha256=hash_of(content))


def hash_of(content: str) -> str:
    return hashlib.sha256(content.encode()).hexdigest()


def act_told(act: Act) -> dict[str, Any]:
    return {"change_no": act.pk, "at": _plain(act.at), "user": act.user_id, "kind": act.kind, "reason": act.reason}


@dataclass(frozen=True, slots=True)
class Sealed:
    """Rows of one table that one act wrote, in the order of their keys. each: eight digits a row, by key."""

    digest: str
    each: list[tuple[str, str]]

    @property
    def told(self) -> dict[str, Any]:
        return {"rows": len(self.each), "sha256": self.digest, "each": "".join(short for _, short in self.each)}


@dataclass(frozen=True, slots=True)
class Line:
    """One row of history as it is sealed."""

    act: int
    key: str
    data: bytes


def sealed(lines: Iterable[Line]) -> Sealed:
    """Sorted here: two databases need not agree on the order of letters."""
    digest, each = hashlib.sha256(), []
    for line in sorted(lines, key=lambda one: (one.key, one.data)):
        each.append((line.key, hashlib.sha256(line.data).hexdigest()[:SHORT]))
        digest.update(line.data + b"\n")
    return Sealed(digest.hexdigest(), each)


def rows_of(name: str, **where: Any) -> Iterator[Line]:
    """The history of a table, or the ids it retired, act by act. where: a lookup, such as ``act=7``."""
    if name == RETIRED:
        for act, *values in RetiredId.objects.filter(**where).order_by("act_id").values_list("act_id", *OF_RETIRED):
            yield Line(act, f"{values[0]}/{values[1]}", canonical(values))
        return
    columns = columns_of(name)
    past = MODELS[name].history.filter(**where)  # type: ignore[attr-defined]
    for act, *values in past.order_by("act_id").values_list("act_id", *columns, *OF_HISTORY).iterator(2000):
        yield Line(act, str(values[0]), _line(columns, values))


@cache
def columns_of(name: str) -> dict[str, Any]:
    """By column, what a row without it holds. The act stands in the seal itself."""
    fields = {one.attname: one for one in MODELS[name]._meta.concrete_fields}
    return {column: fields[column].get_default() for column in fields_of(TABLES[name]) if column != "act_id"}


def _line(columns: dict[str, Any], values: list[Any]) -> bytes:
    held = {
        name: _plain(value)
        for (name, usual), value in zip(columns.items(), values, strict=False)
        if value not in (None, "") and value != usual
    }
    return canonical([held, *(_plain(value) for value in values[len(columns) :])])


def _plain(value: Any) -> Any:
    return value.astimezone(UTC).isoformat() if isinstance(value, datetime) else value


def told_by(seal: Seal) -> dict[str, Any] | None:
    """What a seal says, None where it is not what a seal says."""
    try:
        told = json.loads(seal.content)
        tables = told["tables"]
        return told if {"act", "previous"} <= told.keys() and all(len(one["each"]) == SHORT * one["rows"] for one in tables.values()) else None
    except (ValueError, KeyError, TypeError, AttributeError):
        return None
