"""What the public may read of the register, as a register of its own: private rows left out, stubs where a figure
depends on them. Public pages and public exports are made from this one function."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from register.exchange.records import DEFAULTS, Register, Row
from register.exchange.schema import ORDER, TABLES
from register.policy import PUBLIC_COLUMNS
from register.services.photographs import copy_path

NOT_PUBLISHED = "not published"


def public_register(register: Register) -> Register:
    """The public part. Fixed by PUBLIC_COLUMNS and by what is published, in the fleet's own words."""
    return _Public(register).made


def only_public(name: str, row: Row) -> Row:
    """The row with its private columns emptied."""
    table, allowed = TABLES[name], set(PUBLIC_COLUMNS[name])
    defaults = DEFAULTS[name]
    clean: Row = {
        column.name: row[column.name] if column.name in allowed else defaults.get(column.name)
        for column in table.columns
    }
    return clean | {"_key": row["_key"], "_code": row["_code"], "_act": 0, "_from_draft": False}


def stub(name: str, row: Row, keep: tuple[str, ...]) -> Row:
    """Id and kind, and "not published" for a name: that something is there, and no more."""
    table, defaults = TABLES[name], DEFAULTS[name]
    clean: Row = {
        column.name: row[column.name] if column.name in keep else defaults.get(column.name)
        for column in table.columns
    }
    for title in ("name", "title"):
        if title in clean:
            clean[title] = NOT_PUBLISHED
    return clean | {"_key": row["_key"], "_code": row["_code"], "_act": 0, "_from_draft": False}


