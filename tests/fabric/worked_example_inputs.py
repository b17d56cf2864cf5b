"""The tables of tests/worked_example as inputs of the core, read straight from the CSV files."""

from __future__ import annotations

import csv
from pathlib import Path

from register.fabric.dates import Span, read_date, read_day, span_of
from register.fabric.evidence import Citation, strength
from register.fabric.inputs import (
    GRADES,
    Assessment,
    Installation,
    Part,
    Position,
    Reference,
    Treatment,
    Vehicle,
    VehicleInputs,
)
from register.fabric.interval import Interval
from register.fabric.occupancy import resolve
from register.fabric.quantities import read_fraction, read_mass

FOLDER = Path(__file__).parents[1] / "worked_example"


def table(name: str) -> list[dict[str, str]]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def worked_example(vehicle_id: str) -> VehicleInputs:
    """The inputs of BRIN or GRUM. ``original to`` blank: the one vehicle in which the part has been."""
    vehicle = next(row for row in table("vehicles") if row["vehicle_id"] == vehicle_id)
    vehicles = {row["vehicle_id"]: row for row in table("vehicles")}
    home = {row["position_id"]: row["vehicle_id"] for row in table("positions")}
    fitted = table("installations")
    own = {row["part_id"] for row in fitted if home[row["position_id"]] == vehicle_id}
    return VehicleInputs(
        vehicle=Vehicle(vehicle_id.lower(), _span(vehicle["built"]), _mass(vehicle["empty_mass"])),
        references=tuple(
            Reference(row["label"], read_date(row["date"]).edtf, _span(row["date"]), row["default"] != "no")
            for row in table("reference_periods")
            if row["vehicle_id"] == vehicle_id
        ),
        positions={
            row["position_id"].lower(): _position(row)
            for row in table("positions")
            if row["vehicle_id"] == vehicle_id
        },
        parts={row["part_id"].lower(): _part(row) for row in table("parts") if row["part_id"] in own},
        installations=tuple(
            _installation(row, vehicles[home[row["position_id"]]]) for row in fitted if row["part_id"] in own
        ),
        assessments={
            row["part_id"].lower(): _assessment(row, fitted, home)
            for row in table("assessments")
            if row["part_id"] in own and row["state"] in ("accepted", "")
        },
        treatments={
            part.lower(): tuple(_treatment(row) for row in table("treatments") if row["part_id"] == part)
            for part in own
        },
    )


def _position(row: dict[str, str]) -> Position:
    design = _trio(row, "design_mass", _mass)
    return Position(
        row["position_id"].lower(),
        row["vehicle_id"].lower(),
        row["visibility"],
        GRADES.get(row["significance"]),
        row["wear_part"] == "yes",
        design,
    )


def _part(row: dict[str, str]) -> Part:
    disposed = _span(row["disposal_date"]) if row["disposal_date"] else None
    return Part(row["part_id"].lower(), _trio(row, "mass", _mass), row["disposal"], disposed)


def _installation(row: dict[str, str], vehicle: dict[str, str]) -> Installation:
    start, end = resolve(
        read_date(row["fitted"], as_built=True) if row["fitted"] else None,
        read_day(row["seen_on"]).toordinal() if row["seen_on"] else None,
        read_date(row["removed"]) if row["removed"] else None,
        _span(vehicle["built"]),
    )
    return Installation(
        row["position_id"].lower(),
        row["part_id"].lower(),
        vehicle["vehicle_id"].lower(),
        start,
        end,
        row["temporary"] == "yes",
        row["visibility"],
    )


def _assessment(row: dict[str, str], fitted: list[dict[str, str]], home: dict[str, str]) -> Assessment:
    part = row["part_id"]
    been_in = {
        home[one["position_id"]] for one in fitted if one["part_id"] == part and one["temporary"] != "yes"
    }
    return Assessment(
        part.lower(),
        read_day(row["assessed_on"]).toordinal(),
        row["status"],
        (row["original_to"] or "".join(been_in)).lower(),
        _span(row["original_since"]) if row["original_since"] else None,
        _trio(row, "fraction", _fraction),
        *strength(_citations(part)),
    )


def _citations(part: str) -> list[Citation]:
    sources = {row["source_id"]: row for row in table("sources")}
    return [
        Citation(sources[row["source_id"]]["kind"], row["source_id"], bool(sources[row["source_id"]]["date"]),
                 row["supports"] != "no")
        for row in table("citations")
        if row["part_id"] == part
    ]  # fmt: skip


def _treatment(row: dict[str, str]) -> Treatment:
    replaced = _trio(row, "replaced", _fraction)
    assert replaced is not None
    return Treatment(row["part_id"].lower(), _span(row["date"]), replaced)


def _span(text: str) -> Span:
    return span_of(read_date(text).edtf)


def _mass(text: str) -> Interval | None:
    return read_mass(text) if text else None


def _fraction(text: str) -> Interval | None:
    return Interval.exactly(read_fraction(text)) if text else None


def _trio(row: dict[str, str], column: str, read: type[Interval] | object) -> Interval | None:
    """Low, best and high from their three columns: exchange format, "a single mass or fraction"."""
    low, best, high = (read(row[name]) for name in (f"{column}_low", column, f"{column}_high"))
    if low is None and high is None:
        return best
    if best is None:
        assert low is not None and high is not None
        return Interval(low.low, (low.low + high.high + 1) // 2, high.high)
    return Interval(low.low if low else best.low, best.best, high.high if high else best.high)
