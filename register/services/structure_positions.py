"""Put a position, with everything below it, under another one of its vehicle, or at the top.

Only the tree changes: what is fitted where, and so every figure, is as before.
"""

from __future__ import annotations

from collections.abc import Iterator

from register.exchange.records import Change, Register
from register.services import structure_rows as rows
from register.services.structure import Plan, around, make_plan
from register.services.structure_rows import change_row, refused


def changes_for_placing(register: Register, *, position_id: str, parent_id: str = "") -> list[Change]:
    """The position goes under ``parent_id``; "": to the top. Raises Refused."""
    position = rows.row_of(register, "positions", position_id)
    goal = rows.row_of(register, "positions", parent_id) if parent_id else None
    if position["parent_id"] == (goal["_key"] if goal else None):
        refused("positions", "parent_id", parent_id, f"{position['_code']} is there already.")
    if goal and goal["vehicle_id"] != position["vehicle_id"]:
        sentence = "that position is in another vehicle; a part goes there, a position does not."
        refused("positions", "parent_id", goal["_code"], sentence)
    if goal and position["_key"] in _upwards(register, goal["_key"]):
        refused("positions", "parent_id", goal["_code"], f"it is {position['_code']} itself, or below it.")
    return [change_row("positions", position, parent_id=goal["_code"] if goal else None)]


def plan_placing(*, position_id: str, parent_id: str = "") -> Plan:
    """The plan, to preview or to apply. Raises Refused."""
    register = around(positions=[position_id, *([parent_id] if parent_id else [])])
    changes = changes_for_placing(register, position_id=position_id, parent_id=parent_id)
    return make_plan(register, changes, "move a position")


def _upwards(register: Register, key: str | None) -> Iterator[str]:
    while key is not None:
        yield key
        key = register.tables["positions"][key]["parent_id"]
