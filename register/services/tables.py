"""How the exchange tables lie in the database: one model a table, and how a row becomes a record and back."""

from __future__ import annotations

from typing import Any

from django.db import models

from register.exchange.records import Row, target_table
from register.exchange.schema import TABLES, Column, Table
from register.exchange.values import MassText
from register.fabric.dates import HistoricDate
from register.fabric.interval import Interval
from register.models import (
    Assessment,
    Citation,
    Event,
    Installation,
    Movement,
    Part,
    Person,
    Photograph,
    Place,
    Position,
    ReferencePeriod,
    Source,
    Treatment,
    Vehicle,
)

MODELS: dict[str, type[models.Model]] = {
    "vehicles": Vehicle, "reference_periods": ReferencePeriod, "positions": Position, "parts": Part, "installations": Installation,
    "assessments": Assessment, "treatments": Treatment, "sources": Source, "citations": Citation, "events": Event, "places": Place,
    "movements": Movement, "people": Person, "photographs": Photograph,
}
TABLE_OF = {model: name for name, model in MODELS.items()}


def _attribute(column: Column) -> str:
    """The model attribute that holds a column; references end in ``_id``."""
    if target_table(column) and not column.name.endswith("_id"):
        return f"{column.name}_id"
    return column.name


def fields_of(table: Table) -> list[str]:
    """Names for ``values_list``, in the order that ``row_from`` reads: key, code, act, then the columns."""
    names = ["key", "code", "act_id"]
    for column in table.columns:
        if column.kind == "id":
            continue
        names.append(_attribute(column))
        if column.kind in ("date", "day"):
            names.append(f"{column.name}_edtf")
        elif column.part == "whole":
            names += [f"{column.name}_{end}" for end in ("low", "best", "high")]
    if table.name == "assessments":
        names.append("from_draft")
    return names


def row_from(table: Table, values: tuple[Any, ...]) -> Row:
    """A row of the register from one tuple of ``values_list(*fields_of(table))``."""
    row: Row = {"_key": values[0], "_code": values[1], "_act": values[2]}
    at = 3
    for column in table.columns:
        if column.kind == "id":
            row[column.name] = values[1]
            continue
        value = values[at]
        at += 1
        if column.kind in ("date", "day"):
            value = HistoricDate(value, values[at]) if values[at] else None
            at += 1
        elif column.part == "whole":
            value = MassText(value, Interval(*values[at:at + 3])) if value else None
            at += 3
        elif value == "":
            value = None
        row[column.name] = value
    if table.name == "assessments":
        row["_from_draft"] = values[at]
    return row


def attributes_from(table: Table, row: Row) -> dict[str, Any]:
    """Model attributes of a row, without the act."""
    found: dict[str, Any] = {"key": row["_key"], "code": row["_code"]}
    for column in table.columns:
        if column.kind == "id":
            continue
        name, value = _attribute(column), row[column.name]
        if column.kind in ("date", "day"):
            found[name] = value.text if value else ""
            found[f"{column.name}_edtf"] = value.edtf if value else ""
        elif column.part == "whole":
            found[name] = value.text if value else ""
            for end in ("low", "best", "high"):
                found[f"{column.name}_{end}"] = getattr(value.interval, end) if value else None
        elif value is None and not (target_table(column) or column.trio):
            found[name] = ""
        else:
            found[name] = value
    if table.name == "assessments":
        found["from_draft"] = row.get("_from_draft", False)
    return found


__all__ = ["MODELS", "TABLES", "TABLE_OF", "attributes_from", "fields_of", "row_from"]
