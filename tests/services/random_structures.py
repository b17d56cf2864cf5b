"""Registers drawn at random for the laws of structure, as change sets of texts: parts that come, go, come back and
leave doubts, in two vehicles, with or without masses, assessments, treatments and evidence.

What the rules of the register refuse is not drawn: a stay that would be refused is left out.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

from builders import changes_of
from hypothesis import strategies as st

from register.exchange.overlay import overlay
from register.exchange.records import Register
from register.fabric.figures import figures_on
from register.fabric.survival import survival
from register.services.inputs import inputs_from

BEGINS = ("as built", "1894", "1905", "1 May 1905", "c. 1905", "between 1903 and 1907", "before 1907", "1912", "1920s")
ENDS = ("", "", "", "1905", "1 May 1905", "between 1903 and 1907", "c. 1912", "1912", "1920s", "1931")
MASSES = (
    {"mass": "60 kg"}, {"mass": "60 kg"}, {"mass_low": "50 kg", "mass": "60 kg", "mass_high": "75 kg"},
    {"mass_low": "0 kg", "mass": "0.007 kg", "mass_high": "11 kg"}, {"mass": "0.002 kg"}, {"mass": "1 ton ±5%"}, {"mass": "0 kg"}, {},
)  # fmt: skip
SHARES = ({}, {"fraction": "0.5"}, {"fraction_low": "0.3", "fraction": "0.6", "fraction_high": "0.9"})
STATUSES = ("original", "restored", "replica", "modern substitute")
POSITIONS = ("A", "B", "C", "X")
YEARS = [1894, 1903, 1904, 1905, 1906, 1907, 1908, 1911, 1912, 1914, 1919, 1921, 1925, 1930, 1931, 1932, 2024]
DAYS = [date(year, month, 3).toordinal() for year in YEARS for month in (1, 7)]


@st.composite
def registers(draw: st.DrawFn) -> Register:
    """Two engines, four positions, up to four parts: P1 is always there."""
    register = Register()
    built = draw(st.sampled_from(["1894", "between 1893 and 1895"]))
    tables: dict[str, list[dict[str, str]]] = {
        "vehicles": [
            {"vehicle_id": "L1", "name": "Larkspur", "kind": "locomotive", "built": built, **draw(st.sampled_from([{}, {"empty_mass": "2 t ±10%"}]))},
            {"vehicle_id": "L2", "name": "Lapwing", "kind": "locomotive", "built": "1890"},
        ],
        "positions": [draw(_position(code)) for code in POSITIONS],
        "parts": [{"part_id": f"P{at}", "name": f"part {at}", "quantity": str(draw(st.sampled_from([2, 3, 6]))), **draw(st.sampled_from(MASSES))}
                  for at in range(1, draw(st.integers(2, 5)))],
        "sources": [{"source_id": "S1", "kind": "mark", "title": "stamp"}, {"source_id": "S2", "kind": "testimony", "title": "said"},
                    {"source_id": "S3", "kind": "photograph", "title": "picture", "date": "1911"}],
    }  # fmt: skip
    if draw(st.booleans()):
        tables["reference_periods"] = [{"vehicle_id": "L1", "label": "as rebuilt", "date": "1905"}]
    register = laid(register, tables)
    parts = [row["part_id"] for row in tables["parts"]]
    for _ in range(draw(st.integers(1, 7))):
        register = _with(register, "installations", draw(_stay(parts)))
    for part in parts:
        gone = draw(st.sampled_from(["none", "none", "scrapped", "transferred"]))
        register = _with(register, "parts", {"part_id": part, "disposal": gone, "disposal_date": "" if gone == "none" else "1950"})
        if draw(st.booleans()):
            register = _with(register, "treatments", {"part_id": part, "date": draw(st.sampled_from(["1906", "c. 1912", "1920s"])), "work": "patched", "replaced": "0.2"})
        for day in draw(st.sampled_from([(), ("2020-05-01",), ("1913-02-03", "2020-05-01")])):
            register = _with(register, "assessments", draw(_assessment(part, day)))
        for source in draw(st.sets(st.sampled_from(["S1", "S2", "S3"]))):
            register = _with(register, "citations", {"part_id": part, "source_id": source, "supports": draw(st.sampled_from(["yes", "yes", "no"]))})
    return register


def laid(register: Register, tables: dict[str, list[dict[str, str]]]) -> Register:
    result = overlay(register, changes_of(tables))
    assert not result.faults, [str(fault) for fault in result.faults]
    return numbered(result.register)


def numbered(register: Register) -> Register:
    """New rows with numbers of their own, as the database gives them, so that a second change set can follow."""
    for name, rows in register.tables.items():
        new = [key for key in rows if key.startswith("new:")]
        for key in new:
            number = f"n{name[:3]}{len(rows)}-{key[4:]}-{sum(len(one) for one in register.tables.values())}"
            while number in rows:
                number += "x"
            row = rows.pop(key)
            rows[number] = row | {"_key": number, "_code": number}
    return register


def _with(register: Register, table: str, texts: dict[str, str]) -> Register:
    """With one row more, or as it was where the rules refuse the row."""
    result = overlay(register, changes_of({table: [texts]}))
    return register if result.faults else numbered(result.register)


@st.composite
def _position(draw: st.DrawFn, code: str) -> dict[str, str]:
    return {
        "position_id": code,
        "vehicle_id": "L2" if code == "X" else "L1",
        "name": code,
        "visibility": draw(st.sampled_from(["in view", "close inspection", "hidden"])),
        "wear_part": draw(st.sampled_from(["no", "no", "no", "yes"])),
        "significance": draw(st.sampled_from(["", "some", "exceptional"])),
        "design_mass": draw(st.sampled_from(["", "", "33 kg", "20-50 kg"])),
    }


@st.composite
def _stay(draw: st.DrawFn, parts: list[str]) -> dict[str, str]:
    begins = draw(st.sampled_from([*BEGINS, ""]))
    seen = draw(st.sampled_from(["", "", "1904-06-01", "1911-02-03"])) if begins else "1904-06-01"
    return {
        "position_id": draw(st.sampled_from(POSITIONS)),
        "part_id": draw(st.sampled_from(["P1", *parts])),
        "fitted": begins,
        "seen_on": seen,
        "removed": draw(st.sampled_from(ENDS)),
        "temporary": draw(st.sampled_from(["no"] * 5 + ["yes"])),
        "visibility": draw(st.sampled_from(["", "", "hidden"])),
    }


@st.composite
def _assessment(draw: st.DrawFn, part: str, day: str) -> dict[str, str]:
    return {
        "part_id": part,
        "assessed_on": day,
        "status": draw(st.sampled_from(STATUSES)),
        "original_to": draw(st.sampled_from(["L1", "L1", "L2"])),
        "original_since": draw(st.sampled_from(["", "", "1905", "c. 1905"])),
        **draw(st.sampled_from(SHARES)),
    }


def mass_account(register: Register, days: list[int]) -> dict[Any, Any]:
    """Every figure by mass that must not move: of both vehicles, on these days, against every reference, at every
    evidence floor, wear parts in or out, by visibility and of the whole vehicle, and the survival shares."""
    found: dict[Any, Any] = {}
    for vehicle in register.tables["vehicles"]:
        inputs = inputs_from(register, vehicle)
        for reference in inputs.references:
            for day in days:
                for floor, wear in ((0, False), (2, True), (3, False)):
                    answer = figures_on(inputs, day=day, reference=reference, bases=("mass",), evidence_floor=floor, include_wear=wear)["mass"]
                    said = {"all": answer.whole, **answer.by_visibility}
                    at = (vehicle, reference.label, date.fromordinal(day).isoformat(), floor, wear)
                    found[at] = {name: _said(one) for name, one in said.items()}, answer.whole_vehicle
                if day >= reference.span.latest:
                    kept = survival(inputs, day=day, reference=reference, basis="mass")
                    found[vehicle, reference.label, day, "survival"] = (kept.weight, kept.low, kept.high, kept.shares)
    return found


def _said(one: Any) -> tuple[Fraction | None, ...]:
    return one.best, one.low, one.high, one.weight, one.assessed_share, tuple(one.composition.values())
