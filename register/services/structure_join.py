"""Join again what was broken down: parts back into the part that they are fitted to.

The inverse of breaking down, and refused with a sentence where the parts tell more than the whole would:
another status, other dates, work or evidence of their own. Their masses are added to the part's; their ids
lead to it from then on; their photographs and events go to it; their places go where nothing else has been
in them. The figures by mass are the same before and after.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from register.exchange.faults import Refused
from register.exchange.records import Change, Register, Row, trio_interval
from register.exchange.values import key_of
from register.fabric.interval import Interval
from register.fabric.vocabulary import HAZARDS
from register.models import Act, User
from register.services import structure_rows as rows
from register.services.structure import Plan, around, carry_out, make_plan
from register.services.structure_agreement import in_the_way, more_evidence, others_there
from register.services.structure_rows import change_row, refused, rows_for, stays_of, strike, trio


def changes_for_join(
    register: Register, *, part_id: str, children: Sequence[str], despite_doubt: bool = False
) -> list[Change]:
    """The changes that join the children to the part. Raises Refused with everything in the way."""
    part = rows.row_of(register, "parts", part_id)
    if not children:
        refused("parts", "part_id", part["_code"], "say what is joined to it: at least one part.")
    joined = [rows.row_of(register, "parts", code) for code in dict.fromkeys(map(key_of, children))]
    told = [
        rows.fault("parts", "part_id", child["_code"], f"it cannot be joined to {part['_code']}: {why}")
        for child in joined
        for why in in_the_way(register, part, child)
    ]
    if told:
        raise Refused(told)
    if not despite_doubt:
        doubts = rows.doubts(register, stays_of(register, part["_key"]))
        rows.refuse_doubts([*doubts, *others_there(register, joined)])
    return [
        _whole(register, part, joined),
        *(change for child in joined for change in _gone(register, part, child, joined)),
        *_empty_places(register, joined),
    ]


def plan_join(*, part_id: str, children: Sequence[str], despite_doubt: bool = False) -> Plan:
    """The plan, to preview or to apply. Raises Refused."""
    register = around(parts=[part_id, *children])
    changes = changes_for_join(register, part_id=part_id, children=children, despite_doubt=despite_doubt)
    return make_plan(register, changes, "join parts")


def join(
    *,
    part_id: str,
    children: Sequence[str],
    despite_doubt: bool = False,
    user: User | None,
    reason: str,
    token: str | None = None,
) -> Act | None:
    """Join the children to the part, in one act. Raises Refused or Conflicted; nothing is stored then."""
    return carry_out(
        lambda: plan_join(part_id=part_id, children=children, despite_doubt=despite_doubt),
        user=user,
        reason=reason,
        token=token,
    )


def parts_on(*, part_id: str) -> list[tuple[str, str]]:
    """(id, name) of the parts that have been in places directly under those of the part, to choose from."""
    register = around(parts=[part_id])
    part = rows.row_of(register, "parts", part_id)
    under = {stay.row["position_id"] for stay in stays_of(register, part["_key"])}
    positions = register.tables["positions"]
    found = {
        row["part_id"]
        for row in register.tables["installations"].values()
        if not row["temporary"] and positions[row["position_id"]]["parent_id"] in under
    }
    return [
        (register.tables["parts"][key]["_code"], register.tables["parts"][key]["name"])
        for key in sorted(found - {part["_key"]})
    ]


def _whole(register: Register, part: Row, joined: Sequence[Row]) -> Change:
    """The part with the masses of the children added to its own, and with their dangers."""
    mass = _mass(register, part, joined)
    gross = part["gross_mass"].interval if part["gross_mass"] else None
    values: dict[str, Any] = {**trio(mass), "mass_basis": _basis([part, *joined]) if mass else None}
    if gross is not None and mass is not None and (gross.low, gross.high) == (mass.low, mass.high):
        values["gross_mass"] = None  # it said the same
    return change_row("parts", part, **values, **_dangers([part, *joined]))


def _mass(register: Register, part: Row, joined: Sequence[Row]) -> Interval | None:
    own, masses = trio_interval(part, "mass"), [trio_interval(child, "mass") for child in joined]
    found = [one for one in masses if one is not None]
    if len(found) == len(masses) and own is not None:
        return _sum([own, *found])
    if found:
        unknown = part if own is None else joined[masses.index(None)]
        sentence = "its mass is not known, and those of the others are: give it."
        refused("parts", "mass", unknown["_code"], sentence)
    places = {stay.row["position_id"] for child in joined for stay in stays_of(register, child["_key"])}
    designs: dict[str, list[Interval]] = {}
    for key in sorted(places):
        place = register.tables["positions"][key]
        one = trio_interval(place, "design_mass")
        designs.setdefault(place["parent_id"], []).extend([one] if one else [])
    if own is None and not any(designs.values()):
        return None
    above = {key: trio_interval(register.tables["positions"][key], "design_mass") for key in designs}
    if own != Interval.exactly(0) or any(above[key] != _sum(ones) for key, ones in designs.items()):
        sentence = "the masses of the parts to be joined are not known: give them first."
        refused("parts", "mass", part["_code"], sentence)
    return None


def _sum(several: Sequence[Interval]) -> Interval | None:
    if not several:
        return None
    best = sum(one.best or 0 for one in several)
    return Interval(sum(one.low for one in several), best, sum(one.high for one in several))


def _basis(parts: Sequence[Row]) -> str | None:
    """How a sum of masses is known: as its least certain term; a sum of weighed and calculated ones is
    calculated."""
    found = {row["mass_basis"] for row in parts if row["mass"]}
    if len(found) == 1:
        basis: str | None = found.pop()
        return basis
    return None if None in found or not found else "estimated" if "estimated" in found else "calculated"


def _dangers(parts: Sequence[Row]) -> dict[str, Any]:
    """No warning and no restriction is lost."""
    named = {word for row in parts if row["hazards"] for word in row["hazards"].split(";")}
    restricted = any(row["access"] == "restricted" for row in parts)
    return {
        "hazards": ";".join(word for word in HAZARDS if word in named) or None,
        "access": "restricted" if restricted else "public",
    }


def _gone(register: Register, part: Row, child: Row, joined: Sequence[Row]) -> Iterator[Change]:
    """The child's rows: what the part has too is struck out, the rest goes to it; then the child itself."""
    own = child["_key"]
    extra = {row["_key"] for row in more_evidence(register, part["_key"], own)}
    for table in ("installations", "assessments", "treatments", "citations", "movements"):
        for row in rows_for(register, table, own):
            if table == "citations" and row["_key"] in extra:
                yield change_row(table, row, part_id=part["_code"])
            else:
                yield strike(table, row)
    inside = {part["_key"], *(one["_key"] for one in joined)}
    for row in rows_for(register, "movements", own, "with_part"):
        if row["part_id"] == part["_key"]:
            yield strike("movements", row)
        elif row["part_id"] not in inside:
            yield change_row("movements", row, with_part=part["_code"])
    for table in ("photographs", "events"):
        for row in rows_for(register, table, own):
            yield change_row(table, row, part_id=part["_code"])
    yield strike("parts", child, into=part["_code"])


def _empty_places(register: Register, joined: Sequence[Row]) -> Iterator[Change]:
    """The children's places in which nothing else has been, and under which there is nothing."""
    keys = {child["_key"] for child in joined}
    places = {row["position_id"] for key in keys for row in rows_for(register, "installations", key)}
    for key in sorted(places):
        used = rows_for(register, "installations", key, "position_id")
        below = rows_for(register, "positions", key, "parent_id")
        if all(row["part_id"] in keys for row in used) and not below:
            yield strike("positions", register.tables["positions"][key])
