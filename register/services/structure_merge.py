"""Merge duplicates: one object that was registered twice becomes one part.

What is said of the duplicate goes to the part that is kept. Where the two say different things of the same,
somebody has to choose: nothing is settled silently but what only adds (a value that the other lacks, a
warning, a restriction). The duplicate's id leads to the kept part from then on and is never used again; the
label with the duplicate's tag is to be taken off, since a tag leads to one thing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from register.exchange.faults import Refused
from register.exchange.records import Change, Register, Row
from register.exchange.values import key_of
from register.models import Act, RetiredId, User
from register.services import structure_rows as rows
from register.services.structure import Plan, around, carry_out, make_plan
from register.services.structure_clashes import KEEP, TAKE, Clash, clashes_of, said_alike, settled_columns
from register.services.structure_rows import change_row, in_force, refused, rows_for, strike

OWN_ROWS = ("installations", "assessments", "treatments", "citations", "movements")
POINTING = ("events", "photographs")


def changes_for_merge(
    register: Register, *, duplicate_id: str, into_id: str, choices: Mapping[str, str] | None = None
) -> list[Change]:
    """The changes that make one part of two. Raises Refused, with a fault for each clash that is not settled.

    choices: the key of a clash to ``keep`` (what the kept part says) or ``take`` (what the duplicate says).
    """
    kept, gone = _two(register, duplicate_id, into_id)
    found = clashes_of(register, kept, gone)
    chosen = choices or {}
    open_ones = [clash for clash in found if chosen.get(clash.key) not in (KEEP, TAKE)]
    if open_ones:
        raise Refused([rows.fault(one.table, one.key, "", one.question) for one in open_ones])
    return _Merging(register, kept, gone, found, chosen).changes()


def plan_merge(*, duplicate_id: str, into_id: str, choices: Mapping[str, str] | None = None) -> Plan:
    """The plan, to preview or to apply. Raises Refused."""
    register = around(parts=[duplicate_id, into_id])
    changes = changes_for_merge(register, duplicate_id=duplicate_id, into_id=into_id, choices=choices)
    return make_plan(register, changes, "merge duplicates", _notes(register, duplicate_id, into_id))


def merge_parts(
    *,
    duplicate_id: str,
    into_id: str,
    choices: Mapping[str, str] | None = None,
    user: User | None,
    reason: str,
    token: str | None = None,
) -> Act | None:
    """Merge the duplicate into the other part, in one act. Raises Refused or Conflicted; nothing is stored
    then."""
    return carry_out(
        lambda: plan_merge(duplicate_id=duplicate_id, into_id=into_id, choices=choices),
        user=user,
        reason=reason,
        token=token,
    )


def what_clashes(*, duplicate_id: str, into_id: str) -> list[Clash]:
    """What has to be chosen before the two can be merged. Raises Refused where they cannot be at all."""
    register = around(parts=[duplicate_id, into_id])
    return clashes_of(register, *_two(register, duplicate_id, into_id))


def part_merged_into(*, part_id: str) -> str | None:
    """The key of the part to which a merged id leads, through any number of mergers; None for any other
    id."""
    key, seen = key_of(part_id), set[str]()
    while key not in seen:
        seen.add(key)
        into = RetiredId.objects.filter(table="parts", key=key).values_list("merged_into", flat=True).first()
        if not into:
            break
        key = key_of(into)
    return key if len(seen) > 1 else None


def _two(register: Register, duplicate_id: str, into_id: str) -> tuple[Row, Row]:
    """(the kept part, the duplicate)"""
    gone, kept = rows.row_of(register, "parts", duplicate_id), rows.row_of(register, "parts", into_id)
    if gone["_key"] == kept["_key"]:
        refused("parts", "into_id", kept["_code"], "a part cannot be merged into itself: name the other one.")
    return kept, gone


def _notes(register: Register, duplicate_id: str, into_id: str) -> Iterator[str]:
    kept, gone = _two(register, duplicate_id, into_id)
    label = f"The label {gone['tag']} of {gone['_code']} leads nowhere then"
    yield f"{label}: take it off; {kept['_code']} has {kept['tag']}."
    if all(rows_for(register, "treatments", one["_key"]) for one in (kept, gone)):
        yield "Both have treatments: strike out afterwards what is told twice, since each takes its share."


class _Merging:
    """The rows of the two parts, and what becomes of each."""

    def __init__(
        self,
        register: Register,
        kept: Row,
        gone: Row,
        clashes: Sequence[Clash],
        choices: Mapping[str, str],
    ) -> None:
        self.register = register
        self.kept = kept
        self.gone = gone
        self.choices = choices
        self.both_assessed = all(in_force(register, one["_key"]) for one in (kept, gone))
        self.struck: set[tuple[str, str]] = set()
        self.twinned: set[str] = set()
        for clash in clashes:
            if clash.rows:
                self.struck.add((clash.table, clash.rows[choices[clash.key] == KEEP]))
        for table, one, other in said_alike(register, kept, gone):
            self.struck.add((table, other))
            self.twinned.add(one)

    def changes(self) -> list[Change]:
        columns = settled_columns(self.kept, self.gone, self.choices)
        return [
            change_row("parts", self.kept, **columns),
            *(change for table in OWN_ROWS for change in self._own(table)),
            *self._pointing(),
            *self._drafts(),
            strike("parts", self.gone, into=self.kept["_code"]),
        ]

    def _own(self, table: str) -> Iterator[Change]:
        for row in rows_for(self.register, table, self.kept["_key"]):
            if (table, row["_key"]) in self.struck or row.get("with_part") == self.gone["_key"]:
                yield strike(table, row)
            elif table == "citations" and row["_key"] not in self.twinned:
                yield from self._named(row, self.kept["_key"])
        for row in rows_for(self.register, table, self.gone["_key"]):
            if (table, row["_key"]) in self.struck or row.get("with_part") == self.kept["_key"]:
                yield strike(table, row)
            elif table == "citations":
                yield from self._named(row, self.gone["_key"])
            else:
                yield change_row(table, row, part_id=self.kept["_code"])

    def _named(self, row: Row, part: str) -> Iterator[Change]:
        """A citation that names no assessment belongs to the latest one; from now on that may be the other
        part's, so it names its own. One of the duplicate's goes to the kept part."""
        values: dict[str, Any] = {"part_id": self.kept["_code"]} if part == self.gone["_key"] else {}
        if row["assessed_on"] is None and self.both_assessed:
            assessment = in_force(self.register, part)
            values["assessed_on"] = assessment["assessed_on"] if assessment else None
        if values:
            yield change_row("citations", row, **values)

    def _pointing(self) -> Iterator[Change]:
        for table in POINTING:
            for row in rows_for(self.register, table, self.gone["_key"]):
                yield change_row(table, row, part_id=self.kept["_code"])
        for row in rows_for(self.register, "movements", self.gone["_key"], "with_part"):
            if row["part_id"] not in (self.kept["_key"], self.gone["_key"]):
                yield change_row("movements", row, with_part=self.kept["_code"])

    def _drafts(self) -> Iterator[Change]:
        for key, row in sorted(self.register.drafts.items()):
            if row["part_id"] == self.gone["_key"]:
                yield Change("assessments", {"part_id": self.kept["_code"]}, row_id=key)
