"""The first evening: a new vehicle with her positions, from a short list for her kind or from another
vehicle.

Positions only: what is fitted in them is for whoever looks. ``register.services.next_entries`` says what to
enter next.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change, Register, Row
from register.exchange.starter_lists import STARTER_LISTS, StarterList
from register.exchange.values import key_of
from register.models import Act, User
from register.services import structure_rows as rows
from register.services.structure import Plan, around, carry_out, ids_like, make_plan, taken
from register.services.structure_rows import put, refused, values_of

NOT_COPIED = ("significance_by", "significance_reason")
"""A grade is copied, to be looked at again; whose judgement it was and why are not said of the other
vehicle."""


def starter_lists() -> tuple[StarterList, ...]:
    """Every short list, to choose from."""
    return tuple(STARTER_LISTS.values())


def changes_for_list(
    register: Register, *, vehicle_id: str, list_name: str, prefix: str = ""
) -> list[Change]:
    """The positions of a short list for a vehicle. prefix: what their ids begin with, "" for the vehicle's
    id. Raises Refused."""
    starter = STARTER_LISTS.get(list_name)
    if starter is None:
        known = ", ".join(STARTER_LISTS)
        refused("positions", "list_name", list_name, f"there is no such list; there are: {known}.")
    changes, faults = [], []
    for texts in starter.texts(vehicle_id, prefix.strip() or vehicle_id):
        values, wrong = rows.typed("positions", texts, new=True)
        faults += [fault for fault in wrong if fault.column != "parent_id"]
        changes.append(put("positions", **values))
    _refuse_bad_ids(register, changes, faults)
    return changes


def changes_for_copy(
    register: Register, *, vehicle_id: str, from_vehicle: str, prefix: str = ""
) -> list[Change]:
    """The position tree of another vehicle, without the parts in it: names, visibility, grades, wear parts,
    safety and masses by the drawing. Raises Refused.

    An id that begins with the other vehicle's id begins with the prefix instead; any other gets it before it.
    """
    model = rows.row_of(register, "vehicles", from_vehicle)
    tree = _tree(register, model["_key"])
    if not tree:
        refused("positions", "from_vehicle", model["_code"], "it has no positions to copy.")
    ids = _new_ids(tree, model["_code"], prefix.strip() or vehicle_id)
    changes = []
    for row in tree:
        where = {
            "position_id": ids[row["_key"]],
            "vehicle_id": vehicle_id,
            "parent_id": ids.get(row["parent_id"] or ""),
        }
        changes.append(put("positions", **values_of("positions", row, **dict.fromkeys(NOT_COPIED), **where)))
    faults = [fault for code in ids.values() for fault in rows.typed("positions", {"position_id": code})[1]]
    _refuse_bad_ids(register, changes, faults)
    return changes


def changes_for_new_vehicle(
    register: Register,
    *,
    vehicle: Mapping[str, str],
    list_name: str = "",
    from_vehicle: str = "",
    prefix: str = "",
) -> list[Change]:
    """The vehicle, from the texts of her form, and her positions, if a list or another vehicle is named.
    Raises Refused."""
    values = rows.typed_or_refused("vehicles", vehicle, new=True)
    code = values["vehicle_id"]
    if not rows.is_free(register, "vehicles", code):
        raise Refused([taken("vehicles", code, register.retired.get(("vehicles", key_of(code))))])
    positions = _positions(
        register, vehicle_id=code, list_name=list_name, from_vehicle=from_vehicle, prefix=prefix
    )
    return [put("vehicles", **values), *positions]


def plan_new_vehicle(
    *, vehicle: Mapping[str, str], list_name: str = "", from_vehicle: str = "", prefix: str = ""
) -> Plan:
    """The plan, to preview or to apply. Raises Refused."""
    code = vehicle.get("vehicle_id", "").strip()
    register = _around(code, from_vehicle, prefix)
    changes = changes_for_new_vehicle(
        register, vehicle=vehicle, list_name=list_name, from_vehicle=from_vehicle, prefix=prefix
    )
    return make_plan(register, changes, "new vehicle", _notes(list_name))


def new_vehicle(
    *,
    vehicle: Mapping[str, str],
    list_name: str = "",
    from_vehicle: str = "",
    prefix: str = "",
    user: User | None,
    reason: str = "",
    token: str | None = None,
) -> Act | None:
    """Record a new vehicle with her positions, in one act. Raises Refused or Conflicted; nothing is stored
    then."""
    return carry_out(
        lambda: plan_new_vehicle(
            vehicle=vehicle, list_name=list_name, from_vehicle=from_vehicle, prefix=prefix
        ),
        user=user,
        reason=reason,
        token=token,
    )


def plan_positions(*, vehicle_id: str, list_name: str = "", from_vehicle: str = "", prefix: str = "") -> Plan:
    """Positions for a vehicle that is there already, to preview or to apply. Raises Refused."""
    register = _around(vehicle_id, from_vehicle, prefix)
    vehicle = rows.row_of(register, "vehicles", vehicle_id)
    if not list_name and not from_vehicle:
        refused("positions", "list_name", "", "choose a short list, or a vehicle to copy from.")
    changes = _positions(
        register,
        vehicle_id=vehicle["_code"],
        list_name=list_name,
        from_vehicle=from_vehicle,
        prefix=prefix,
    )
    return make_plan(register, changes, "new positions", _notes(list_name))


def add_positions(
    *,
    vehicle_id: str,
    list_name: str = "",
    from_vehicle: str = "",
    prefix: str = "",
    user: User | None,
    reason: str = "",
    token: str | None = None,
) -> Act | None:
    """Give a vehicle positions, in one act. Raises Refused or Conflicted; nothing is stored then."""
    return carry_out(
        lambda: plan_positions(
            vehicle_id=vehicle_id, list_name=list_name, from_vehicle=from_vehicle, prefix=prefix
        ),
        user=user,
        reason=reason,
        token=token,
    )


def _around(vehicle_id: str, from_vehicle: str, prefix: str) -> Register:
    used = ids_like("positions", [prefix.strip() or vehicle_id])
    vehicles = [from_vehicle] if from_vehicle else []
    return around(vehicles=vehicles, new={"vehicles": [vehicle_id], "positions": used})


def _positions(
    register: Register, *, vehicle_id: str, list_name: str, from_vehicle: str, prefix: str
) -> list[Change]:
    if list_name and from_vehicle:
        refused(
            "positions",
            "list_name",
            list_name,
            "a short list or the positions of another vehicle: choose one.",
        )
    if list_name:
        return changes_for_list(register, vehicle_id=vehicle_id, list_name=list_name, prefix=prefix)
    if from_vehicle:
        return changes_for_copy(register, vehicle_id=vehicle_id, from_vehicle=from_vehicle, prefix=prefix)
    return []


def _notes(list_name: str) -> list[str]:
    if not list_name:
        return []
    starter = STARTER_LISTS[list_name]
    return [f"The short list is our own ({starter.basis}): strike out and add what she has otherwise."]


def _tree(register: Register, vehicle: str) -> list[Row]:
    """The positions of a vehicle, those above first, in the order of their ids."""
    below: dict[str | None, list[Row]] = {}
    for _, row in sorted(register.tables["positions"].items()):
        if row["vehicle_id"] == vehicle:
            below.setdefault(row["parent_id"], []).append(row)
    found = list(below.get(None, ()))
    for row in found:  # grows as it goes
        found += below.get(row["_key"], ())
    return found


def _new_ids(tree: Iterable[Row], old: str, begins: str) -> dict[str, str]:
    """The id of each copy by the key of its model: no two alike."""
    found: dict[str, str] = {}
    used: set[str] = set()
    for row in tree:
        code = row["_code"]
        tail = code[len(old) + 1 :] if key_of(code).startswith(f"{key_of(old)}-") else code
        new, number = f"{begins}-{tail}", 1
        while key_of(new) in used:
            number += 1
            new = f"{begins}-{tail}-{number}"
        used.add(key_of(new))
        found[row["_key"]] = new
    return found


def _refuse_bad_ids(register: Register, changes: Iterable[Change], faults: Iterable[Fault]) -> None:
    told = list(faults)
    for change in changes:
        code = change.values.get("position_id")
        if code is not None and not rows.is_free(register, "positions", code):
            told.append(taken("positions", code, register.retired.get(("positions", key_of(code)))))
    if told:
        hint = "Positions get ids that begin with the prefix: choose another, shorter or unused one."
        raise Refused([*told, rows.fault("positions", "prefix", "", hint)])
