"""A change set in words: which records it makes, changes or strikes out, and the evidence for what it says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from register.documents.figure_words import STRENGTHS
from register.exchange.overlay import write_row_value
from register.exchange.records import DEFAULTS, Register, Row
from register.exchange.schema import TABLES, WRITE_ORDER
from register.fabric.dates import in_words
from register.fabric.evidence import Citation as Cited
from register.fabric.evidence import strength
from register.policy import OFFICE_COLUMNS, may
from register.services.effects import Effects


@dataclass(frozen=True, slots=True)
class Described:
    """One record. verb: new, changed or struck out. differences: (column, now, as it would be)."""

    table: str
    key: str
    noun: str
    name: str
    verb: str
    differences: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class Evidence:
    """A citation that comes with the change set, or stands by a part that it assesses."""

    part: str
    supports: bool
    source: str
    source_key: str
    kind: str
    locator: str
    note: str
    new: bool


@dataclass(frozen=True, slots=True)
class Assessed:
    """What a part is held to be, and what the change set says: statuses, "" not assessed; strength in words."""

    key: str
    code: str
    name: str
    now: str
    status: str
    fraction: tuple[int | None, int | None, int | None]
    since: str
    strength: str
    disputed: bool
    reason: str


def described(effects: Effects, reader: Any) -> list[Described]:
    """Every record that it touches, in the order in which it would be written, as far as the reader may know of it."""
    result, before = effects.result, effects.before
    reads_all = may(reader, "read what is restricted")
    found: list[Described] = []
    for name in WRITE_ORDER:
        for key in result.created.get(name, ()):
            row = result.register.tables[name].get(key)
            if row is not None and (reads_all or _is_open(before, name, row)):
                found.append(_new(name, key, row, result.register, reader))
        for key, differences in result.updated.get(name, {}).items():
            row = result.register.tables[name][key]
            if not (reads_all or _is_open(before, name, before.tables[name][key])):
                continue
            rows = tuple(
                (column, _text(before, name, column, old, reader), _text(result.register, name, column, new, reader))
                for column, (old, new) in differences.items()
                if _readable(reader, name, column)
            )
            found.append(
                Described(name, key, TABLES[name].noun, _name(result.register, name, row), "changed", rows)
            )
        for key in result.struck.get(name, ()):
            row = before.tables[name][key]
            if reads_all or _is_open(before, name, row):
                found.append(Described(name, key, TABLES[name].noun, _name(before, name, row), "struck out", ()))
    for key in (*result.new_drafts, *result.changed_drafts):
        row = result.register.drafts[key]
        if reads_all or _is_open(before, "assessments", row):
            found.append(_new("assessments", key, row, result.register, reader))
    return found


def _is_open(before: Register, name: str, row: Row) -> bool:
    """Whether neither the record nor the part or source that it is of is restricted; what the change set itself would
    restrict is open to whoever reads the change set."""
    about = [("parts", row.get("part_id")), ("sources", row.get("source_id"))]
    own = before.tables[name].get(str(row["_key"])) if name != "places" else None
    rows = [own, *(before.tables[table].get(str(key).lower()) for table, key in about if key)]
    return not any(one and one.get("access") == "restricted" for one in rows)


def _readable(reader: Any, name: str, column: str) -> bool:
    return (name, column) not in OFFICE_COLUMNS or may(reader, "read who owns it")


def _new(name: str, key: str, row: Row, register: Register, reader: Any) -> Described:
    defaults = DEFAULTS[name]
    rows = tuple(
        (column.name, "", _text(register, name, column.name, row[column.name], reader))
        for column in TABLES[name].columns
        if row[column.name] is not None
        and row[column.name] != defaults.get(column.name)
        and column.kind not in ("id", "tag", "file", "sha256")
        and _readable(reader, name, column.name)
    )
    return Described(name, key, TABLES[name].noun, _name(register, name, row), "new", rows)


def _text(register: Register, name: str, column: str, value: Any, reader: Any) -> str:
    found = TABLES[name].by_name[column]
    if value is not None and found.kind in ("date", "day"):
        return in_words(value.edtf)
    if isinstance(value, str) and found.kind == "person":
        row = register.tables["people"].get(value)
        is_named = may(reader, "read persons' names") or getattr(reader, "person_id", None) == value
        return str(row["name"] if is_named else row["public_as"] or "not to be named") if row else value
    return write_row_value(register, found, value)


def _name(register: Register, name: str, row: Row) -> str:
    """What a record is called: its id and name, or the part and what tells it from others."""
    if name == "people":
        return str(row["_code"])
    if TABLES[name].own_id:
        return f"{row['_code']} {row.get('name') or row.get('title') or ''}".strip()
    if row.get("part_id"):
        part = register.tables["parts"].get(row["part_id"])
        return f"{part['_code']} {part['name']}" if part else str(row["part_id"])
    return str(register.code("vehicles", row["vehicle_id"])) if row.get("vehicle_id") else ""


def assessed_in(effects: Effects) -> list[Assessed]:
    """The parts that it assesses: what they are held to be now, and what they would be."""
    found = []
    after = effects.result.register
    for key in (
        *effects.result.created.get("assessments", ()),
        *effects.result.updated.get("assessments", ()),
    ):
        row = after.tables["assessments"][key]
        if row["state"] != "accepted":
            continue
        part = row["part_id"]
        now = in_force(effects.before, part)
        words, disputed = strength_in(after, row)
        found.append(
            Assessed(
                part,
                after.code("parts", part),
                after.tables["parts"][part]["name"],
                now["status"] if now else "",
                row["status"],
                (row["fraction_low"], row["fraction"], row["fraction_high"]),
                in_words(row["original_since"].edtf) if row["original_since"] else "as built",
                words,
                disputed,
                row["reason"] or "",
            )
        )
    return found


def in_force(register: Register, part: str) -> Row | None:
    """The accepted assessment of a part with the latest day."""
    rows = [
        row
        for row in register.tables["assessments"].values()
        if row["part_id"] == part and row["state"] == "accepted"
    ]
    return max(rows, key=lambda row: str(row["assessed_on"].edtf), default=None)


def strength_in(register: Register, assessment: Row) -> tuple[str, bool]:
    """(strength in words, disputed) of an assessment, from the citations that belong to it."""
    day = assessment["assessed_on"].edtf
    own = [
        row
        for row in register.tables["citations"].values()
        if row["part_id"] == assessment["part_id"]
        and (row["assessed_on"] is None or row["assessed_on"].edtf == day)
    ]
    sources = register.tables["sources"]
    number, disputed = strength(
        Cited(
            sources[row["source_id"]]["kind"],
            row["source_id"],
            bool(sources[row["source_id"]]["date"]),
            row["supports"],
        )
        for row in own
    )
    return STRENGTHS[number], disputed


def evidence_in(effects: Effects) -> list[Evidence]:
    """Its own citations, and those that its parts have already; those for come before those against."""
    after = effects.result.register
    coming = {*effects.result.created.get("citations", ()), *effects.result.updated.get("citations", ())}
    parts = {after.tables["citations"][key]["part_id"] for key in coming}
    parts |= {one.key for one in assessed_in(effects)}
    rows = [
        (key, row)
        for key, row in after.tables["citations"].items()
        if row["part_id"] in parts and row["source_id"] in after.tables["sources"]
    ]
    found = []
    for key, row in rows:
        source = after.tables["sources"][row["source_id"]]
        there = row["source_id"] in effects.before.tables["sources"]
        found.append(
            Evidence(
                after.code("parts", row["part_id"]),
                row["supports"],
                source["title"],
                row["source_id"] if there else "",
                source["kind"] + ("" if source["date"] or source["kind"] != "photograph" else ", undated"),
                row["locator"] or "",
                row["note"] or "",
                key in coming,
            )
        )
    return sorted(found, key=lambda one: (not one.supports, not one.new, one.part, one.source))
