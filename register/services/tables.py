"""How the exchange tables lie in the database: one model a table, and how a row becomes a record and back."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
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
    "vehicles": Vehicle,
    "reference_periods": ReferencePeriod,
    "positions": Position,
    "parts": Part,
    "installations": Installation,
    "assessments": Assessment,
    "treatments": Treatment,
    "sources": Source,
    "citations": Citation,
    "events": Event,
    "places": Place,
    "movements": Movement,
    "people": Person,
    "photographs": Photograph,
}


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
            value = MassText(value, Interval(*values[at : at + 3])) if value else None
            at += 3
        elif value == "":
            value = None
        row[column.name] = value
    if table.name == "assessments":
        row["_from_draft"] = values[at]
    return row


@dataclass(frozen=True, slots=True)
class Writer:
    """How rows of one table are written: database columns, and the values of a row in their order."""

    columns: tuple[str, ...]
    steps: tuple[tuple[str, str], ...]
    drafted: bool

    def values(self, row: Row, act: int) -> list[Any]:
        found: list[Any] = [row["_key"], row["_code"], act]
        for name, how in self.steps:
            value = row[name]
            if how == "date":
                found += (value.text, value.edtf) if value else ("", "")
            elif how == "whole":
                found += (
                    (value.text, value.interval.low, value.interval.best, value.interval.high)
                    if value
                    else ("", None, None, None)
                )
            elif how == "text" and value is None:
                found.append("")
            else:
                found.append(value)
        if self.drafted:
            found.append(bool(row.get("_from_draft")))
        return found


def _writer(table: Table) -> Writer:
    model = MODELS[table.name]
    columns = {field.attname: field.column for field in model._meta.concrete_fields}
    names = [str(columns[name]) for name in fields_of(table)]
    steps: list[tuple[str, str]] = []
    for column in table.columns:
        if column.kind != "id":
            how = (
                "date"
                if column.kind in ("date", "day")
                else "whole"
                if column.part == "whole"
                else "plain"
                if target_table(column) or column.trio
                else "text"
            )
            steps.append((column.name, how))
    return Writer(tuple(names), tuple(steps), table.name == "assessments")


@cache
def writer_of(name: str) -> Writer:
    """The writer of a table, worked out once."""
    return _writer(TABLES[name])
