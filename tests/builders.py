"""Small registers for tests, written as an outsider would write them: folders of CSV files, or change sets of texts."""

from __future__ import annotations

import csv
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from register.exchange.records import Change
from register.exchange.schema import TABLES
from register.exchange.values import parse_texts

ROOT = Path(__file__).parent.parent
WORKED = ROOT / "tests" / "worked_example"
DEMO = ROOT / "fixtures" / "demo"

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


def planted() -> dict[str, list[dict[str, str]]]:
    """A published engine that took parts from an unpublished one, with CANARY in all that the public may not see."""
    tables = tiny(
        people=[{"person_id": "SECRET-CANARY-1", "name": "CANARY-NAME", "role": "CANARY-ROLE", "consent": "CANARY-CONSENT"},
                {"person_id": "OK", "name": "CANARY-REAL-NAME", "role": "recorder", "public_as": "our recorder", "consent": "CANARY-CONSENT"}],
        places=[{"place_id": "ST", "name": "CANARY-STORE"}, {"place_id": "HALL", "name": "Booking hall", "access": "public"}],
        sources=[{"source_id": "S2", "kind": "testimony", "title": "CANARY-TITLE", "author": "CANARY-AUTHOR", "repository": "CANARY-REPOSITORY", "reference": "CANARY-REF", "access": "restricted"}],
        events=[{"vehicle_id": "L1", "date": "1950", "kind": "examination", "title": "CANARY-EVENT", "access": "restricted"},
                {"vehicle_id": "L1", "date": "1951", "kind": "overhaul", "title": "Overhaul", "holder": "CANARY-HOLDER", "source_id": "S2", "reference": "CANARY-EVENTREF"},
                {"vehicle_id": "L2", "date": "1951", "kind": "overhaul", "title": "CANARY-OTHER-EVENT"}],
        citations=[{"part_id": "P1", "source_id": "S1", "note": "CANARY-NOTE", "locator": "p 1"}, {"part_id": "P1", "source_id": "S2", "locator": "CANARY-LOCATOR"},
                   {"part_id": "P2", "source_id": "S1", "assessed_on": "2022-02-02", "locator": "CANARY-DRAFT-LOCATOR"}],
        movements=[{"part_id": "P1", "moved_on": "2001", "place_id": "ST", "reason": "CANARY-MOVE"}, {"part_id": "P1", "moved_on": "2002", "place_id": "HALL", "reason": "CANARY-MOVE-2"}],
        treatments=[{"part_id": "P1", "date": "1960", "work": "patched", "done_by": "CANARY-DONE-BY"}],
        assessments=[{"part_id": "P2", "assessed_on": "2022-02-02", "state": "draft", "status": "replica", "reason": "CANARY-DRAFT", "assessor": "CANARY-DRAFTER"},
                     {"part_id": "P4", "assessed_on": "2021-01-01", "status": "original", "original_to": "L2", "reason": "CANARY-REASON-2"}],
        parts=[{"part_id": "P4", "name": "dome from the other", "mass": "10", "public_note": "It came from another engine."},
               {"part_id": "P5", "name": "CANARY-HIDDEN-PART", "material": "CANARY-MATERIAL", "marks": "CANARY-MARKS", "access": "restricted", "public_note": "CANARY-PUBLIC-NOTE"}],
        positions=[{"position_id": "Q3", "vehicle_id": "L1", "name": "lamp", "visibility": "hidden"}, {"position_id": "Q4", "vehicle_id": "L1", "name": "gauge", "visibility": "hidden", "significance": "some", "significance_by": "CANARY-JUDGE"},
                   {"position_id": "G9", "vehicle_id": "L2", "name": "CANARY-POSITION", "visibility": "hidden", "significance_reason": "CANARY-WHY"}],
        installations=[{"position_id": "Q3", "part_id": "P4", "fitted": "1990", "reason": "CANARY-FITTED"}, {"position_id": "Q4", "part_id": "P5", "fitted": "1990"},
                       {"position_id": "G9", "part_id": "P4", "fitted": "1891", "removed": "1950", "reason": "CANARY-REMOVED"}],
        reference_periods=[{"vehicle_id": "L2", "label": "CANARY-PERIOD", "date": "1900"}],
    )
    tables["vehicles"][0] |= {"published": "yes", "owner": "CANARY-OWNER", "title_notes": "CANARY-TITLE-NOTES", "summary": "A small engine."}
    tables["vehicles"][1] |= {"name": "CANARY-VEHICLE", "summary": "CANARY-SUMMARY", "builder": "CANARY-BUILDER", "identity_basis": "CANARY-IDENTITY", "number": "CANARY-NO"}
    tables["parts"][0] |= {"owner": "CANARY-PART-OWNER", "remarks": "CANARY-REMARKS", "public_note": "The first chimney."}
    tables["assessments"][0] |= {"reason": "CANARY-REASON", "assessor": "OK"}
    return tables


def empty_the_register():
    """As a new database would be."""
    from django.db import connection

    from register.models import Act, ChangeSet, RegisterState, RetiredId, RowNumber, Seal, VehicleVersion
    from register.models.triggers import drop_triggers, make_triggers
    from register.services.tables import MODELS

    drop_triggers()
    ChangeSet.objects.all().delete()
    RetiredId.objects.all().delete()
    with connection.constraint_checks_disabled() if connection.vendor == "sqlite" else nullcontext():
        for model in reversed(list(MODELS.values())):
            model._base_manager.all()._raw_delete("default")
            model.history.all()._raw_delete("default")
    Seal.objects.all()._raw_delete("default")
    Act.objects.all()._raw_delete("default")
    RowNumber.objects.all().delete()
    VehicleVersion.objects.all().delete()
    RegisterState.objects.all().delete()
    make_triggers()
