"""``datapackage.json`` beside an export: what every column holds, for whoever opens it without this program.

Data Package and Table Schema (version 2, datapackage.org), from memory. Dates are typed as strings on
purpose: a historic date such as "c. 1894" is none to a computer, and masses carry their unit.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from register.exchange.blank_workbook import meaning_of
from register.exchange.files import written_aside
from register.exchange.schema import TABLES, Column, Table
from register.exchange.values import ID, SHA256, TAG

PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
_TYPES = {"yes": "boolean", "count": "integer", "fraction": "number"}
_PATTERNS = {"id": ID, "ref": ID, "tag": TAG, "sha256": SHA256}


def write_datapackage(
    folder: Path, tables: Iterable[tuple[str, Sequence[str], Any]], *, title: str = "Fabric register"
) -> None:
    """Write ``datapackage.json`` into the folder of a CSV export. tables: as they were written, rows and
    all."""
    described = describe([(name, header) for name, header, _ in tables], title=title)
    with written_aside(folder / "datapackage.json", overwrite=True) as aside:
        aside.write_text(json.dumps(described, ensure_ascii=False, indent=2) + "\n", encoding="utf-8")


def describe(
    tables: Sequence[tuple[str, Sequence[str]]], *, title: str = "Fabric register"
) -> dict[str, Any]:
    """The descriptor of a folder with these tables (name, header); keys to tables or columns left out are
    left out."""
    headers = {name: tuple(header) for name, header in tables}
    return {
        "$schema": PROFILE,
        "name": "fabric-register",
        "title": title,
        "description": "The fabric of heritage railway vehicles: what is original, and how we know. A text "
        "that begins with "
        "= + - @ or ' has one ' put before it in these files, so that no spreadsheet takes it for a formula.",
        "resources": [_resource(TABLES[name], headers) for name in headers],
    }


def _resource(table: Table, headers: dict[str, tuple[str, ...]]) -> dict[str, Any]:
    header = headers[table.name]
    fields = [_field(table.by_name[name]) if name in table.by_name else _row_id(table) for name in header]
    schema: dict[str, Any] = {"fields": fields, "missingValues": [""]}
    key = _primary_key(table)
    if key and set(key) <= set(header):
        schema["primaryKey"] = list(key)
    foreign = [
        link
        for name in header
        if name in table.by_name and (link := _foreign_key(table, table.by_name[name], headers))
    ]
    if foreign:
        schema["foreignKeys"] = foreign
    return {
        "name": table.name,
        "title": table.name.replace("_", " ").capitalize(),
        "type": "table",
        "path": f"{table.name}.csv",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {
            "delimiter": ",",
            "lineTerminator": "\r\n",
            "quoteChar": '"',
            "doubleQuote": True,
            "header": True,
        },
        "schema": schema,
    }


def _field(column: Column) -> dict[str, Any]:
    field: dict[str, Any] = {"name": column.name, "type": _TYPES.get(column.kind, "string")}
    meaning = meaning_of(column)
    field["description"] = f"{column.about}: {meaning}" if column.about else meaning
    if column.kind == "yes":
        field |= {"trueValues": ["yes"], "falseValues": ["no"]}
    constraints: dict[str, Any] = {}
    if column.required:
        constraints["required"] = True
    if column.kind == "choice":
        constraints["enum"] = list(column.choices)
    if column.kind == "choices":
        words = "|".join(column.choices)
        constraints["pattern"] = f"({words})(;({words}))*"
    if column.kind in _PATTERNS:
        constraints["pattern"] = _PATTERNS[column.kind].pattern
    if column.kind == "fraction":
        constraints |= {"minimum": 0, "maximum": 1}
    if column.kind == "count":
        constraints["minimum"] = 1
    return field | ({"constraints": constraints} if constraints else {})


def _row_id(table: Table) -> dict[str, Any]:
    return {
        "name": "row_id",
        "type": "string",
        "description": f"the register's own id of the {table.noun}",
        "constraints": {"required": True, "pattern": ID.pattern},
    }


def _primary_key(table: Table) -> tuple[str, ...]:
    return ("row_id",) if table.row_id else table.key


def _foreign_key(table: Table, column: Column, headers: dict[str, tuple[str, ...]]) -> dict[str, Any] | None:
    to = column.to if column.kind == "ref" else "people" if column.kind == "person" else ""
    if to not in headers or TABLES[to].own_id not in headers[to]:
        return None
    return {
        "fields": [column.name],
        "reference": {"resource": "" if to == table.name else to, "fields": [TABLES[to].own_id]},
    }
