"""Registers of any size, made from a seed: plausible in shape (occupancies, doubts, treatments), meaningless in words.

The same seed gives the same register on every machine.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

Tables = dict[str, list[dict[str, str]]]
STATUSES = ("original", "original", "original", "restored", "replica", "modern substitute")
VISIBILITIES = ("in view", "close inspection", "hidden")
GRADES = ("exceptional", "considerable", "some", "some", "little", "intrusive", "")

HEAVIEST = 900_000
"""Kilograms: the register believes no vehicle of more than 1,000 tonnes."""


def register(positions: int, *, vehicles: int = 1, seed: int = 1) -> Tables:
    """``vehicles`` vehicles of ``positions`` positions each; about 1.3 installations a position."""
    rng = random.Random(seed)
    tables: Tables = {name: [] for name in ("vehicles", "reference_periods", "positions", "parts", "sources", "installations", "assessments", "treatments", "citations")}
    tables["sources"] = [{"source_id": f"S{number}", "kind": kind, "title": f"paper {number}", "date": "1931"} for number, kind in enumerate(("mark", "drawing", "photograph", "testimony", "inference"))]
    for number in range(vehicles):
        _vehicle(tables, f"V{number}", positions, rng)
    return tables


def _vehicle(tables: Tables, vehicle: str, positions: int, rng: random.Random) -> None:
    tables["vehicles"].append({"vehicle_id": vehicle, "name": f"Engine {vehicle}", "kind": "locomotive", "built": "1894", "heritage_from": "1968", "empty_mass": f"{min(positions * 60, HEAVIEST)} kg ±5%"})
    tables["reference_periods"] += [{"vehicle_id": vehicle, "label": "as built", "date": "as built", "default": "yes"},
                                    {"vehicle_id": vehicle, "label": "as rebuilt", "date": "1912-06", "default": "no"}]
    assemblies = max(1, positions // 40)
    for number in range(assemblies):
        tables["positions"].append({"position_id": f"{vehicle}-A{number}", "vehicle_id": vehicle, "name": f"assembly {number}", "visibility": "in view"})
    for number in range(positions - assemblies):
        place = f"{vehicle}-Q{number}"
        tables["positions"].append({
            "position_id": place, "vehicle_id": vehicle, "parent_id": f"{vehicle}-A{number % assemblies}", "name": f"place {number}", "visibility": rng.choice(VISIBILITIES),
            "significance": rng.choice(GRADES), "wear_part": "yes" if rng.random() < 0.05 else "no"})
        for order, (fitted, removed) in enumerate(_stays(rng)):
            _part(tables, place, f"{vehicle}-P{number}.{order}", vehicle, fitted, removed, rng)


def _stays(rng: random.Random) -> Iterator[tuple[str, str]]:
    if rng.random() < 0.7:
        yield "as built", ""
        return
    change = rng.randint(1900, 2010)
    if rng.random() < 0.5:
        day = f"{change}-{rng.randint(1, 12):02}-{rng.randint(1, 28):02}"
        yield "as built", day
        yield day, ""
    else:
        yield "as built", f"{change}"
        yield f"[{change}..{change + 3}]", ""


def _part(tables: Tables, place: str, part: str, vehicle: str, fitted: str, removed: str, rng: random.Random) -> None:
    mass = rng.randint(1, 120)
    row = {"part_id": part, "name": f"part {part}", "mass": ""}
    if rng.random() < 0.97:
        row["mass"] = f"{mass} kg" if rng.random() < 0.5 else f"{mass} kg ±{rng.randint(1, 20)}%"
    tables["parts"].append(row)
    tables["installations"].append({"position_id": place, "part_id": part, "fitted": fitted, "removed": removed})
    if rng.random() < 0.08:
        return
    status = rng.choice(STATUSES)
    assessment = {"part_id": part, "assessed_on": f"2015-{rng.randint(1, 12):02}-01", "status": status, "original_to": vehicle, "fraction_low": "", "fraction": "", "fraction_high": ""}
    if status == "restored":
        best = rng.randint(20, 90) / 100
        assessment |= {"fraction_low": f"{best - 0.1:.2f}", "fraction": f"{best:.2f}", "fraction_high": f"{best + 0.1:.2f}"}
        if rng.random() < 0.5:
            tables["treatments"].append({"part_id": part, "date": f"{rng.randint(1920, 2020)}", "work": "patched", "replaced": f"{rng.randint(1, 30) / 100:.2f}"})
    tables["assessments"].append(assessment)
    tables["citations"].append({"part_id": part, "source_id": f"S{rng.randint(0, 4)}", "locator": f"p {rng.randint(1, 90)}"})