class _Public:
    def __init__(self, register: Register) -> None:
        self.all = register.tables
        self.made = Register(change_no=register.change_no, register_id=register.register_id)
        self.vehicles = {key for key, row in self.all["vehicles"].items() if row["published"]}
        self.positions = {
            key for key, row in self.all["positions"].items() if row["vehicle_id"] in self.vehicles
        }
        self.parts = {
            row["part_id"]
            for row in self.all["installations"].values()
            if row["position_id"] in self.positions
        }
        self.open_parts = {key for key in self.parts if self.all["parts"][key]["access"] == "public"}
        self.put("vehicles", self.vehicles)
        self.put(
            "reference_periods",
            self.having("reference_periods", lambda row: row["vehicle_id"] in self.vehicles),
        )
        self.put("positions", self.positions)
        self.put("parts", self.open_parts)
        for key in self.parts - self.open_parts:
            self.made.tables["parts"][key] = stub("parts", self.all["parts"][key], ("part_id",)) | {
                "access": "restricted"
            }
        self.installations()
        self.put(
            "assessments",
            self.having(
                "assessments", lambda row: row["part_id"] in self.open_parts and row["state"] == "accepted"
            ),
        )
        self.put("treatments", self.having("treatments", lambda row: row["part_id"] in self.open_parts))
        for row in self.made.tables["assessments"].values():
            self.vehicle_stub(row["original_to"])
        self.evidence()
        self.events()
        self.whereabouts()
        self.photographs()
        self.people()
        self.drop_dangling()

    def having(self, name: str, test: Callable[[Row], bool]) -> set[str]:
        return {key for key, row in self.all[name].items() if test(row)}

    def put(self, name: str, keys: set[str]) -> None:
        rows = self.all[name]
        self.made.tables[name] = {key: only_public(name, rows[key]) for key in rows if key in keys}

    def vehicle_stub(self, key: str | None) -> None:
        if key and key not in self.made.tables["vehicles"]:
            row = self.all["vehicles"][key]
            self.made.tables["vehicles"][key] = stub(
                "vehicles", row, ("vehicle_id", "kind", "built", "in_fleet")
            )

    def installations(self) -> None:
        self.put("installations", self.having("installations", lambda row: row["part_id"] in self.parts))
        for row in self.made.tables["installations"].values():
            key = row["position_id"]
            if key not in self.made.tables["positions"]:
                position = self.all["positions"][key]
                self.made.tables["positions"][key] = stub(
                    "positions", position, ("position_id", "vehicle_id", "visibility")
                )
                self.vehicle_stub(position["vehicle_id"])

    def evidence(self) -> None:
        self.put(
            "citations",
            self.having(
                "citations", lambda row: row["part_id"] in self.open_parts and self.not_of_a_draft(row)
            ),
        )
        cited = {row["source_id"] for row in self.made.tables["citations"].values()}
        for key in sorted(cited):
            source = self.all["sources"][key]
            if source["access"] == "public":
                self.made.tables["sources"][key] = only_public("sources", source)
            else:
                self.made.tables["sources"][key] = stub("sources", source, ("source_id", "kind")) | {
                    "access": "restricted"
                }
        seen: set[tuple[Any, ...]] = set()
        for key, row in list(self.made.tables["citations"].items()):
            if self.all["sources"][row["source_id"]]["access"] != "public":
                row["locator"] = None
                twin = (row["part_id"], row["source_id"], row["supports"])
                if twin in seen:
                    del self.made.tables["citations"][key]
                seen.add(twin)

    def not_of_a_draft(self, row: Row) -> bool:
        """Whether a citation belongs to an accepted assessment."""
        if not hasattr(self, "accepted_days"):
            accepted = [one for one in self.all["assessments"].values() if one["state"] == "accepted"]
            self.accepted_days = {(one["part_id"], one["assessed_on"].edtf) for one in accepted}
            self.accepted_parts = {one["part_id"] for one in accepted}
        if row["assessed_on"] is None:
            return row["part_id"] in self.accepted_parts
        return (row["part_id"], row["assessed_on"].edtf) in self.accepted_days

    def events(self) -> None:
        self.put(
            "events",
            self.having(
                "events", lambda row: row["vehicle_id"] in self.vehicles and row["access"] == "public"
            ),
        )
        for row in self.made.tables["events"].values():
            key = row["source_id"]
            if key and self.all["sources"][key]["access"] == "public":
                self.made.tables["sources"].setdefault(key, only_public("sources", self.all["sources"][key]))
            elif key:
                row["source_id"] = row["reference"] = None

    def whereabouts(self) -> None:
        open_places = self.having("places", lambda row: row["access"] == "public")
        self.put("places", open_places)
        self.put(
            "movements",
            self.having(
                "movements",
                lambda row: row["part_id"] in self.open_parts and (row["place_id"] in open_places),
            ),
        )

    def photographs(self) -> None:
        sources = {key for key, row in self.made.tables["sources"].items() if row["title"] != NOT_PUBLISHED}

        def shown(row: Row) -> bool:
            of_it = [
                (row["vehicle_id"], self.vehicles),
                (row["part_id"], self.open_parts),
                (row["source_id"], sources),
            ]
            return (
                row["access"] == "public"
                and any(key for key, _ in of_it)
                and all(key in public for key, public in of_it if key)
            )

        for key in sorted(self.having("photographs", shown)):
            original = self.all["photographs"][key]
            copy = copy_path(original["sha256"], "large")
            if copy.is_file():
                import hashlib

                clean = only_public("photographs", original)
                clean["_sha256"], clean["file"] = (
                    original["sha256"],
                    f"photographs/{original['sha256'][:16]}.webp",
                )
                clean["sha256"] = hashlib.sha256(copy.read_bytes()).hexdigest()
                self.made.tables["photographs"][key] = clean

    def people(self) -> None:
        """Persons who agreed to be named, under the name they agreed to."""
        for key, row in self.all["people"].items():
            if row["public_as"]:
                self.made.tables["people"][key] = only_public("people", row) | {"name": row["public_as"]}

    def drop_dangling(self) -> None:
        """References to what was left out are emptied; ``with_part`` and parents among them."""
        for name in ORDER:
            for column in TABLES[name].columns:
                to = column.to if column.kind == "ref" else "people" if column.kind == "person" else ""
                if not to:
                    continue
                for row in self.made.tables[name].values():
                    if row[column.name] is not None and row[column.name] not in self.made.tables[to]:
                        row[column.name] = None
