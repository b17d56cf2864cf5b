"""The rules that span rows: what must hold in the register as it would be. Pure; all faults are found, not the first.

Only what a change touches is looked at again: the parts, positions and vehicles of the touched rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from register.exchange.records import TAGGED, Register, Row
from register.exchange.schema import TABLES
from register.fabric.dates import BEGINNING, END, Span, read_day, span_of
from register.fabric.occupancy import ImpossibleDates, resolve

AS_BUILT = "as built"


@dataclass(frozen=True, slots=True)
class Problem:
    table: str
    key: str
    column: str
    value: Any
    message: str


@dataclass(frozen=True, slots=True)
class Stay:
    """An installation with its spans: what the rules about time look at."""

    row: Row
    fitted: Span
    removed: Span | None


def check(
    register: Register,
    touched: Mapping[str, set[str]],
    *,
    before: Register,
    struck: Mapping[str, list[str]],
    drafts: set[str],
    unread: Set[tuple[str, str]] = frozenset(),
) -> list[Problem]:
    """Every problem of the touched rows. touched: table to keys, as created or updated. unread: (table, key) of rows with
    a cell that could not be read: what only follows from that is no problem."""
    checker = _Checker(register, touched, before, struck, unread)
    return [
        *checker.vehicles(),
        *checker.positions(),
        *checker.trees(),
        *checker.stays(),
        *checker.parts(),
        *checker.citations(drafts),
        *checker.movements(),
        *checker.tags(),
        *checker.twins(),
    ]


class _Checker:
    def __init__(
        self,
        register: Register,
        touched: Mapping[str, set[str]],
        before: Register,
        struck: Mapping[str, list[str]],
        unread: Set[tuple[str, str]],
    ) -> None:
        self.register = register
        self.unread = unread
        self.tables = register.tables
        self.touched = touched
        self.before = before
        gone = [
            before.tables[name][key]
            for name in ("installations", "assessments", "treatments")
            for key in struck.get(name, ())
        ]
        changed = [
            row
            for name in ("installations", "assessments", "treatments", "citations")
            for row in self.rows(name)
        ]
        self.part_keys = {*touched["parts"], *(row["part_id"] for row in (*changed, *gone))}
        self.position_keys = {
            *touched["positions"],
            *(
                row["position_id"]
                for row in (*self.rows("installations"), *(row for row in gone if "position_id" in row))
            ),
        }
        # an installation that moved from one position or part to another concerns both
        for key in touched["installations"]:
            old = before.tables["installations"].get(key)
            if old:
                self.part_keys.add(old["part_id"])
                self.position_keys.add(old["position_id"])
        self.vehicle_keys = {
            *touched["vehicles"],
            *(row["vehicle_id"] for row in self.rows("reference_periods")),
            *(
                before.tables["reference_periods"][key]["vehicle_id"]
                for key in struck.get("reference_periods", ())
            ),
        }
        if touched["vehicles"]:
            for position in self.tables["positions"].values():
                if position["vehicle_id"] in touched["vehicles"]:
                    self.position_keys.add(position["_key"])
        self.by_position, self.by_part = self.group_stays()

    def rows(self, table: str) -> Iterator[Row]:
        rows = self.tables[table]
        return (rows[key] for key in self.touched[table])

    def built(self, vehicle: str | None) -> Span | None:
        row = self.tables["vehicles"].get(vehicle or "")
        return span_of(row["built"].edtf) if row and row["built"] else None

    def group_stays(self) -> tuple[dict[str, list[Row]], dict[str, list[Row]]]:
        by_position: dict[str, list[Row]] = {}
        by_part: dict[str, list[Row]] = {}
        for row in self.tables["installations"].values():
            if row["position_id"] in self.position_keys:
                by_position.setdefault(row["position_id"], []).append(row)
                self.part_keys.add(row["part_id"])
        for row in self.tables["installations"].values():
            if row["part_id"] in self.part_keys:
                by_part.setdefault(row["part_id"], []).append(row)
        return by_position, by_part

    # --- vehicles and reference periods ----------------------------------------------------------------------

    def vehicles(self) -> Iterator[Problem]:
        periods: dict[str, list[Row]] = {}
        for row in self.tables["reference_periods"].values():
            if row["vehicle_id"] in self.vehicle_keys:
                periods.setdefault(row["vehicle_id"], []).append(row)
        for key in self.vehicle_keys:
            vehicle = self.tables["vehicles"].get(key)
            if vehicle is None or vehicle["built"] is None:
                continue
            built = span_of(vehicle["built"].edtf)
            if built.earliest == BEGINNING or built.latest == END:
                yield Problem(
                    "vehicles",
                    key,
                    "built",
                    vehicle["built"].text,
                    'when she was built needs both ends; write for example "between 1890 and 1895".',
                )
                continue
            if vehicle["empty_mass"] is not None and not vehicle["empty_mass"].interval.best:
                yield Problem(
                    "vehicles",
                    key,
                    "empty_mass",
                    vehicle["empty_mass"].text,
                    "an empty mass is more than 0; leave it empty if it is not known.",
                )
            yield from self.periods(vehicle, built, periods.get(key, []))

    def periods(self, vehicle: Row, built: Span, rows: list[Row]) -> Iterator[Problem]:
        marked = [row for row in rows if row["default"]]
        if len(rows) > 1 and len(marked) != 1:
            row = max(rows, key=lambda one: one["_key"] in self.touched["reference_periods"])
            found = "none is" if not marked else f"{len(marked)} are"
            yield Problem(
                "reference_periods",
                row["_key"],
                "default",
                "",
                f"{vehicle['_code']} has {len(rows)} reference periods and {found} marked default; mark exactly one.",
            )
        for row in rows:
            if row["date"].edtf == AS_BUILT:
                continue
            span = span_of(row["date"].edtf)
            if span.earliest == BEGINNING or span.latest == END:
                yield Problem(
                    "reference_periods",
                    row["_key"],
                    "date",
                    row["date"].text,
                    'a reference date needs both ends; write for example "between 1910 and 1914".',
                )
            elif span.latest < built.earliest:
                yield Problem(
                    "reference_periods",
                    row["_key"],
                    "date",
                    row["date"].text,
                    f"it ends before {vehicle['_code']} was built ({vehicle['built'].text}).",
                )

    # --- positions, places ------------------------------------------------------------------------------------

    def positions(self) -> Iterator[Problem]:
        positions = self.tables["positions"]
        moved = {key for key in self.touched["positions"] if key in self.before.tables["positions"]}
        for row in positions.values() if moved else self.rows("positions"):
            parent = positions.get(row["parent_id"] or "")
            if (
                parent
                and parent["vehicle_id"] != row["vehicle_id"]
                and (row["_key"] in self.touched["positions"] or parent["_key"] in self.touched["positions"])
            ):
                yield Problem(
                    "positions",
                    row["_key"],
                    "parent_id",
                    row["parent_id"],
                    f"that position is in another vehicle ({self.register.code('vehicles', parent['vehicle_id'])}).",
                )

    def trees(self) -> Iterator[Problem]:
        for table in ("positions", "places"):
            parents = (
                {key: row["parent_id"] for key, row in self.tables[table].items() if row["parent_id"]}
                if self.touched[table]
                else {}
            )
            for key in cyclic(parents, self.touched[table]):
                yield Problem(
                    table,
                    key,
                    "parent_id",
                    parents[key],
                    f"a cycle: the {TABLES[table].noun} would be part of itself.",
                )

    # --- installations ----------------------------------------------------------------------------------------

    def stays(self) -> Iterator[Problem]:
        resolved: dict[str, Stay] = {}
        retimed = self.touched["vehicles"]
        for row in self.tables["installations"].values():
            position = self.tables["positions"].get(row["position_id"])
            if position is None or not (
                row["position_id"] in self.by_position or row["part_id"] in self.by_part
            ):
                continue
            touched = (
                row["_key"] in self.touched["installations"]
                or position["vehicle_id"] in retimed
                or position["_key"] in self.touched["positions"]
            )
            stay = None if ("installations", row["_key"]) in self.unread else self.stay(row, position)
            if stay is None:
                continue
            if isinstance(stay, Problem):
                if touched:
                    yield stay
            else:
                resolved[row["_key"]] = stay
        yield from self.doubles(
            resolved, self.by_position, "position_id", "two parts are certainly in this position"
        )
        yield from self.doubles(resolved, self.by_part, "part_id", "the part is certainly in two positions")
        self.resolved = resolved

    def stay(self, row: Row, position: Row) -> Stay | Problem | None:
        """None where the vehicle or its built date is at fault, and told of there."""
        built = self.built(position["vehicle_id"])
        if built is None or built.earliest == BEGINNING or built.latest == END:
            return None
        seen = row["seen_on"]
        try:
            fit, out = resolve(
                row["fitted"], read_day(seen.edtf).toordinal() if seen else None, row["removed"], built
            )
        except ImpossibleDates as wrong:
            return Problem(
                "installations",
                row["_key"],
                wrong.column,
                row[wrong.column].text if row[wrong.column] else "",
                str(wrong),
            )
        return Stay(row, fit, out)

    def doubles(
        self, resolved: Mapping[str, Stay], groups: Mapping[str, list[Row]], column: str, sentence: str
    ) -> Iterator[Problem]:
        """Two installations, stand-ins aside, that are both definite on one day: definite from fitted.latest until
        removed.earliest."""
        for rows in groups.values():
            certain = []
            for row in rows:
                stay = resolved.get(row["_key"])
                if stay is None or row["temporary"]:
                    continue
                start, end = stay.fitted.latest, END if stay.removed is None else stay.removed.earliest
                if start < end and start != END:
                    certain.append((start, end, row))
            certain.sort(
                key=lambda item: (
                    item[0],
                    item[1],
                    item[2]["_key"] in self.touched["installations"],
                    item[2]["_key"],
                )
            )
            for (_, end, first), (start, _, second) in pairwise(certain):
                if start < end:
                    row = second if second["_key"] in self.touched["installations"] else first
                    other = first if row is second else second
                    what = "part_id" if column == "position_id" else "position_id"
                    name = self.register.code("parts" if what == "part_id" else "positions", other[what])
                    yield Problem(
                        "installations",
                        row["_key"],
                        column,
                        row[column],
                        f"{sentence} on the same day (the other is {name}). Date the removal of one, or mark a stand-in temporary.",
                    )

    # --- parts and their assessments --------------------------------------------------------------------------

    def parts(self) -> Iterator[Problem]:
        treated = {
            row["part_id"] for row in self.tables["treatments"].values() if row["part_id"] in self.part_keys
        }
        accepted: dict[tuple[str, str], Row] = {}
        for row in self.tables["assessments"].values():
            if row["part_id"] not in self.part_keys or row["state"] != "accepted":
                continue
            if (
                row["status"] == "restored"
                and row["fraction"] is None
                and row["part_id"] not in treated
                and ("assessments", row["_key"]) not in self.unread
            ):
                yield Problem(
                    "assessments",
                    row["_key"],
                    "fraction",
                    "",
                    "a restored part needs the fraction that survives, or treatments that give it.",
                )
            day = row["part_id"], row["assessed_on"].edtf
            if day in accepted:
                newer = max((accepted[day], row), key=lambda one: one["_key"] in self.touched["assessments"])
                yield Problem(
                    "assessments",
                    newer["_key"],
                    "assessed_on",
                    row["assessed_on"].text,
                    "the part has two accepted assessments on that day; withdraw one.",
                )
            accepted[day] = row
        for key in self.part_keys:
            part = self.tables["parts"].get(key)
            if part and part["disposal"] != "none":
                yield from self.disposed(part)

    def disposed(self, part: Row) -> Iterator[Problem]:
        if part["disposal_date"] is None:
            yield Problem(
                "parts",
                part["_key"],
                "disposal_date",
                "",
                f"it is {part['disposal']}: say when, even roughly.",
            )
            return
        gone = span_of(part["disposal_date"].edtf)
        for row in self.by_part.get(part["_key"], ()):
            stay = self.resolved.get(row["_key"])
            if stay is None:
                continue
            where = self.register.code("positions", row["position_id"])
            if stay.removed is None:
                yield Problem(
                    "parts",
                    part["_key"],
                    "disposal",
                    part["disposal"],
                    f"it is still fitted in {where}; give that installation its removal date.",
                )
            elif gone.latest < stay.removed.earliest:
                yield Problem(
                    "parts",
                    part["_key"],
                    "disposal_date",
                    part["disposal_date"].text,
                    f"that is before it was removed from {where} ({row['removed'].text}).",
                )

    # --- citations, movements, tags ---------------------------------------------------------------------------

    def citations(self, drafts: set[str]) -> Iterator[Problem]:
        named = [row for row in self.rows("citations") if row["assessed_on"] is not None]
        if not named:
            return
        parts = {row["part_id"] for row in named}
        days = {
            (row["part_id"], row["assessed_on"].edtf)
            for rows in (self.tables["assessments"], self.register.drafts)
            for row in rows.values()
            if row["part_id"] in parts
        }
        for row in named:
            if (row["part_id"], row["assessed_on"].edtf) not in days:
                yield Problem(
                    "citations",
                    row["_key"],
                    "assessed_on",
                    row["assessed_on"].text,
                    "the part has no assessment of that day.",
                )

    def movements(self) -> Iterator[Problem]:
        for row in self.rows("movements"):
            if row["place_id"] and row["with_part"]:
                yield Problem(
                    "movements",
                    row["_key"],
                    "with_part",
                    row["with_part"],
                    "a part goes to a place or lies with another part: give one of place_id and with_part.",
                )
        if not any(row["with_part"] for row in self.rows("movements")):
            return
        latest: dict[str, Row] = {}
        for row in self.tables["movements"].values():
            known = latest.get(row["part_id"])
            if known is None or span_of(row["moved_on"].edtf).best >= span_of(known["moved_on"].edtf).best:
                latest[row["part_id"]] = row
        lies_with = {part: row["with_part"] for part, row in latest.items() if row["with_part"]}
        moved = {row["part_id"] for row in self.rows("movements")}
        for part in cyclic(lies_with, moved):
            yield Problem(
                "movements",
                latest[part]["_key"],
                "with_part",
                lies_with[part],
                "a cycle: the part would lie with itself.",
            )

    def tags(self) -> Iterator[Problem]:
        given = {name: [row for row in self.rows(name) if row["tag"]] for name in TAGGED}
        if not any(given.values()):
            return
        owners: dict[str, tuple[str, str]] = {}
        for name in TAGGED:
            for row in self.tables[name].values():
                if not row["tag"]:
                    continue
                other = owners.setdefault(row["tag"], (name, row["_key"]))
                if other != (name, row["_key"]):
                    at = (
                        (name, row)
                        if row["_key"] in self.touched[name]
                        else (other[0], self.tables[other[0]][other[1]])
                    )
                    yield Problem(
                        at[0],
                        at[1]["_key"],
                        "tag",
                        row["tag"],
                        "that tag is taken; leave it empty and one is made.",
                    )

    def twins(self) -> Iterator[Problem]:
        """A row that a change would make the twin of another: the same natural key twice."""
        from register.exchange.records import natural_key

        for name, table in TABLES.items():
            if not table.row_id or not self.touched.get(name):
                continue
            keys = {natural_key(table, self.tables[name][key]) for key in self.touched[name]}
            owners: dict[tuple[Any, ...], str] = {}
            for key, row in self.tables[name].items():
                natural = natural_key(table, row)
                if (
                    (name, key) not in self.unread
                    and natural in keys
                    and owners.setdefault(natural, key) != key
                ):
                    at = key if key in self.touched[name] else owners[natural]
                    yield Problem(
                        name,
                        at,
                        table.key[0],
                        row[table.key[0]],
                        f"it would become the twin of another {table.noun}: same {', '.join(table.key)}.",
                    )


def cyclic(parents: Mapping[str, str | None], starts: Iterable[str]) -> list[str]:
    """Those of ``starts`` that lie on a cycle of the parent relation."""
    settled: set[str] = set()
    found: list[str] = []
    for start in sorted(starts):
        path: list[str] = []
        on_path: set[str] = set()
        key: str | None = start
        while key is not None and key not in settled and key not in on_path:
            path.append(key)
            on_path.add(key)
            key = parents.get(key)
        if key is not None and key in on_path:
            found.extend(one for one in path[path.index(key) :] if one not in found)
        settled |= on_path
    return found
