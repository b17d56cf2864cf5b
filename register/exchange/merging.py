"""One row laid over another: defaults, trios of masses and fractions, and what is kept where a cell is empty."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from register.exchange.records import DEFAULTS, TRIOS, Row
from register.exchange.schema import Table

Problem = tuple[str, Any, str]
"""Column, value, sentence."""
HISTORIC = ("original", "restored")


def merge(table: Table, stored: Row | None, given: Mapping[str, Any]) -> tuple[Row, list[Problem]]:
    """The row that results. given: parsed values of the columns present, None where a cell was empty."""
    defaults = DEFAULTS[table.name]
    problems: list[Problem] = []
    if stored is None:
        row: Row = {column.name: given.get(column.name) for column in table.columns}
    else:
        row = dict(stored)
        row.update(given)
    trios = TRIOS[table.name]
    for name, value in defaults.items():
        ends = (row[f"{name}_low"], row[f"{name}_high"]) if name in trios else ()
        if row[name] is None and all(
            end is None for end in ends
        ):  # two ends without a best mean their middle
            row[name] = value
    if stored is not None:
        _keep_what_an_empty_cell_does_not_clear(table, stored, given, row)
    for trio in trios:
        problems.extend(_settle_trio(row, given, trio, stored))
    if stored is not None and table.own_id:
        row[table.own_id] = stored[table.own_id]  # an id is kept as first typed
    return row, problems


def _keep_what_an_empty_cell_does_not_clear(
    table: Table, stored: Row, given: Mapping[str, Any], row: Row
) -> None:
    """A tag is made here and ``original to`` is worked out here: leaving their cells empty asks for no change."""
    if "tag" in given and given["tag"] is None and "tag" in table.by_name:
        row["tag"] = stored["tag"]
    if table.name == "assessments" and row["original_to"] is None and row["status"] in HISTORIC:
        row["original_to"] = stored["original_to"]


def _settle_trio(row: Row, given: Mapping[str, Any], name: str, stored: Row | None) -> list[Problem]:
    """Turn the three columns into whole numbers in their normal form: the ends only where they differ from the best.

    A single value is both ends and the best; the ends without a best: the middle; one end beside a best: the other
    end is the best; the middle column may itself hold a range.
    """
    low_name, high_name = f"{name}_low", f"{name}_high"
    best, low, high = row[name], row[low_name], row[high_name]
    for end, value in ((low_name, low), (high_name, high)):
        if value is not None and not isinstance(value, int) and not value.is_exact:
            return [
                (
                    end,
                    None,
                    f"an end is one value; write a range into {name}, and leave {low_name} and {high_name} empty.",
                )
            ]
    if best is not None and not isinstance(best, int) and not best.is_exact:
        if given.get(low_name) is not None or given.get(high_name) is not None:
            return [(name, None, f"it holds a range, so {low_name} and {high_name} must be empty.")]
        low, best, high = best.low, best.best, best.high
    else:
        best, low, high = _whole(best), _whole(low), _whole(high)
    if best is None and (low is None) != (high is None):
        one, other = (low_name, high_name) if high is None else (high_name, low_name)
        return [(one, None, f"one end alone says too little: give {name} or {other} too.")]
    if best is None and low is not None and high is not None:
        if low > high:
            return [(low_name, None, f"it is more than {high_name}.")]
        best = (low + high + 1) // 2
    if best is not None:
        low = best if low is None else low
        high = best if high is None else high
        if low > best:
            return [(low_name, None, f"it is more than {name}{_stored_note(given, low_name, stored)}.")]
        if best > high:
            return [(name, None, f"it is more than {high_name}{_stored_note(given, high_name, stored)}.")]
        if low == high:
            low = high = None
    row[name], row[low_name], row[high_name] = best, low, high
    return []


def _stored_note(given: Mapping[str, Any], end: str, stored: Row | None) -> str:
    if stored is None or end in given:
        return ""
    return f" that the register holds; give {end} too, or leave its cell empty to clear it"


def _whole(value: Any) -> int | None:
    if value is None or isinstance(value, int):
        return value
    exact: int | None = value.best
    return exact
