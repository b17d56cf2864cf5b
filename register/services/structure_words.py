"""What a plan records, in words: one line a row, as the officer reads it before it is done."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any, NamedTuple

from register.exchange.overlay import Overlaid, write_row_value
from register.exchange.records import TRIOS, Register, Row, trio_interval
from register.exchange.schema import TABLES, WRITE_ORDER
from register.fabric.dates import HistoricDate, in_words
from register.fabric.rounding import shown_kg
from register.services.tables import MODELS


class Told(NamedTuple):
    """The lines of one table."""

    heading: str
    lines: list[str]


def what_is_recorded(before: Register, result: Overlaid) -> list[Told]:
    """Everything that the change set makes, changes and strikes out, table by table."""
    found = []
    for name in sorted(WRITE_ORDER, key=lambda name: (name != "parts", WRITE_ORDER.index(name))):
        lines = _lines(name, before, result)
        if lines:
            found.append(Told(str(MODELS[name]._meta.verbose_name_plural).capitalize(), lines))
    return found


def _lines(name: str, before: Register, result: Overlaid) -> list[str]:
    after, subject = result.register, SUBJECTS.get(name, _plain(name))
    made = [f"New: {subject(after, after.tables[name][key])}" for key in result.created.get(name, ())]
    changed = [
        f"{subject(before, before.tables[name][key])}: {_changes(name, before, after, key, columns)}"
        for key, columns in result.updated.get(name, {}).items()
    ]
    struck = []
    for key in result.struck.get(name, ()):
        into = result.merged.get(name, {}).get(key, "")
        leads = f"; its id leads to {into} from then on" if into else ""
        struck.append(f"Struck out: {subject(before, before.tables[name][key])}{leads}")
    return [*changed, *made, *struck, *(_drafts(result) if name == "assessments" else [])]


def _drafts(result: Overlaid) -> list[str]:
    found = []
    for key in result.changed_drafts:
        row = result.register.drafts[key]
        found.append(
            f"A draft that waits for review is of {_named(result.register, 'parts', row['part_id'])}"
        )
    return found


def _changes(name: str, before: Register, after: Register, key: str, columns: Any) -> str:
    table, told = TABLES[name], []
    old, new = before.tables[name][key], after.tables[name][key]
    for column in columns:
        trio = table.by_name[column].trio
        if trio and trio != column and trio in columns:
            continue  # said with the middle one
        one, other = (_said(register, name, row, column) for register, row in ((before, old), (after, new)))
        word = (trio or column).removesuffix("_id").replace("_", " ")
        if one and other:
            told.append(f"{word} {one} becomes {other}")
        else:
            told.append(f"{word} {other}" if other else f"{word} {one} is cleared")
    return "; ".join(told)


def _said(register: Register, name: str, row: Row, column: str) -> str:
    """A value as it is read: dates in words, what is named with its name, a trio as one."""
    given = TABLES[name].by_name[column]
    if given.trio in TRIOS[name]:
        return _interval(row, given.trio)
    value = row[column]
    if isinstance(value, HistoricDate):
        return in_words(value.edtf)
    if given.kind == "ref" and value:
        return _named(register, given.to, value)
    text = write_row_value(register, given, value)
    return f"“{text}”" if text and given.kind == "text" else text


def _interval(row: Row, name: str) -> str:
    """``1,600 kg (1,570 kg to 1,660 kg)``"""
    found = trio_interval(row, name)
    if found is None or found.best is None:
        return ""
    write = _kilograms if name.endswith("mass") else _share
    ends = "" if found.is_exact else f" ({write(found.low)} to {write(found.high)})"
    return f"{write(found.best)}{ends}"


def _kilograms(grams: int) -> str:
    return shown_kg(Fraction(grams, 1000))


def _share(millionths: int) -> str:
    return f"{millionths / 10_000:g} %"


def _named(register: Register, table: str, key: str) -> str:
    """``P9 boiler``"""
    row = register.tables[table].get(key)
    if row is None:
        return key
    return f"{row['_code']} {row.get('name') or row.get('title') or ''}".strip()


def _part(register: Register, row: Row) -> str:
    many = f", a set of {row['quantity']}" if row["quantity"] > 1 else ""
    mass = _interval(row, "mass")
    return f"{row['_code']} {row['name']}{many}, {mass or 'mass not known'}"


def _position(register: Register, row: Row) -> str:
    above = row["parent_id"]
    vehicle = _named(register, "vehicles", row["vehicle_id"])
    where = f"under {_named(register, 'positions', above)}" if above else f"at the top of {vehicle}"
    mass = _interval(row, "design_mass")
    return f"{row['_code']} {row['name']}, {where}{f', {mass} by the drawing' if mass else ''}"


def _installation(register: Register, row: Row) -> str:
    days = [
        f"{word} {in_words(row[column].edtf)}"
        for column, word in (("fitted", "fitted"), ("seen_on", "seen there"), ("removed", "removed"))
        if row[column]
    ]
    stand_in = ", a stand-in" if row["temporary"] else ""
    what, where = (
        _named(register, table, row[column])
        for table, column in (("parts", "part_id"), ("positions", "position_id"))
    )
    return f"{what} in {where}, {', '.join(days)}{stand_in}"


def _assessment(register: Register, row: Row) -> str:
    share = f", {_interval(row, 'fraction')} of it" if row["fraction"] is not None else ""
    day = in_words(row["assessed_on"].edtf)
    state = "" if row["state"] == "accepted" else f", {row['state']}"
    return f"{_named(register, 'parts', row['part_id'])}: {row['status']}{share}, assessed on {day}{state}"


def _treatment(register: Register, row: Row) -> str:
    share = f", {_interval(row, 'replaced')} of it replaced" if row["replaced"] else ""
    return f"{_named(register, 'parts', row['part_id'])}: {row['work']}, {in_words(row['date'].edtf)}{share}"


def _citation(register: Register, row: Row) -> str:
    against = "" if row["supports"] else ", against"
    at = f", {row['locator']}" if row["locator"] else ""
    source = _named(register, "sources", row["source_id"])
    return f"{_named(register, 'parts', row['part_id'])}: {source}{at}{against}"


def _movement(register: Register, row: Row) -> str:
    what, day = _named(register, "parts", row["part_id"]), in_words(row["moved_on"].edtf)
    where = "whereabouts not known"
    if row["place_id"]:
        where = f"to {_named(register, 'places', row['place_id'])}"
    elif row["with_part"]:
        where = f"lies with {_named(register, 'parts', row['with_part'])}"
    back = f", due back {in_words(row['due_back'].edtf)}" if row["due_back"] else ""
    return f"{what}: {where}, {day}{back}"


def _event(register: Register, row: Row) -> str:
    return f"{in_words(row['date'].edtf)}, {row['kind']}: {row['title']}"


def _photograph(register: Register, row: Row) -> str:
    caption = f", {row['caption']}" if row["caption"] else ""
    return f"{row['file']}{caption}"


def _plain(name: str) -> Callable[[Register, Row], str]:
    return lambda register, row: _named(register, name, row["_key"])


SUBJECTS: dict[str, Callable[[Register, Row], str]] = {
    "parts": _part,
    "positions": _position,
    "installations": _installation,
    "assessments": _assessment,
    "treatments": _treatment,
    "citations": _citation,
    "movements": _movement,
    "events": _event,
    "photographs": _photograph,
}
