"""Replace a part: another one, or a new one, takes its place on a day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from register.exchange.faults import Refused
from register.exchange.records import Change, Register, Row
from register.exchange.values import key_of
from register.fabric.dates import HistoricDate
from register.models import Act, Installation, User
from register.services import structure_rows as rows
from register.services.structure import Plan, around, carry_out, ids_like, make_plan, taken
from register.services.structure_carry import (
    carried,
    comes,
    day_of,
    fitted_now,
    leaves,
    must_be_fitted,
    on_it,
)
from register.services.structure_rows import change_row, put, refused


def changes_for_replacement(
    register: Register,
    *,
    part_id: str,
    on: str,
    by: str = "",
    new: Mapping[str, str] | None = None,
    place_id: str = "",
    disposal: str = "",
    with_everything: bool = True,
    why: str = "",
) -> list[Change]:
    """The part leaves its position and another takes it. Raises Refused.

    by: the id of a part of the register; new: the texts of a new part; one of the two. place_id: where what
    came out is taken. disposal: what became of it, on the day. with_everything: what is on the part goes
    with it, and what is on the other comes with that; else it stays in its positions.
    """
    part, day = rows.row_of(register, "parts", part_id), day_of(on)
    start = must_be_fitted(register, part)
    if bool(by) == bool(new):
        refused("parts", "by", by, "say what takes its place: a part of the register, or a new one.")
    out = [start, *(on_it(register, start["position_id"]) if with_everything else [])]
    changes = [leaves(row, day, why) for row in out]
    if new:
        made = _made(register, new)
        where = register.code("positions", start["position_id"])
        changes += [made, comes(register, made.values["part_id"], where, day, why)]
    else:
        changes += _coming(register, part, start, by, day, with_everything=with_everything, why=why)
    return [*changes, *_went(register, out, day, place_id, disposal)]


def plan_replacement(
    *,
    part_id: str,
    on: str,
    by: str = "",
    new: Mapping[str, str] | None = None,
    place_id: str = "",
    disposal: str = "",
    with_everything: bool = True,
    why: str = "",
) -> Plan:
    """The plan, to preview or to apply. Raises Refused."""
    been_in = Installation.objects.filter(part=key_of(part_id)).values_list("position", flat=True)
    asked = [new.get("part_id", "")] if new else []
    register = around(
        parts=[part_id, *([by] if by else [])],
        new={"parts": asked, "positions": ids_like("positions", been_in)},
    )
    changes = changes_for_replacement(
        register,
        part_id=part_id,
        on=on,
        by=by,
        new=new,
        place_id=place_id,
        disposal=disposal,
        with_everything=with_everything,
        why=why,
    )
    return make_plan(register, changes, "replace a part")


def replace(
    *,
    part_id: str,
    on: str,
    by: str = "",
    new: Mapping[str, str] | None = None,
    place_id: str = "",
    disposal: str = "",
    with_everything: bool = True,
    why: str = "",
    user: User | None,
    reason: str = "",
    token: str | None = None,
) -> Act | None:
    """Replace a part, in one act. Raises Refused or Conflicted; nothing is stored then."""
    return carry_out(
        lambda: plan_replacement(
            part_id=part_id,
            on=on,
            by=by,
            new=new,
            place_id=place_id,
            disposal=disposal,
            with_everything=with_everything,
            why=why,
        ),
        user=user,
        reason=reason,
        token=token,
    )


def _made(register: Register, texts: Mapping[str, str]) -> Change:
    values = rows.typed_or_refused("parts", texts, new=True)
    code = values["part_id"]
    if not rows.is_free(register, "parts", code):
        raise Refused([taken("parts", code, register.retired.get(("parts", key_of(code))))])
    return put("parts", **values)


def _coming(
    register: Register, part: Row, start: Row, by: str, day: HistoricDate, *, with_everything: bool, why: str
) -> Iterator[Change]:
    other = rows.row_of(register, "parts", by)
    if other["_key"] == part["_key"]:
        refused("parts", "by", by, "a part is replaced by another one.")
    from_where = fitted_now(register, other)
    if from_where is None:
        yield comes(register, other["_code"], register.code("positions", start["position_id"]), day, why)
        return
    yield from carried(
        register, from_where, start["position_id"], day, with_everything=with_everything, why=why
    )


def _went(
    register: Register, out: list[Row], day: HistoricDate, place_id: str, disposal: str
) -> Iterator[Change]:
    """Where what came out is now, and what became of it."""
    if place_id:
        rows.row_of(register, "places", place_id)
        code = register.code("parts", out[0]["part_id"])
        yield put("movements", part_id=code, moved_on=day, place_id=place_id)
        for row in out[1:]:
            yield put(
                "movements", part_id=register.code("parts", row["part_id"]), moved_on=day, with_part=code
            )
    became = rows.typed_or_refused("parts", {"disposal": disposal})["disposal"]
    if became and became != "none":
        for row in out:
            gone = register.tables["parts"][row["part_id"]]
            yield change_row("parts", gone, disposal=became, disposal_date=day)
