"""What the rows of a register say happened to parts and vehicles, each with its date: fitted, removed, treated, moved,
disposed of, and the events of a vehicle."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from register.documents.period_content import DISPOSED, EVENTS, FITTED, MOVED, REMOVED, TREATED
from register.exchange.records import Register, Row
from register.fabric.dates import AS_BUILT, Span, read_day, span_of
from register.fabric.occupancy import resolve

Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Stay:
    """An installation with its spans as the figures take them. removed: None while it lasts."""

    row: Row
    vehicle: str
    fitted: Span
    removed: Span | None

    def is_best_on(self, day: int) -> bool:
        return self.fitted.best <= day and (self.removed is None or day < self.removed.best)


@dataclass(frozen=True, slots=True)
class Happening:
    """kind: one of the first of ``KINDS``, or an event. vehicle: where it happened, or where the part belonged then; None
    for a part that never belonged to one. edtf: its date as kept, "" for a fitting of which only a day in place is known."""

    kind: str
    row: Row
    part: str | None
    vehicle: str | None
    edtf: str
    span: Span

    @property
    def key(self) -> Key:
        return self.kind, self.row["_key"]

    @property
    def stamp(self) -> tuple[Any, ...]:
        """What it would have to differ in to be told as corrected: where, and when."""
        seen = self.row["seen_on"].edtf if self.kind == FITTED and self.row["seen_on"] else ""
        place = self.row.get("position_id") or self.row.get("place_id") or self.row.get("with_part") or ""
        return self.edtf, seen, place


class Happenings:
    """Everything that happened, by a register's rows. stays: by part. all: by kind and the key of the row."""

    def __init__(self, register: Register) -> None:
        self.register = register
        self.stays: dict[str, list[Stay]] = defaultdict(list)
        for row in register.tables["installations"].values():
            self.stays[row["part_id"]].append(self._stay(row))
        for stays in self.stays.values():
            stays.sort(key=lambda one: (one.fitted, one.row["_key"]))
        self.all: dict[Key, Happening] = {one.key: one for one in self._found()}

    def _built(self, vehicle: str) -> Span:
        return span_of(self.register.tables["vehicles"][vehicle]["built"].edtf)

    def _stay(self, row: Row) -> Stay:
        vehicle = self.register.tables["positions"][row["position_id"]]["vehicle_id"]
        seen = read_day(row["seen_on"].edtf).toordinal() if row["seen_on"] else None
        return Stay(row, vehicle, *resolve(row["fitted"], seen, row["removed"], self._built(vehicle)))

    def home(self, part: str | None, day: int) -> Stay | None:
        """Where a part belonged on a day; where it last did; else where it first will; of a part that never was more than a
        stand-in, where it stood in. None for one that was never in a vehicle."""
        every = self.stays.get(part or "", [])
        stays = [one for one in every if not one.row["temporary"]] or every
        if on_the_day := [one for one in stays if one.is_best_on(day)]:
            return on_the_day[-1]
        begun = [one for one in stays if one.fitted.best <= day]
        return begun[-1] if begun else stays[0] if stays else None

    def _found(self) -> Iterator[Happening]:
        for stays in self.stays.values():
            for one in stays:
                fitted, removed = one.row["fitted"], one.row["removed"]
                part = one.row["part_id"]
                edtf = fitted.edtf if fitted else ""
                yield Happening(FITTED, one.row, part, one.vehicle, edtf, one.fitted)
                if one.removed is not None:
                    yield Happening(REMOVED, one.row, part, one.vehicle, removed.edtf, one.removed)
        tables = self.register.tables
        for kind, name, column in ((TREATED, "treatments", "date"), (MOVED, "movements", "moved_on")):
            for row in tables[name].values():
                yield self._of_a_part(kind, row, row["part_id"], row[column].edtf)
        for key, row in tables["parts"].items():
            if row["disposal"] != "none" and row["disposal_date"]:
                yield self._of_a_part(DISPOSED, row, key, row["disposal_date"].edtf)
        for row in tables["events"].values():
            edtf, vehicle = row["date"].edtf, row["vehicle_id"]
            span = self._built(vehicle) if edtf == AS_BUILT else span_of(edtf)
            yield Happening(EVENTS, row, row["part_id"], vehicle, edtf, span)

    def _of_a_part(self, kind: str, row: Row, part: str, edtf: str) -> Happening:
        span = span_of(edtf)
        home = self.home(part, span.best)
        return Happening(kind, row, part, home.vehicle if home else None, edtf, span)


def in_force(register: Register) -> dict[str, Row]:
    """By part, the accepted assessment with the latest day."""
    found: dict[str, Row] = {}
    for row in register.tables["assessments"].values():
        if row["state"] == "accepted":
            known = found.get(row["part_id"])
            if known is None or row["assessed_on"].edtf > known["assessed_on"].edtf:
                found[row["part_id"]] = row
    return found
