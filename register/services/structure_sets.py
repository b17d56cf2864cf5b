"""Split a set registered as one part: some of its pieces leave it as a part of their own.

The rest keeps the id, with what is left of quantity and mass. What leaves has the same history (dates,
assessment, evidence, treatments, movements) and places of its own beside those of the set, so that the
figures by mass are the same before and after; marks and date marks stay with the set until they are read on
the piece itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from register.exchange.faults import Refused
from register.exchange.records import Change, Register, Row, trio_interval
from register.exchange.values import key_of
from register.fabric.interval import Interval
from register.fabric.quantities import write_mass
from register.models import Act, Installation, User
from register.services import structure_rows as rows
from register.services.structure import Plan, around, carry_out, ids_like, make_plan, taken
from register.services.structure_rows import (
    GOES_ALONG,
    change_row,
    put,
    refused,
    rows_for,
    stays_of,
    trio,
    values_of,
)
from register.services.structure_shares import mass_shares, shared


def changes_for_split(
    register: Register,
    *,
    part_id: str,
    new_part_id: str,
    leaving: int = 1,
    mass: str = "",
    name: str = "",
    despite_doubt: bool = False,
) -> list[Change]:
    """``leaving`` of the set become the part ``new_part_id``. Raises Refused with everything in the way.

    mass: of what leaves, one figure as typed; "": its share by number. name: "" for the set's name.
    """
    part = rows.row_of(register, "parts", part_id)
    quantity = part["quantity"]
    if not 1 <= leaving < quantity:
        many = (
            f"a set of {quantity}: from 1 to {quantity - 1} can leave it."
            if quantity > 1
            else "one thing, not a set."
        )
        refused("parts", "quantity", str(leaving), f"{part['_code']} is {many}")
    new = rows.typed_or_refused("parts", {"part_id": new_part_id, "name": name or part["name"]}, new=True)
    if not rows.is_free(register, "parts", new_part_id):
        retired = register.retired.get(("parts", key_of(new_part_id)))
        raise Refused([taken("parts", new_part_id, retired)])
    if not despite_doubt:
        rows.refuse_doubts(rows.doubts(register, stays_of(register, part["_key"])))
    own, rest = _masses(part, leaving, mass)
    basis = "calculated" if part["mass_basis"] == "weighed" and not mass else part["mass_basis"]
    left = "calculated" if part["mass_basis"] == "weighed" else part["mass_basis"]
    along = {column: part[column] for column in GOES_ALONG}
    return [
        change_row("parts", part, quantity=quantity - leaving, **_own(rest, left), gross_mass=None),
        put("parts", **along, **new, quantity=leaving, **_own(own, basis)),
        *_beside(register, part, new_part_id, leaving, weighed=own is not None),
        *rows.copied_history(register, part["_key"], new_part_id),
        *(
            put("movements", **values_of("movements", row, part_id=new_part_id))
            for row in rows_for(register, "movements", part["_key"])
        ),
    ]


def plan_split(
    *,
    part_id: str,
    new_part_id: str,
    leaving: int = 1,
    mass: str = "",
    name: str = "",
    despite_doubt: bool = False,
) -> Plan:
    """The plan, to preview or to apply. Raises Refused."""
    been_in = Installation.objects.filter(part=key_of(part_id)).values_list("position", flat=True)
    register = around(
        parts=[part_id], new={"parts": [new_part_id], "positions": ids_like("positions", been_in)}
    )
    changes = changes_for_split(
        register,
        part_id=part_id,
        new_part_id=new_part_id,
        leaving=leaving,
        mass=mass,
        name=name,
        despite_doubt=despite_doubt,
    )
    gross = register.tables["parts"][key_of(part_id)]["gross_mass"]
    note = f"The gross mass of the whole set ({gross.text}) no longer holds and is cleared." if gross else ""
    return make_plan(register, changes, "split a set", [note] if note else [])


def split(
    *,
    part_id: str,
    new_part_id: str,
    leaving: int = 1,
    mass: str = "",
    name: str = "",
    despite_doubt: bool = False,
    user: User | None,
    reason: str = "",
    token: str | None = None,
) -> Act | None:
    """Let some of a set leave it, in one act. Raises Refused or Conflicted; nothing is stored then."""
    return carry_out(
        lambda: plan_split(
            part_id=part_id,
            new_part_id=new_part_id,
            leaving=leaving,
            mass=mass,
            name=name,
            despite_doubt=despite_doubt,
        ),
        user=user,
        reason=reason,
        token=token,
    )


def _own(mass: Interval | None, basis: str | None) -> dict[str, Any]:
    return {**trio(mass), "mass_basis": basis if mass else None}


def _masses(part: Row, leaving: int, text: str) -> tuple[Interval | None, Interval | None]:
    """(of what leaves, of what is left)"""
    whole = trio_interval(part, "mass")
    given = rows.typed_or_refused("parts", {"mass": text})["mass"]
    if given is not None and not given.is_exact:
        refused("parts", "mass", text, "give one figure: its range follows from that of the set.")
    if whole is None:
        if given is not None:
            sentence = f"{part['_code']} has no mass to share out: give it one first, or leave this empty."
            refused("parts", "mass", text, sentence)
        return None, None
    assert whole.best is not None  # a stored mass has its best value
    if given is None:
        bests = shared(whole.best, [leaving, part["quantity"] - leaving])
    else:
        if given.best > whole.best:
            refused(
                "parts",
                "mass",
                text,
                f"the whole set weighs {write_mass(whole.best)}: correct one of the two.",
            )
        bests = [given.best, whole.best - given.best]
    own, rest = mass_shares(whole, bests)
    return own, rest


def _beside(register: Register, part: Row, new: str, leaving: int, *, weighed: bool) -> Iterator[Change]:
    """A place beside each one in which the set has been, and what leaves in it, over the same dates."""
    made: dict[str, str] = {}
    for stay in stays_of(register, part["_key"]):
        key = stay.row["position_id"]
        if key not in made:
            place = register.tables["positions"][key]
            made[key] = _free_place(register, place["_code"], set(made.values()))
            own, rest = _designs(register, part, place, leaving, weighed=weighed)
            if rest is not None:
                yield change_row("positions", place, **trio(rest, "design_mass"))
            yield put(
                "positions",
                position_id=made[key],
                vehicle_id=place["vehicle_id"],
                parent_id=place["parent_id"],
                name=f"{place['name']} ({leaving} of {part['quantity']})",
                visibility=place["visibility"],
                wear_part=place["wear_part"],
                safety=place["safety"],
                **trio(own, "design_mass"),
            )
        yield put("installations", **values_of("installations", stay.row, position_id=made[key], part_id=new))


def _free_place(register: Register, stem: str, used: set[str]) -> str:
    number = 2
    while not rows.is_free(register, "positions", f"{stem}-{number}") or f"{stem}-{number}" in used:
        number += 1
    rows.typed_or_refused("positions", {"position_id": f"{stem}-{number}"})
    return f"{stem}-{number}"


def _designs(
    register: Register, part: Row, place: Row, leaving: int, *, weighed: bool
) -> tuple[Interval | None, Interval | None]:
    """The mass by the drawing, shared between the new place and this one. Where other parts have been in
    it, it is theirs too and stays; a set that weighs nothing but that cannot be split then."""
    whole = trio_interval(place, "design_mass")
    if whole is None or whole.best is None:
        return None, None
    alone = all(
        row["temporary"] or row["part_id"] == part["_key"]
        for row in rows_for(register, "installations", place["_key"], "position_id")
    )
    if alone:
        own, rest = mass_shares(whole, shared(whole.best, [leaving, part["quantity"] - leaving]))
        return own, rest
    if not weighed:
        sentence = f"its mass is the one by the drawing of {place['_code']}, which other parts had too: "
        refused("parts", "mass", part["_code"], sentence + "give the set a mass of its own first.")
    return None, None
