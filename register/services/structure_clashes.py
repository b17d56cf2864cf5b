"""Where two parts that are one object say different things of the same, so that somebody has to choose."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from register.exchange.overlay import write_row_value
from register.exchange.records import Register, Row, natural_key
from register.exchange.schema import TABLES
from register.fabric.dates import END, HistoricDate
from register.fabric.vocabulary import HAZARDS
from register.services import structure_rows as rows
from register.services.structure_rows import Stay, rows_for

KEEP, TAKE = "keep", "take"
CAN_CLASH = ("installations", "assessments", "treatments", "citations", "movements")
TOGETHER = {
    "mass": ("mass_low", "mass", "mass_high", "mass_basis"),
    "disposal": ("disposal", "disposal_date"),
}
"""Columns that are chosen as one, by the first that counts."""
APART = ("part_id", "tag", "hazards", "access")
"""The kept part keeps its id and its tag; of warnings and restrictions none is lost."""


@dataclass(frozen=True, slots=True)
class Clash:
    """One thing to choose. key: for ``choices``; kept, other: what the kept part and the duplicate say;
    rows: the keys of the two rows, none for columns of the parts themselves."""

    key: str
    table: str
    question: str
    kept: str
    other: str
    rows: tuple[str, ...] = ()


def clashes_of(register: Register, kept: Row, gone: Row) -> list[Clash]:
    """Everything to choose, the parts themselves first."""
    return [*_columns(register, kept, gone), *_rows(register, kept, gone), *_stays(register, kept, gone)]


def settled_columns(kept: Row, gone: Row, choices: Mapping[str, str]) -> dict[str, Any]:
    """The values of the kept part that change."""
    found: dict[str, Any] = {}
    for name, columns in _units():
        if not _given(gone, name):
            continue
        if not _given(kept, name) or (_differ(kept, gone, columns) and choices.get(f"parts.{name}") == TAKE):
            found |= {column: gone[column] for column in columns}
    named = {word for row in (kept, gone) if row["hazards"] for word in row["hazards"].split(";")}
    found["hazards"] = ";".join(word for word in HAZARDS if word in named) or None
    if "restricted" in (kept["access"], gone["access"]):
        found["access"] = "restricted"
    return found


def said_alike(register: Register, kept: Row, gone: Row) -> Iterator[tuple[str, str, str]]:
    """(table, row of the kept part, row of the duplicate) of rows that say exactly the same."""
    for table, one, other in _twins(register, kept, gone):
        if not _row_differs(table, one, other):
            yield table, one["_key"], other["_key"]


def _units() -> Iterator[tuple[str, tuple[str, ...]]]:
    inside = {column for columns in TOGETHER.values() for column in columns}
    for column in TABLES["parts"].columns:
        if column.name in TOGETHER:
            yield column.name, TOGETHER[column.name]
        elif column.name not in inside and column.name not in APART:
            yield column.name, (column.name,)


def _given(row: Row, name: str) -> bool:
    return row[name] is not None and not (name == "disposal" and row[name] == "none")


def _differ(one: Row, other: Row, columns: tuple[str, ...]) -> bool:
    return any(_plain(one[column]) != _plain(other[column]) for column in columns)


def _plain(value: Any) -> Any:
    return value.edtf if isinstance(value, HistoricDate) else value


def _columns(register: Register, kept: Row, gone: Row) -> Iterator[Clash]:
    for name, columns in _units():
        if not (_given(kept, name) and _given(gone, name) and _differ(kept, gone, columns)):
            continue
        one, other = (_said(register, "parts", row, columns) for row in (kept, gone))
        said = f"{kept['_code']} says “{one}”, {gone['_code']} says “{other}”"
        question = f"{name.replace('_', ' ')}: {said}: choose one."
        yield Clash(f"parts.{name}", "parts", question, one, other)


def _twins(register: Register, kept: Row, gone: Row) -> Iterator[tuple[str, Row, Row]]:
    """Rows of the two parts that would be the same row, once the part is the same; not those that say that
    one of the two lies with the other."""
    for table in CAN_CLASH:
        columns = [name for name in TABLES[table].key if name != "part_id"]
        both = kept["_key"], gone["_key"]
        own, others = (
            [row for row in rows_for(register, table, key) if row.get("with_part") not in both]
            for key in both
        )
        known = {natural_key(TABLES[table], row, columns): row for row in own}
        for row in others:
            one = known.get(natural_key(TABLES[table], row, columns))
            if one is not None:
                yield table, one, row


def _row_differs(table: str, one: Row, other: Row) -> bool:
    names = [column.name for column in TABLES[table].columns if column.name != "part_id"]
    return _differ(one, other, tuple(names))


def _rows(register: Register, kept: Row, gone: Row) -> Iterator[Clash]:
    for table, one, other in _twins(register, kept, gone):
        if _row_differs(table, one, other):
            yield _clash(register, table, one, other, "the two cannot both be kept")


def _stays(register: Register, kept: Row, gone: Row) -> Iterator[Clash]:
    """Installations that tell of one stay twice, or have the one part in two places on one day."""
    twins = {(one["_key"], other["_key"]) for _, one, other in _twins(register, kept, gone)}
    for one in rows.stays_of(register, kept["_key"]):
        for other in rows.stays_of(register, gone["_key"]):
            if (one.row["_key"], other.row["_key"]) in twins:
                continue
            same = one.row["position_id"] == other.row["position_id"]
            if same and rows.may_meet(one, other):
                yield _clash(register, "installations", one.row, other.row, "one stay told twice")
            elif not same and _both_definite(one, other):
                yield _clash(
                    register, "installations", one.row, other.row, "one part in two places on one day"
                )


def _both_definite(one: Stay, other: Stay) -> bool:
    begin = max(one.fitted.latest, other.fitted.latest)
    ends = [stay.removed.earliest for stay in (one, other) if stay.removed is not None]
    return begin < min(ends, default=END)


def _clash(register: Register, table: str, one: Row, other: Row, why: str) -> Clash:
    names = tuple(column.name for column in TABLES[table].columns if column.name != "part_id")
    kept, gone = (_said(register, table, row, names) for row in (one, other))
    question = f"{TABLES[table].noun}, {why}: “{kept}” or “{gone}”: choose one."
    keys = one["_key"], other["_key"]
    return Clash(f"{table}.{keys[0]}.{keys[1]}", table, question, kept, gone, keys)


def _said(register: Register, table: str, row: Row, names: tuple[str, ...]) -> str:
    """A row as a reader has it: what the columns say, the first as it is, the others with their names."""
    texts: list[str] = []
    for name in names:
        text = write_row_value(register, TABLES[table].by_name[name], row[name])
        if text and text != "no":
            texts.append(text if not texts else f"{name.replace('_', ' ')} {text}")
    return ", ".join(texts)
