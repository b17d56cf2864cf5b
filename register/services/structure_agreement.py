"""Whether a part says the same as the part that it was broken out of: what keeps the two from being joined
again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from register.exchange.records import Register, Row, trio_interval
from register.fabric.dates import span_of
from register.services import structure_rows as rows
from register.services.structure_rows import edtf, rows_for, stays_of


def in_the_way(register: Register, part: Row, child: Row) -> Iterator[str]:
    """Why the child cannot be joined to the part: what is said of it and not of the part, or otherwise."""
    whole, own, code = part["_key"], child["_key"], child["_code"]
    if whole == own:
        yield "it is that part itself."
        return
    one, other = (_assessed(register, key) for key in (whole, own))
    if one != other:
        yield f"{part['_code']} is {_status(register, whole)}, and {code} is {_status(register, own)}."
    if _dates(register, whole, above=False) != _dates(register, own, above=True):
        yield (
            f"it must have been in a place under each position of {part['_code']}, over the same dates, seen "
            "alike, and in no other."
        )
    if any(row["temporary"] for row in rows_for(register, "installations", own)):
        yield "it has been a stand-in on its own; strike that installation out first."
    if _treated(register, whole) != _treated(register, own):
        yield f"its treatments are not those of {part['_code']}."
    strengths = [rows.strength_of(register, rows.citations_in_force(register, key)) for key in (whole, own)]
    together = [*rows.citations_in_force(register, whole), *more_evidence(register, whole, own)]
    if {*strengths, rows.strength_of(register, together)} != {strengths[0]}:
        yield f"its evidence is stronger or weaker than that of {part['_code']}; cite the same for both."
    if _lies(register, own) not in (None, _lies(register, whole), ("with", whole)):
        yield f"it lies elsewhere; move it to where {part['_code']} is first."
    if [edtf(child["disposal_date"]), child["disposal"]] != [edtf(part["disposal_date"]), part["disposal"]]:
        became = f"{child['disposal']}, {part['disposal']}"
        yield f"what became of it is not what became of {part['_code']} ({became}), or not on the same date."
    if any(row["part_id"] == own for row in register.drafts.values()):
        yield "a draft assessment of it waits for review; accept or return that first."


def _assessed(register: Register, part: str) -> tuple[Any, ...] | None:
    row = rows.in_force(register, part)
    if row is None:
        return None
    dates = edtf(row["assessed_on"]), edtf(row["original_since"])
    return row["status"], row["original_to"], *dates, trio_interval(row, "fraction")


def _status(register: Register, part: str) -> str:
    row = rows.in_force(register, part)
    if row is None:
        return "not assessed"
    to = f" to {register.code('vehicles', row['original_to'])}" if row["original_to"] else ""
    since = f" since {row['original_since'].text}" if row["original_since"] else ""
    share = "" if row["fraction"] is None else f", {row['fraction'] / 10_000:g} % of it"
    return f"{row['status']}{to}{since}{share}, assessed on {row['assessed_on'].text}"


def _dates(register: Register, part: str, *, above: bool) -> list[tuple[Any, ...]]:
    """Where a part has been and when, as it is seen there; ``above``: under which position."""
    found = []
    for stay in stays_of(register, part):
        row, position = stay.row, register.tables["positions"][stay.row["position_id"]]
        where = position["parent_id"] if above else position["_key"]
        dates = [edtf(row[name]) or "" for name in ("fitted", "seen_on", "removed")]
        found.append(
            (where or "", *dates, row["visibility"] or position["visibility"], bool(position["wear_part"]))
        )
    return sorted(found)


def _treated(register: Register, part: str) -> list[tuple[Any, ...]]:
    found = rows_for(register, "treatments", part)
    return sorted((row["date"].edtf, row["work"], str(trio_interval(row, "replaced"))) for row in found)


def more_evidence(register: Register, whole: str, own: str) -> list[Row]:
    """The child's citations that the part does not have."""

    def says(row: Row) -> tuple[Any, ...]:
        return row["source_id"], row["supports"], row["locator"], edtf(row["assessed_on"])

    known = {says(row) for row in rows_for(register, "citations", whole)}
    return [row for row in rows.citations_in_force(register, own) if says(row) not in known]


def _lies(register: Register, part: str) -> tuple[str, str] | None:
    moved = rows_for(register, "movements", part)
    if not moved:
        return None
    last = max(moved, key=lambda row: span_of(row["moved_on"].edtf).best)
    return ("with", last["with_part"]) if last["with_part"] else ("at", last["place_id"] or "")


def others_there(register: Register, joined: Sequence[Row]) -> Iterator[str]:
    """Other parts that may have been in a child's place on some of the same days."""
    keys = {child["_key"] for child in joined}
    for child in joined:
        for stay in stays_of(register, child["_key"]):
            where = stay.row["position_id"]
            for row in rows_for(register, "installations", where, "position_id"):
                if row["temporary"] or row["part_id"] in keys:
                    continue
                if rows.may_meet(stay, rows.stay_of(register, row)):
                    other = register.code("parts", row["part_id"])
                    place = register.code("positions", where)
                    yield (
                        f"{child['_code']} and {other} may have been in {place} on some of the same days; "
                        "date them more closely, or say that it shall be done all the same."
                    )
