"""Exchange rows as frozen bytes, and back: what an issued statement was computed from.

Canonical JSON (UTF-8, keys sorted, no blanks between), every value the text that an export writes. The same rows give the
same bytes, and the bytes give the same rows, without a database.
"""

from __future__ import annotations

import json
from typing import Any

from register.exchange.merging import merge
from register.exchange.overlay import write_row_value
from register.exchange.records import Register, Row, joined_key, target_table
from register.exchange.schema import ORDER, TABLES, Table
from register.exchange.values import key_of, parse_texts

FORMAT = "fabric register, frozen rows, version 1"
Sheet = tuple[str, tuple[str, ...], list[list[str]]]
"""Name of a table, its header, its rows as text."""


class Damaged(ValueError):
    """Bytes that are not what was frozen. str() is the sentence."""


def canonical(value: Any) -> bytes:
    """JSON in one way only: sorted keys, no blanks, UTF-8; no NaN."""
    return json.dumps(
        value, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
    ).encode()


def frozen_bytes(register: Register) -> bytes:
    """The rows of a register, drafts aside, with its id and the number of its last change."""
    return canonical(
        {
            "format": FORMAT,
            "register_id": register.register_id,
            "change_no": register.change_no,
            "tables": {
                name: {"columns": list(header), "rows": rows} for name, header, rows in sheets_of(register)
            },
        }
    )


def sheets_of(register: Register, *, drafts: bool = False) -> list[Sheet]:
    """Every table as text, in the order of the format, its rows in the order of their ids. drafts: with the draft
    assessments."""

    def rows(name: str) -> list[Row]:
        more = register.drafts.values() if drafts and name == "assessments" else ()
        return sorted((*register.tables[name].values(), *more), key=_order)

    return [
        (name, TABLES[name].header, [_texts(register, TABLES[name], row) for row in rows(name)])
        for name in ORDER
    ]


def register_of(data: bytes) -> Register:
    """The register that bytes hold. Raises Damaged."""
    try:
        found = json.loads(data)
        if found["format"] != FORMAT:
            raise Damaged(f"The frozen rows are of a format that this version does not read ({found['format']}).")
        register = Register(change_no=int(found["change_no"]), register_id=str(found["register_id"]))
        for name in ORDER:
            sheet = found["tables"][name]
            for cells in sheet["rows"]:
                row = _row(TABLES[name], dict(zip(sheet["columns"], cells, strict=True)))
                register.tables[name][row["_key"]] = row
    except Damaged:
        raise
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise Damaged(f"The frozen rows cannot be read: {error}.") from None
    return register


def _order(row: Row) -> tuple[int, int, str]:
    """Row numbers by their number, ids by the code points of the lower-case form."""
    key = row["_key"]
    return (0, int(key), "") if key.isdigit() and len(key) < 16 else (1, 0, key)


def _texts(register: Register, table: Table, row: Row) -> list[str]:
    cells = [write_row_value(register, column, row[column.name]) for column in table.columns]
    return [row["_code"], *cells] if table.row_id else cells


def _row(table: Table, texts: dict[str, str]) -> Row:
    """A row as the register holds it, from its texts. Columns that came later are at their defaults."""
    code = texts.pop("row_id", "")
    values, faults = parse_texts(table, texts)
    if faults:
        raise Damaged(f"The frozen rows cannot be read: {faults[0]}")
    for column in table.columns:
        if target_table(column) and values.get(column.name) is not None:
            values[column.name] = key_of(values[column.name])
    row, _ = merge(table, None, values)
    if table.own_id:
        code = row[table.own_id]
    key = key_of(code) if code else joined_key(table, row)
    row |= {"_key": key, "_code": code or key, "_act": 0}
    if table.name == "assessments":
        row["_from_draft"] = False
    return row
