"""Move a part to another position, exchange two parts, take a part to a place.

An installation says where a part belongs, a movement where it is. So a part that changes its position
leaves the old one and comes to the new one on the day; a part that goes to the stores for a while only
moves, unless it comes out of its position for good.
"""

from __future__ import annotations

from register.exchange.records import Change, Register
from register.models import Act, User
from register.services import structure_rows as rows
from register.services.structure import Plan, around, carry_out, ids_like, make_plan
from register.services.structure_carry import (
    carried,
    comes,
    day_of,
    fitted_now,
    leaves,
    must_be_fitted,
    on_it,
)
from register.services.structure_rows import put, refused


def changes_for_move(
    register: Register,
    *,
    part_id: str,
    position_id: str,
    on: str,
    with_everything: bool = True,
    why: str = "",
) -> list[Change]:
    """The part leaves its position, if it is in one, and is fitted in another. Raises Refused."""
    part, goal = rows.row_of(register, "parts", part_id), rows.row_of(register, "positions", position_id)
    day, start = day_of(on), fitted_now(register, part)
    if start is None:
        return [comes(register, part["_code"], goal["_code"], day, why)]
    _refuse_where_it_stands(register, part["_code"], start["position_id"], goal["_key"])
    return list(carried(register, start, goal["_key"], day, with_everything=with_everything, why=why))


def plan_move(
    *, part_id: str, position_id: str, on: str, with_everything: bool = True, why: str = ""
) -> Plan:
    """The plan, to preview or to apply. Raises Refused."""
    register = around(
        parts=[part_id], positions=[position_id], new={"positions": ids_like("positions", [position_id])}
    )
    changes = changes_for_move(
        register, part_id=part_id, position_id=position_id, on=on, with_everything=with_everything, why=why
    )
    return make_plan(register, changes, "move a part")


def move(
    *,
    part_id: str,
    position_id: str,
    on: str,
    with_everything: bool = True,
    why: str = "",
    user: User | None,
    reason: str = "",
    token: str | None = None,
) -> Act | None:
    """Move a part to another position, in one act. Raises Refused or Conflicted; nothing is stored then."""
    return carry_out(
        lambda: plan_move(
            part_id=part_id, position_id=position_id, on=on, with_everything=with_everything, why=why
        ),
        user=user,
        reason=reason,
        token=token,
    )


def changes_for_exchange(
    register: Register, *, part_id: str, other_id: str, on: str, with_everything: bool = True, why: str = ""
) -> list[Change]:
    """Two parts change places: each leaves as the other arrives. Raises Refused."""
    part, other = rows.row_of(register, "parts", part_id), rows.row_of(register, "parts", other_id)
    if part["_key"] == other["_key"]:
        refused("parts", "other_id", other["_code"], "a part is exchanged for another one.")
    day = day_of(on)
    one, two = must_be_fitted(register, part), must_be_fitted(register, other)
    _refuse_where_it_stands(register, part["_code"], one["position_id"], two["position_id"])
    _refuse_where_it_stands(register, other["_code"], two["position_id"], one["position_id"])
    return [
        *carried(register, one, two["position_id"], day, with_everything=with_everything, why=why),
        *carried(register, two, one["position_id"], day, with_everything=with_everything, why=why),
    ]


def plan_exchange(
    *, part_id: str, other_id: str, on: str, with_everything: bool = True, why: str = ""
) -> Plan:
    """The plan, to preview or to apply. Raises Refused."""
    register = around(parts=[part_id, other_id])
    changes = changes_for_exchange(
        register, part_id=part_id, other_id=other_id, on=on, with_everything=with_everything, why=why
    )
    return make_plan(register, changes, "exchange two parts")


def exchange(
    *,
    part_id: str,
    other_id: str,
    on: str,
    with_everything: bool = True,
    why: str = "",
    user: User | None,
    reason: str = "",
    token: str | None = None,
) -> Act | None:
    """Exchange two parts, in one act. Raises Refused or Conflicted; nothing is stored then."""
    return carry_out(
        lambda: plan_exchange(
            part_id=part_id, other_id=other_id, on=on, with_everything=with_everything, why=why
        ),
        user=user,
        reason=reason,
        token=token,
    )


def changes_for_taking(
    register: Register,
    *,
    part_id: str,
    on: str,
    place_id: str = "",
    with_part: str = "",
    due_back: str = "",
    comes_out: bool = False,
    with_everything: bool = True,
    why: str = "",
) -> list[Change]:
    """The part goes to a place, or to lie with another part; what is on it lies with it. Raises Refused.

    comes_out: it leaves its position too, for good; so does what is on it.
    """
    part, day = rows.row_of(register, "parts", part_id), day_of(on)
    if bool(place_id) == bool(with_part):
        refused(
            "movements", "place_id", place_id, "say where it goes: to a place, or to lie with another part."
        )
    goal = {"place_id": place_id} if place_id else {"with_part": with_part}
    rows.row_of(register, "places" if place_id else "parts", place_id or with_part)
    said = rows.typed_or_refused("movements", {**goal, "due_back": due_back, "reason": why})
    changes = [put("movements", part_id=part["_code"], moved_on=day, **said)]
    start = fitted_now(register, part)
    if start is None:
        if comes_out:
            refused("parts", "part_id", part["_code"], "it is in no position that it could come out of.")
        return changes
    along = on_it(register, start["position_id"]) if with_everything else []
    for row in along:
        lying = {"part_id": register.code("parts", row["part_id"]), "with_part": part["_code"]}
        changes.append(put("movements", moved_on=day, **lying))
    if comes_out:
        changes += [leaves(row, day, why) for row in (start, *along)]
    return changes


def plan_taking(
    *,
    part_id: str,
    on: str,
    place_id: str = "",
    with_part: str = "",
    due_back: str = "",
    comes_out: bool = False,
    with_everything: bool = True,
    why: str = "",
) -> Plan:
    """The plan, to preview or to apply. Raises Refused."""
    register = around(parts=[part_id, *([with_part] if with_part else [])])
    changes = changes_for_taking(
        register,
        part_id=part_id,
        on=on,
        place_id=place_id,
        with_part=with_part,
        due_back=due_back,
        comes_out=comes_out,
        with_everything=with_everything,
        why=why,
    )
    return make_plan(register, changes, "take a part to a place")


def take_to(
    *,
    part_id: str,
    on: str,
    place_id: str = "",
    with_part: str = "",
    due_back: str = "",
    comes_out: bool = False,
    with_everything: bool = True,
    why: str = "",
    user: User | None,
    reason: str = "",
    token: str | None = None,
) -> Act | None:
    """Take a part to a place, in one act. Raises Refused or Conflicted; nothing is stored then."""
    return carry_out(
        lambda: plan_taking(
            part_id=part_id,
            on=on,
            place_id=place_id,
            with_part=with_part,
            due_back=due_back,
            comes_out=comes_out,
            with_everything=with_everything,
            why=why,
        ),
        user=user,
        reason=reason,
        token=token,
    )


def _refuse_where_it_stands(register: Register, part: str, start: str, goal: str) -> None:
    """Not to where it is, nor to a place on itself."""
    code = register.code("positions", goal)
    if start == goal:
        refused("positions", "position_id", code, f"{part} is there already.")
    above: str | None = goal
    while above is not None:
        if above == start:
            refused("positions", "position_id", code, f"that place is on {part} itself.")
        above = register.tables["positions"][above]["parent_id"]
