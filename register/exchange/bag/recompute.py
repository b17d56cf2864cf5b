"""Work out the headline figures of a conservation statement again, from the CSV files beside this one alone.

    python3 recompute.py

needs Python 3.9 or later and nothing else: no database, no network, nothing installed. It follows sections 3 to 7 of the
method (version 1) as plainly as they are written, in exact fractions, and shares no code with the register. It reads the
folder ``read``: dates as days, masses in grams, shares in millionths. What was typed is in the folder ``tables``.
"""

from __future__ import annotations

import csv
import json
import sys
from datetime import date
from fractions import Fraction
from math import floor
from pathlib import Path
from typing import Any

Row = dict[str, str]
EPS = 10**18
"""Fractions that come of a division or a product are rounded to 1/10^18 (method, section 4 and 5)."""
FIRST, LAST = date.min, date.max
BASES = ("mass", "count", "significance")


def read(folder: Path, name: str) -> list[Row]:
    with (folder / f"{name}.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def day(text: str, blank: date) -> date:
    return date.fromisoformat(text) if text else blank


def trio(row: Row, name: str) -> tuple[int, int, int] | None:
    """(low, best, high) of the columns ``<name>_low`` and so on; None where they are empty."""
    best = row[f"{name}_best"]
    return (int(row[f"{name}_low"]), int(best), int(row[f"{name}_high"])) if best else None


def rounded(value: Fraction) -> Fraction:
    return Fraction(floor(value * EPS + Fraction(1, 2)), EPS)


def product(values: list[Fraction]) -> Fraction:
    found = Fraction(1)
    for value in values:
        found *= value
    return found


class Span:
    """The days that an event may have fallen on, and the best of them. ``read`` from three columns."""

    def __init__(self, row: Row, name: str) -> None:
        self.earliest = day(row[f"{name}_earliest"], FIRST)
        self.latest = day(row[f"{name}_latest"], LAST)
        self.best = day(row[f"{name}_best_day"], FIRST)


class Statement:
    """The rows of one statement, and the question that it answers."""

    def __init__(self, folder: Path) -> None:
        self.question = read(folder, "question")[0]
        self.day = date.fromisoformat(self.question["as_at"])
        self.reference, self.built = Span(self.question, "reference"), Span(self.question, "built")
        self.positions = {row["position_id"]: row for row in read(folder, "positions")}
        self.parts = {row["part_id"]: row for row in read(folder, "parts")}
        self.stays = [row for row in read(folder, "installations") if row["temporary"] == "no"]
        self.assessments = {row["part_id"]: row for row in read(folder, "assessments")}
        self.treatments: dict[str, list[Row]] = {}
        for row in read(folder, "treatments"):
            self.treatments.setdefault(row["part_id"], []).append(row)
        self.occupied = sorted(self.fitted().items())

    # --- section 3: what is fitted

    def possible(self, stay: Row) -> bool:
        out = Span(stay, "removed") if stay["removed"] == "yes" else None
        return Span(stay, "fitted").earliest <= self.day and (out is None or self.day < out.latest)

    def definite(self, stay: Row) -> bool:
        out = Span(stay, "removed") if stay["removed"] == "yes" else None
        return Span(stay, "fitted").latest <= self.day and (out is None or self.day < out.earliest)

    def best(self, stay: Row) -> bool:
        out = Span(stay, "removed") if stay["removed"] == "yes" else None
        return Span(stay, "fitted").best <= self.day and (out is None or self.day < out.best)

    def fitted(self) -> dict[str, list[Row]]:
        """By position, the installations that are possible, those aside that another certain one rules out."""
        certain = [stay for stay in self.stays if self.definite(stay)]
        found: dict[str, list[Row]] = {}
        for stay in self.stays:
            if stay["position_id"] in self.positions and self.possible(stay):
                ruled_out = any(
                    other is not stay
                    and (other["position_id"] == stay["position_id"] or other["part_id"] == stay["part_id"])
                    for other in certain
                )
                if not ruled_out:
                    found.setdefault(stay["position_id"], []).append(stay)
        return found

    # --- section 4: what survives of a part

    def shares(self, part: str, after: date | None, until: date) -> list[tuple[Fraction, Fraction, Fraction]]:
        found = []
        for row in self.treatments.get(part, []):
            when, given = Span(row, "date"), trio(row, "replaced")
            assert given is not None
            low, best, high = (Fraction(one, 10**6) for one in given)
            if (after is None or after < when.earliest) and when.latest <= until:
                found.append((low, best, high))
            elif when.earliest <= until and (after is None or when.latest > after):
                is_in = (after is None or after < when.best) and when.best <= until
                found.append((Fraction(0), best if is_in else Fraction(0), high))
        return found

    def surviving(self, part: str, on: date) -> tuple[Fraction, Fraction, Fraction]:
        row = self.assessments[part]
        fraction = trio(row, "fraction")
        given = tuple(Fraction(one, 10**6) for one in fraction) if fraction else (Fraction(1),) * 3
        since: date | None = date.fromisoformat(row["assessed_on"])
        if fraction is None and row["status"] == "restored":
            since = None
        if since is None or on >= since:
            done = self.shares(part, since, on)
            low = max(Fraction(0), given[0] - sum((one[2] for one in done), Fraction(0)))
            best = rounded(given[1] * product([1 - one[1] for one in done]))
            return low, best, min(given[2], 1 - max((one[0] for one in done), default=Fraction(0)))
        done = self.shares(part, None, on)
        best = max(given[1], rounded(product([1 - one[1] for one in done])))
        return given[0], best, max(given[2], 1 - max((one[0] for one in done), default=Fraction(0)))

    # --- section 5: what of it is original

    def original(self, part: str) -> tuple[Fraction, Fraction | None, Fraction]:
        row = self.assessments.get(part)
        if row is None:
            return Fraction(0), None, Fraction(1)
        nothing = Fraction(0), Fraction(0), Fraction(0)
        if row["status"] in ("replica", "modern substitute") or row["original_here"] != "yes":
            return nothing
        since = Span(row, "since") if row["since"] == "yes" else self.built
        if since.earliest > self.reference.latest:
            return nothing
        if self.day > self.reference.latest:
            now = self.surviving(part, self.day)
            then = (Fraction(1),) * 3
            if self.reference.earliest > since.latest:
                then = self.surviving(part, self.reference.latest)
            found = now[0], self.ratio(now[1], then[1]), self.ratio(now[2], then[0])
        else:
            found = Fraction(1), Fraction(1), Fraction(1)
        if since.latest <= self.reference.latest:
            return found
        return Fraction(0), found[1] if since.best <= self.reference.latest else Fraction(0), found[2]

    @staticmethod
    def ratio(part: Fraction, whole: Fraction) -> Fraction:
        return min(Fraction(1), rounded(part / whole)) if whole else Fraction(1)

    # --- section 6: what it weighs

    def weight(self, position: str, part: str, basis: str) -> tuple[int, int, int] | None:
        row = self.positions[position]
        if basis == "count":
            return 1, 1, 1
        if basis == "significance":
            return (int(row["grade"]),) * 3 if row["grade"] else None
        own = self.parts.get(part)
        return (trio(own, "mass") if own else None) or trio(row, "design_mass")

    # --- section 7: the figures

    def item(self, position: str, stays: list[Row], basis: str) -> tuple[Any, Any]:
        """(weight, original fraction) of an occupied position; the weight None where it has none on this basis."""
        weights = {stay["part_id"]: self.weight(position, stay["part_id"], basis) for stay in stays}
        if len(stays) == 1 and self.definite(stays[0]):
            part = stays[0]["part_id"]
            return weights[part], self.original(part)
        weighed = {part: weight for part, weight in weights.items() if weight is not None}
        if not weighed:
            return None, (Fraction(0), None, Fraction(1))
        best_ones = sorted(
            (stay for stay in stays if self.best(stay)),
            key=lambda stay: (-Span(stay, "fitted").best.toordinal(), stay["part_id"].lower()),
        )
        part = best_ones[0]["part_id"] if best_ones else ""
        originals = {one: self.original(one) for one in weighed}
        f = (
            min(one[0] for one in originals.values()),
            originals[part][1] if part in weighed else None,
            max(one[2] for one in originals.values()),
        )
        return (0, weighed[part][1] if part in weighed else None, max(one[2] for one in weighed.values())), f

    def figures(self, basis: str) -> dict[str, Any]:
        found, every, occupied = [], [], 0
        for position, stays in self.occupied:
            is_wear = self.positions[position]["wear"] == "yes"
            weight, f = self.item(position, stays, basis)
            if weight is not None:
                every.append(weight)
            if not is_wear:
                occupied += 1
                if weight is not None:
                    found.append((weight, f))
        with_best = [(w, f) for w, f in found if w[1] is not None]
        assessed = [(w, f) for w, f in with_best if f[1] is not None]
        total, known = sum(w[1] for w, _ in with_best), sum(w[1] for w, _ in assessed)
        low, high = bounds(found)
        return {
            "basis": basis,
            "best": six(Fraction(100) * sum(w[1] * f[1] for w, f in assessed) / known if known else None),
            "low": six(low),
            "high": six(high),
            "assessed_share": six(Fraction(100 * known, total) if total else None),
            "items": occupied,
            "unweighted": occupied - len(found),
            "whole_vehicle": self.whole(found, every) if basis == "mass" else None,
        }

    def whole(self, found: list[Any], every: list[Any]) -> dict[str, Any] | None:
        """The bounds with one more item for what is not listed, up to the empty mass."""
        empty = trio(self.question, "empty_mass")
        if empty is None:
            return None
        least = max(0, empty[0] - sum(w[2] for w in every))
        most = max(0, empty[2] - sum(w[0] for w in every))
        low, high = bounds([*found, ((least, None, most), (Fraction(0), None, Fraction(1)))])
        listed = sum(w[1] for w in every if w[1] is not None)
        return {
            "low": six(low),
            "high": six(high),
            "mass_accounted_for": six(Fraction(100 * listed, empty[1]) if empty[1] else None),
        }


def bounds(items: list[Any]) -> tuple[Fraction | None, Fraction | None]:
    """The least and the greatest weighted average. At either, the weights of the items on one side of some threshold of
    f are high and the others low (Dong and Wong, 1987): so every threshold is tried."""

    def extreme(end: int, sign: int) -> Fraction | None:
        order = sorted(items, key=lambda one: sign * one[1][end])
        weight = sum(w[0] for w, _ in order)
        moment = sum((w[0] * f[end] for w, f in order), Fraction(0))
        answers = [moment / weight] if weight else []
        for w, f in order:
            weight += w[2] - w[0]
            moment += (w[2] - w[0]) * f[end]
            if weight:
                answers.append(moment / weight)
        return (min(answers) if sign > 0 else max(answers)) * 100 if answers else None

    return extreme(0, 1), extreme(2, -1)


def six(value: Fraction | None) -> float | None:
    """Rounded to six decimals, half up."""
    if value is None:
        return None
    size = floor(abs(value) * 10**6 + Fraction(1, 2))
    return (size if value >= 0 else -size) / 10**6


def main() -> int:
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else Path(__file__).resolve().parent / "read")
    statement = Statement(folder)
    asked = statement.question
    answer = {
        "vehicle": asked["vehicle"],
        "as_at": asked["as_at"],
        "reference": asked["reference"],
        "figures": [statement.figures(basis) for basis in BASES],
    }
    print(json.dumps(answer, ensure_ascii=False, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
