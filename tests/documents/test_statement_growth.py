"""The work of printing a statement grows as its rows: calls are counted, for seconds differ from machine to machine."""

from __future__ import annotations

import cProfile
import pstats

from register.documents.statement import render
from tests.benchmarks.statement import statement_of


def calls(rows: int) -> int:
    content = statement_of(rows)
    profile = cProfile.Profile()
    profile.runcall(render, content)
    return pstats.Stats(profile).total_calls  # type: ignore[attr-defined]


def test_four_times_the_rows_is_four_times_the_work():
    """An exponent of 1.15 over a factor of four would be 4.9 times; a table that is laid out anew for each page, 8."""
    render(statement_of(40))  # what is made once a process
    nothing, few, many = calls(0), calls(120), calls(480)
    assert many - nothing < 4.9 * (few - nothing)
    assert few > 1.5 * nothing  # else the rows would not be what is counted
