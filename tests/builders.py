"""Small registers for tests, written as an outsider would write them: folders of CSV files, or change sets of texts."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from register.exchange.records import Change
from register.exchange.schema import TABLES
from register.exchange.values import parse_texts

TINY: dict[str, list[dict[str, str]]] = {
    "vehicles": [{"vehicle_id": "L1", "name": "Larkspur", "kind": "locomotive", "built": "1894"},
                 {"vehicle_id": "L2", "name": "Lapwing", "kind": "locomotive", "built": "1890"}],
    "positions": [{"position_id": "Q1", "vehicle_id": "L1", "name": "chimney", "visibility": "in view"},
                  {"position_id": "Q2", "vehicle_id": "L1", "name": "dome", "visibility": "in view"},
                  {"position_id": "G1", "vehicle_id": "L2", "name": "dome", "visibility": "hidden"}],
    "parts": [{"part_id": "P1", "name": "first chimney", "mass": "60 kg"}, {"part_id": "P2", "name": "dome", "mass": "40 kg"},
              {"part_id": "P3", "name": "spare chimney", "mass": "61 kg"}],
    "installations": [{"position_id": "Q1", "part_id": "P1", "fitted": "as built"}, {"position_id": "Q2", "part_id": "P2", "fitted": "1894"}],
    "assessments": [{"part_id": "P1", "assessed_on": "2020-05-01", "status": "original"}],
    "sources": [{"source_id": "S1", "kind": "mark", "title": "stamp"}],
}


def tiny(**more: list[dict[str, str]]) -> dict[str, list[dict[str, str]]]:
    """Two engines, three parts; further rows are added to their tables."""
    tables = {name: [dict(row) for row in rows] for name, rows in TINY.items()}
    for name, rows in more.items():
        tables.setdefault(name, []).extend(rows)
    return tables


def write_folder(folder: Path, tables: dict[str, list[dict[str, Any]]]) -> Path:
    """A folder of CSV files; each table has the columns that any of its rows has."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in tables.items():
        columns = list(dict.fromkeys(column for row in rows for column in row))
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, columns, restval="")
            writer.writeheader()
            writer.writerows(rows)
    return folder


def read_folder(folder: Path) -> dict[str, list[dict[str, str]]]:
    """Every table of an export but its own ``export`` sheet."""
    found = {}
    for path in sorted(folder.glob("*.csv")):
        if path.stem != "export":
            with path.open(newline="", encoding="utf-8") as file:
                found[path.stem] = list(csv.DictReader(file))
    return found


def change(table: str, row_id: str | None = None, **texts: str) -> Change:
    """One change, from texts as a form would post them."""
    values, faults = parse_texts(TABLES[table], texts)
    assert not faults, [str(fault) for fault in faults]
    return Change(table, values, row_id)


def changes_of(tables: dict[str, list[dict[str, str]]]) -> list[Change]:
    return [change(name, **row) for name, rows in tables.items() for row in rows]
