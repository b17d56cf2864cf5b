"""Rows of a register value as the verbs of structure look at them: where a part has been, what is said of
it, and copies of that for a part that comes out of it.

All of it is pure: a register value in, rows and changes out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple, NoReturn

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change, Register, Row
from register.exchange.schema import TABLES
from register.exchange.values import key_of, missing_required, parse_texts
from register.fabric.dates import Span, read_day, span_of
from register.fabric.evidence import Citation, strength
from register.fabric.interval import Interval
from register.fabric.occupancy import resolve

GOES_ALONG = ("material", "made", "maker", "hazards", "owner", "disposal", "disposal_date", "access")
"""What is said of a part and holds for what comes out of it too. Marks do not: they are where they were
read."""


class Stay(NamedTuple):
    """An installation, stand-ins aside, with its spans."""

    row: Row
    fitted: Span
    removed: Span | None


class Doubtful(Refused):
    """Refused only because dates leave a doubt; ``despite_doubt`` lets it through."""


def fault(table: str, column: str, value: str, message: str) -> Fault:
    """A fault in no row of a file: a whole sentence."""
    return Fault(table, None, column, value, message[:1].upper() + message[1:])


def refused(table: str, column: str, value: str, message: str) -> NoReturn:
    raise Refused([fault(table, column, value, message)])


def refuse_doubts(sentences: Iterable[str]) -> None:
    """Raises Doubtful with these sentences, if there are any."""
    if found := [fault("installations", "position_id", "", one) for one in sentences]:
        raise Doubtful(found)


def typed(table: str, texts: Mapping[str, str], *, new: bool = False) -> tuple[dict[str, Any], list[Fault]]:
    """Values from texts as a form posts them, and their faults; for a ``new`` record also what is missing."""
    values, faults = parse_texts(TABLES[table], texts)
    if new:
        wrong = {fault.column for fault in faults}
        missing = [name for name in missing_required(TABLES[table], values) if name not in wrong]
        faults += [fault(table, name, "", "it is needed and missing.") for name in missing]
    return values, faults


def typed_or_refused(table: str, texts: Mapping[str, str], *, new: bool = False) -> dict[str, Any]:
    values, faults = typed(table, texts, new=new)
    if faults:
        raise Refused(faults)
    return values


def row_of(register: Register, table: str, code: str) -> Row:
    """The row with this id. Raises Refused, with who, when and why where it is retired."""
    key = key_of(code)
    found = register.tables[table].get(key)
    if found is not None:
        return found
    retired = register.retired.get((table, key))
    noun = TABLES[table].noun
    refused(
        table,
        TABLES[table].own_id,
        code,
        retired.sentence() if retired else f"there is no {noun} with that id in this register.",
    )


def is_free(register: Register, table: str, code: str) -> bool:
    """Whether no row of the register value has or had that id."""
    key = key_of(code)
    return key not in register.tables[table] and (table, key) not in register.retired


def values_of(table: str, row: Row, **instead: Any) -> dict[str, Any]:
    """What a copy of the row says, with other values instead; None is left out."""
    said = {column.name: row[column.name] for column in TABLES[table].columns if column.name != "tag"}
    return {name: value for name, value in (said | instead).items() if value is not None}


def put(table: str, **values: Any) -> Change:
    return Change(table, values)


def change_row(table: str, row: Row, **values: Any) -> Change:
    """A change of this row. An installation's names its position and part, so that what they concern is
    checked."""
    if TABLES[table].own_id:
        return Change(table, {TABLES[table].own_id: row["_code"], **values})
    if table == "installations":
        values = {"position_id": row["position_id"], "part_id": row["part_id"], **values}
    if not TABLES[table].row_id:
        return Change(table, {name: row[name] for name in TABLES[table].key} | values)
    return Change(table, values, row_id=row["_code"])


def strike(table: str, row: Row, into: str = "") -> Change:
    """Strike the row out; ``into``: the id of the record that its id leads to from now on."""
    values = {"key": row["_key"], **({"merged_into": into} if into else {})}
    return Change(table, values, row_id=row["_key"], action="strike")


def trio(interval: Interval | None, name: str = "mass") -> dict[str, int | None]:
    """The three columns that say an interval."""
    if interval is None:
        return {f"{name}_low": None, name: None, f"{name}_high": None}
    return {f"{name}_low": interval.low, name: interval.best, f"{name}_high": interval.high}


def rows_for(register: Register, table: str, part: str, column: str = "part_id") -> list[Row]:
    """The rows of a table that name the part, in the order of their keys."""
    found = [row for row in register.tables[table].values() if row[column] == part]
    return sorted(found, key=lambda row: row["_key"])


def stays_of(register: Register, part: str) -> list[Stay]:
    """Where the part has been, stand-ins aside, the latest last."""
    rows = [row for row in rows_for(register, "installations", part) if not row["temporary"]]
    stays = [stay_of(register, row) for row in rows]
    return sorted(stays, key=lambda stay: (stay.fitted.best, stay.row["_key"]))


def stay_of(register: Register, row: Row) -> Stay:
    vehicle = register.tables["positions"][row["position_id"]]["vehicle_id"]
    built = span_of(register.tables["vehicles"][vehicle]["built"].edtf)
    seen = read_day(row["seen_on"].edtf).toordinal() if row["seen_on"] else None
    return Stay(row, *resolve(row["fitted"], seen, row["removed"], built))


def in_force(register: Register, part: str) -> Row | None:
    """The accepted assessment with the latest day."""
    accepted = [row for row in rows_for(register, "assessments", part) if row["state"] == "accepted"]
    return max(accepted, key=lambda row: row["assessed_on"].edtf, default=None)


def citations_in_force(register: Register, part: str) -> list[Row]:
    """The citations that belong to the assessment in force: those of its day, and those that name no day."""
    assessment = in_force(register, part)
    if assessment is None:
        return []
    days = (None, assessment["assessed_on"].edtf)
    return [row for row in rows_for(register, "citations", part) if edtf(row["assessed_on"]) in days]


def strength_of(register: Register, citations: Iterable[Row]) -> tuple[int, bool]:
    """Strength 0 to 3, and whether disputed."""
    sources = register.tables["sources"]
    return strength(
        Citation(
            sources[row["source_id"]]["kind"],
            row["source_id"],
            bool(sources[row["source_id"]]["date"]),
            row["supports"],
        )
        for row in citations
    )


def edtf(value: Any) -> str | None:
    return value.edtf if value else None


def copied_history(register: Register, part: str, new: str) -> list[Change]:
    """What is said of the part, said of ``new`` too: the assessment in force, its evidence, and every
    treatment."""
    assessment = in_force(register, part)
    changes = []
    if assessment is not None:
        changes.append(put("assessments", **values_of("assessments", assessment, part_id=new)))
    for table, rows in (
        ("treatments", rows_for(register, "treatments", part)),
        ("citations", citations_in_force(register, part)),
    ):
        changes += [put(table, **values_of(table, row, part_id=new)) for row in rows]
    return changes


def may_meet(one: Stay, other: Stay) -> bool:
    """Whether there is a day on which both are possible."""
    begin = max(one.fitted.earliest, other.fitted.earliest)
    return all(stay.removed is None or begin < stay.removed.latest for stay in (one, other))


def doubts(register: Register, stays: Iterable[Stay]) -> list[str]:
    """The stretches in which one of these stays is possible but not certain while another part may have
    been in the position: one of the two was there, and which is known only as long as both are whole. A
    sentence for each."""
    found = []
    for stay in stays:
        unsure = [(stay.fitted.earliest, stay.fitted.latest)]
        if stay.removed is not None:
            unsure.append((max(stay.removed.earliest, stay.fitted.earliest), stay.removed.latest))
        for row in rows_for(register, "installations", stay.row["position_id"], "position_id"):
            if row["temporary"] or row["part_id"] == stay.row["part_id"]:
                continue
            other = stay_of(register, row)
            for begin, end in unsure:
                begin = max(begin, other.fitted.earliest)
                end = end if other.removed is None else min(end, other.removed.latest)
                if begin < end:
                    found.append(_doubt(register, stay, row))
                    break
    return found


def _doubt(register: Register, stay: Stay, other: Row) -> str:
    one, two = (register.code("parts", row["part_id"]) for row in (stay.row, other))
    where = register.code("positions", stay.row["position_id"])
    return (
        f"the dates leave some days on which it is not certain whether {one} or {two} was in {where}. On "
        "those days the bounds would widen, since parts of the one are then not known to rule out the other. "
        "Date the leaving of the one and the coming of the other more closely, or say that it shall be "
        "done all the same."
    )
