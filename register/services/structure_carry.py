"""A part on its way, and everything that is on it: what leaves which place on a day, and where it comes to.

What is on a part is fitted in the positions below its own. It goes to positions of the same names below the
new one; where there are none they are made, like the old ones but for the judgement of significance, which
is not copied.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from register.exchange.overlay import fold
from register.exchange.records import Change, Register, Row
from register.exchange.values import key_of
from register.fabric.dates import HistoricDate
from register.models.base import MAX_ID
from register.services import structure_rows as rows
from register.services.structure_rows import change_row, edtf, put, refused, rows_for, values_of

NOT_COPIED = ("significance", "significance_by", "significance_reason", "tag")


def day_of(text: str) -> HistoricDate:
    """The date typed in a field called ``on``. Raises Refused."""
    values, faults = rows.typed("movements", {"moved_on": text})
    if faults:
        refused("installations", "on", text, faults[0].message)
    if values["moved_on"] is None:
        refused("installations", "on", "", "say when, even roughly, such as March 1937.")
    found: HistoricDate = values["moved_on"]
    return found


def fitted_now(register: Register, part: Row) -> Row | None:
    """The installation that nothing has ended, stand-ins aside. Raises Refused where there are several."""
    found = [
        row
        for row in rows_for(register, "installations", part["_key"])
        if not row["temporary"] and row["removed"] is None
    ]
    if len(found) > 1:
        names = ", ".join(register.code("positions", row["position_id"]) for row in found)
        sentence = f"{part['_code']} is in several positions without a date of removal ({names}): date them."
        refused("installations", "removed", "", sentence)
    return found[0] if found else None


def must_be_fitted(register: Register, part: Row) -> Row:
    found = fitted_now(register, part)
    if found is None:
        refused("parts", "part_id", part["_code"], "it is in no position now.")
    return found


def on_it(register: Register, position: str) -> list[Row]:
    """The installations that nothing has ended in the positions below this one, those higher up first."""
    found, level = [], [position]
    while level:
        level = [row["_key"] for key in level for row in rows_for(register, "positions", key, "parent_id")]
        for key in level:
            found += [
                row
                for row in rows_for(register, "installations", key, "position_id")
                if not row["temporary"] and row["removed"] is None
            ]
    return found


def leaves(row: Row, on: HistoricDate, why: str = "") -> Change:
    """The installation ends; its own reason, if it has one, stays."""
    return change_row("installations", row, removed=on, **({} if row["reason"] else _said(why)))


def comes(register: Register, part: str, position: str, on: HistoricDate, why: str = "") -> Change:
    """The part is fitted in the position. Refused where it was fitted there on that date before."""
    for row in rows_for(register, "installations", key_of(part)):
        if (
            row["position_id"] == key_of(position)
            and edtf(row["fitted"]) == on.edtf
            and row["seen_on"] is None
        ):
            sentence = f"{part} was fitted in {position} on that date before: correct that installation."
            refused("installations", "on", on.text, sentence)
    return put("installations", position_id=position, part_id=part, fitted=on, **_said(why))


def _said(why: str) -> dict[str, Any]:
    return (
        {"reason": reason}
        if (reason := rows.typed_or_refused("installations", {"reason": why})["reason"])
        else {}
    )


class Way:
    """From one position to another: the places to which what is on the part goes, made where they are
    missing."""

    def __init__(self, register: Register, start: str, end: str) -> None:
        self.register = register
        self.goal = register.tables["positions"][end]
        self.known: dict[str, Row] = {start: self.goal}
        self.used: set[str] = set()
        self.made: list[Change] = []

    def place_for(self, position: str) -> str:
        """The id of the place that answers to ``position`` at the other end."""
        code: str = self._row(position)["_code"]
        return code

    def _row(self, position: str) -> Row:
        if position not in self.known:
            old = self.register.tables["positions"][position]
            above = self._row(old["parent_id"])
            self.known[position] = self._there(old, above) or self._make(old, above)
        return self.known[position]

    def _there(self, old: Row, above: Row) -> Row | None:
        """The place of the same name below ``above`` that answers to nothing yet; not one that is itself
        leaving."""
        answering = {row["_key"] for row in self.known.values()}
        return next(
            (
                row
                for row in rows_for(self.register, "positions", above["_key"], "parent_id")
                if fold(row["name"]) == fold(old["name"]) and row["_key"] not in answering
            ),
            None,
        )

    def _make(self, old: Row, above: Row) -> Row:
        parent = self.register.tables["positions"][old["parent_id"]]
        tail = old["_code"].removeprefix(f"{parent['_code']}-")
        code, number = f"{above['_code']}-{tail}", 1
        while not rows.is_free(self.register, "positions", code) or key_of(code) in self.used:
            number += 1
            code = f"{above['_code']}-{tail}-{number}"
        if len(code) > MAX_ID:
            sentence = (
                f"that is more than {MAX_ID} letters: first make a place called “{old['name']}” by hand."
            )
            refused("positions", "position_id", code, sentence)
        self.used.add(key_of(code))
        said = dict.fromkeys(NOT_COPIED)
        where = {"position_id": code, "vehicle_id": self.goal["vehicle_id"], "parent_id": above["_code"]}
        self.made.append(put("positions", **values_of("positions", old, **said, **where)))
        return old | {"_key": key_of(code), "_code": code, "parent_id": above["_key"]}


def carried(
    register: Register, start: Row, end: str, on: HistoricDate, *, with_everything: bool, why: str
) -> Iterator[Change]:
    """The part of the installation ``start`` goes to the position ``end``, with what is on it if so asked."""
    part = register.code("parts", start["part_id"])
    yield leaves(start, on, why)
    yield comes(register, part, register.code("positions", end), on, why)
    if not with_everything:
        return
    way = Way(register, start["position_id"], end)
    moves = []
    for row in on_it(register, start["position_id"]):
        moves.append(leaves(row, on, why))
        there = way.place_for(row["position_id"])
        moves.append(comes(register, register.code("parts", row["part_id"]), there, on, why))
    yield from (*way.made, *moves)
