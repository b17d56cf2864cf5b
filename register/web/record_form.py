"""One form for any record, made from the exchange schema: what a sheet may hold, a form may hold, by the same rules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.http import QueryDict

from register.exchange.faults import Fault
from register.exchange.schema import TABLES, Column, Table
from register.fabric.dates import DateError, in_words, read_date, read_day

LONG = {
    "identity_basis",
    "title_notes",
    "summary",
    "significance_reason",
    "public_note",
    "remarks",
    "reason",
    "marks",
    "date_mark",
    "work",
    "note",
    "caption",
    "consent",
}
LABELS = {
    "built": "Built",
    "heritage_from": "Heritage from",
    "original_to": "Original to",
    "original_since": "Original since",
    "with_part": "Lies with",
    "made": "Made",
    "supports": "Supports the assessment",
    "in_fleet": "In the fleet",
    "default": "The default reference",
    "wear_part": "Wear part",
    "vehicle_id": "Vehicle",
    "position_id": "Position",
    "part_id": "Part",
    "source_id": "Source",
    "place_id": "Place",
    "parent_id": "Part of",
    "person_id": "Person id",
}
KINDS = {"choice": "select", "yes": "select", "choices": "checks"}


@dataclass(slots=True)
class FormField:
    """A field as the page shows it. kind: text, area, select or checks; value as typed; read_as echoes a date."""

    name: str
    label: str
    kind: str
    value: str
    hint: str
    example: str
    required: bool = False
    options: tuple[tuple[str, str], ...] = ()
    chosen: frozenset[str] = frozenset()
    error: str = ""
    read_as: str = ""


def label_of(table: Table, column: Column) -> str:
    """The field's label: the trade's word for the column."""
    if column.kind == "id":
        return f"{table.noun.capitalize()} id"
    if column.name in LABELS:
        return LABELS[column.name]
    base = column.name.removesuffix("_low").removesuffix("_high").replace("_", " ")
    ends = {"low": ", lowest", "high": ", highest"}
    return f"{base.capitalize()}{ends.get(column.part, '')}"


def form_fields(
    name: str,
    texts: Mapping[str, str],
    faults: list[Fault],
    *,
    editing: bool,
    hidden: frozenset[str] = frozenset(),
) -> list[FormField]:
    """The fields of a table's form, filled with these texts and the faults found in them."""
    table = TABLES[name]
    errors: dict[str, str] = {}
    for fault in faults:
        errors.setdefault(fault.column, fault.message)
    return [
        _field(table, column, texts.get(column.name, ""), errors.get(column.name, ""))
        for column in table.columns
        if column.name not in hidden and not (editing and column.kind == "id")
    ]


def _field(table: Table, column: Column, value: str, error: str) -> FormField:
    kind = "area" if column.name in LONG else KINDS.get(column.kind, "text")
    options: tuple[tuple[str, str], ...] = ()
    chosen: frozenset[str] = frozenset()
    if column.kind == "choice":
        blank = (
            (("", "Not known" if not column.required and not column.default else "Choose one"),)
            if not column.default
            else ()
        )
        options = (*blank, *((choice, choice.capitalize()) for choice in column.choices))
        value = value or column.default
    elif column.kind == "yes":
        options = (("yes", "Yes"), ("no", "No"))
        value = value or column.default or "no"
    elif column.kind == "choices":
        options = tuple((choice, choice.capitalize()) for choice in column.choices)
        chosen = frozenset(part.strip() for part in value.split(";") if part.strip())
    return FormField(
        column.name,
        label_of(table, column),
        kind,
        value,
        column.about,
        column.example,
        column.required,
        options,
        chosen,
        error,
        read_as(column, value),
    )


def read_as(column: Column, value: str) -> str:
    """A date in words, as the register understood it; "" where there is none or it was not understood."""
    if column.kind not in ("date", "day") or not value.strip():
        return ""
    try:
        return in_words(
            read_date(value, as_built=column.as_built).edtf
            if column.kind == "date"
            else read_day(value).isoformat()
        )
    except DateError:
        return ""


def texts_from(name: str, data: QueryDict) -> dict[str, str]:
    """The texts posted for a table's columns; boxes ticked are joined with ``;``."""
    found: dict[str, str] = {}
    for column in TABLES[name].columns:
        if column.kind == "choices":
            found[column.name] = ";".join(data.getlist(column.name))
        elif column.name in data:
            found[column.name] = str(data[column.name])
    return found
