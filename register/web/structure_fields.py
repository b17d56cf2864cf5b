"""The fields of the pages of structure: their texts as posted, and what is wrong with them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from register.exchange.faults import Fault
from register.exchange.schema import TABLES
from register.services.structure_rows import typed
from register.web.record_form import FormField, read_as

Texts = Mapping[str, str]
Column = tuple[str, str]
"""(table, column): what may stand in a field is what may stand there."""

YES_NO = (("yes", "Yes"), ("no", "No"))


@dataclass(slots=True)
class Field(FormField):
    """A field of a form that is not a record's. suggestions: (id, words) to choose from, or to leave aside."""

    suggestions: tuple[tuple[str, str], ...] = ()


@dataclass(slots=True)
class Section:
    """Fields that belong together. legend: "" for fields on their own."""

    fields: list[Field]
    legend: str = ""
    hint: str = ""
    in_a_row: bool = field(default=False)


def text_field(
    name: str,
    label: str,
    value: str,
    *,
    hint: str = "",
    example: str = "",
    required: bool = False,
    suggestions: Iterable[tuple[str, str]] = (),
    column: Column | None = None,
    kind: str = "text",
) -> Field:
    """A field to type into; a date of the ``column`` is said again as it was read."""
    said = read_as(TABLES[column[0]].by_name[column[1]], value) if column else ""
    return Field(
        name,
        label,
        kind,
        value,
        hint,
        example,
        required,
        read_as=said,
        suggestions=tuple(suggestions),
    )


def choice_field(
    name: str,
    label: str,
    value: str,
    options: Iterable[tuple[str, str]],
    *,
    hint: str = "",
    kind: str = "radio",
    required: bool = False,
) -> Field:
    """One of several. kind: radio or select."""
    return Field(name, label, kind, value, hint, "", required, tuple(options))


def checks_field(
    name: str, label: str, value: str, options: Iterable[tuple[str, str]], hint: str = ""
) -> Field:
    """Any of several; the value joins them with ``;``."""
    return Field(
        name, label, "checks", "", hint, "", False, tuple(options), frozenset(value.split(";")) - {""}
    )


def why_field(texts: Texts, *, needed: bool, hint: str = "") -> Field:
    hint = hint or (
        "Whoever meets the old id later will read this."
        if needed
        else "Kept in the history. May be left empty."
    )
    return text_field("why", "Why", texts.get("why", ""), hint=hint, required=needed)


def read_faults(texts: Texts, columns: Mapping[str, Column], needed: Mapping[str, str]) -> list[Fault]:
    """What is wrong with the texts by themselves. columns: what may stand in each field; needed: the sentence
    for each field that may not be left empty."""
    faults: list[Fault] = []
    for name, (table, column) in columns.items():
        text = texts.get(name, "")
        _, wrong = typed(table, {column: text})
        faults += [replace(one, column=name) for one in wrong]
        if name in needed and not text.strip():
            faults.append(Fault(table, None, name, "", needed[name]))
    return faults


def put_errors(
    fields: Iterable[Field], faults: Iterable[Fault], where: Mapping[str, str], texts: Texts
) -> list[str]:
    """Each fault goes to its field; the sentences of those that have none come back.

    A fault is at the field that its column is called after, at the one that ``where`` names for the column,
    or at the one in which the value at fault was typed.
    """
    by_name = {one.name: one for one in fields}
    general: list[str] = []
    for fault in faults:
        name = next((one for one in (fault.column, where.get(fault.column, "")) if one in by_name), "")
        if not name and fault.value:
            name = next((one for one in by_name if texts.get(one, "").lower() == fault.value.lower()), "")
        if name and not by_name[name].error:
            by_name[name].error = fault.message
        elif not name:
            general.append(_sentence(fault))
    return list(dict.fromkeys(general))


def _sentence(fault: Fault) -> str:
    message = fault.message[:1].upper() + fault.message[1:]
    if not fault.value or fault.value in message:
        return message
    noun = TABLES[fault.table].noun if fault.table in TABLES else ""
    return f"{noun.capitalize()} {fault.column.removesuffix('_id').replace('_', ' ')} {fault.value}: {fault.message}"
