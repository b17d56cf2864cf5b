"""The rows that a statement of one vehicle rests on, cut out of the register and closed: whatever a row refers to is there
too, so that the cut reads, and computes, without the rest."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from register.exchange.records import Register, target_table
from register.exchange.schema import ORDER, TABLES
from register.exchange.values import key_of
from register.models import Installation, Movement, Position
from register.services.loading import Scope, load_register


def cut_of(vehicle: str, steps: Iterable[Mapping[str, str]] = ()) -> Register:
    """The rows about a vehicle (its key), in a fixed number of queries and a few more for positions that lie deep in
    other vehicles. Drafts are left out: they count nowhere. steps: of open proposals, whose parts, positions and places
    are taken too, so that their effect can be worked out from the cut."""
    listed = list(steps)
    named = {
        name: {key_of(step[column]) for step in listed if column in step}
        for name, column in (("parts", "part_id"), ("positions", "position_id"), ("places", "place_id"))
    }
    here = Installation.objects.filter(position__vehicle=vehicle).values("part")
    stays = Installation.objects.filter(part__in=here).values_list("position", "position__vehicle")
    elsewhere = {position for position, of in stays if of != vehicle}
    rivals = set(
        Installation.objects.filter(position__in=elsewhere, temporary=False).values_list("part", flat=True)
    )
    with_parts = set(
        Movement.objects.filter(part__in=here, with_part__isnull=False).values_list("with_part", flat=True)
    )
    stood = set(Installation.objects.filter(part__in=named["parts"]).values_list("position", flat=True))
    scope = Scope(
        {vehicle},
        named["parts"],
        {
            "positions": _with_parents(elsewhere | stood | named["positions"]),
            "parts": rivals | with_parts | named["parts"],
        },
    )
    return _Cut(load_register(scope), vehicle, named).made


def _with_parents(positions: set[str]) -> set[str]:
    found, waiting = set(positions), set(positions)
    parents: Iterable[str | None]
    while waiting:
        parents = Position.objects.filter(key__in=waiting, parent__isnull=False).values_list(
            "parent", flat=True
        )
        waiting = {key for key in parents if key} - found
        found |= waiting
    return found


class _Cut:
    def __init__(self, register: Register, vehicle: str, named: Mapping[str, set[str]]) -> None:
        self.all, self.vehicle = register.tables, vehicle
        self.made = Register(change_no=register.change_no, register_id=register.register_id)
        self.take("vehicles", [vehicle])
        self.take_where("reference_periods", "vehicle_id", {vehicle})
        self.take_where("positions", "vehicle_id", {vehicle})
        positions = set(self.made.tables["positions"])
        parts = {
            row["part_id"] for row in self.all["installations"].values() if row["position_id"] in positions
        }
        parts |= named["parts"] & self.all["parts"].keys()
        self.parts = parts
        self.take("positions", named["positions"])
        self.take("places", named["places"])
        self.take("parts", parts)
        self.installations(parts)
        for name in ("assessments", "treatments", "citations", "movements"):
            self.take_where(name, "part_id", parts)
        self.take_where("events", "vehicle_id", {vehicle})
        self.close()
        self.photographs()
        self.close()

    def take(self, name: str, keys: Iterable[str]) -> None:
        rows = self.all[name]
        self.made.tables[name] |= {key: rows[key] for key in keys if key in rows}

    def take_where(self, name: str, column: str, values: set[str]) -> None:
        self.take(name, [key for key, row in self.all[name].items() if row[column] in values])

    def installations(self, parts: set[str]) -> None:
        """Of its parts anywhere, and of the parts that were in those places elsewhere: survival asks who was there."""
        rows = self.all["installations"]
        elsewhere = {row["position_id"] for row in rows.values() if row["part_id"] in parts}
        self.take(
            "installations",
            [
                key
                for key, row in rows.items()
                if row["part_id"] in parts or (row["position_id"] in elsewhere and not row["temporary"])
            ],
        )

    def photographs(self) -> None:
        sources = self.made.tables["sources"]

        def is_of_it(row: dict[str, Any]) -> bool:
            return (
                row["vehicle_id"] == self.vehicle or row["part_id"] in self.parts or row["source_id"] in sources
            )

        self.take("photographs", [key for key, row in self.all["photographs"].items() if is_of_it(row)])

    def close(self) -> None:
        """Take whatever is referred to, until nothing is missing."""
        waiting = True
        while waiting:
            waiting = False
            for name in ORDER:
                for column in TABLES[name].columns:
                    if to := target_table(column):
                        held = self.made.tables[to]
                        wanted = {row[column.name] for row in self.made.tables[name].values()} - {None}
                        missing = (wanted - held.keys()) & self.all[to].keys()
                        if missing:
                            self.take(to, missing)
                            waiting = True
