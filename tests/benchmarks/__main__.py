"""``make bench``: every goal of docs/performance.md, each beside the peer it is measured against in the same run.

Registers are generated from a seed. CPU seconds, best of several runs; ratios and exponents are what counts, since
machines differ. Writes docs/performance.md. ``python -m tests.benchmarks G1 G8`` measures only those named.

A goal is a function that returns a ``Result``; a module of this folder lists its own in ``GOALS`` and is named in
``MODULES`` here.
"""

from __future__ import annotations

import os
import platform
import shutil
import sqlite3
import sys
from datetime import date
from importlib import import_module

import django

from tests.benchmarks.kit import FOLDER, ROOT, Result

MODULES = ("pages", "timelines", "files", "statement")
GOALS = {
    goal.__name__.upper(): goal
    for module in MODULES
    for goal in import_module(f"tests.benchmarks.{module}").GOALS
}


def in_order(name: str) -> int:
    return int(name[1:])


def main(named: list[str]) -> None:
    unknown = [name for name in named if name not in GOALS]
    if unknown:
        sys.exit(f"There is no goal {', '.join(unknown)}: it is one of {', '.join(sorted(GOALS, key=in_order))}.")
    results = []
    for name in named or sorted(GOALS, key=in_order):
        result = GOALS[name]()
        results.append(result)
        print(f"{result.goal:4} {'met ' if result.met else 'MISSED'} {result.what}: {result.figure} (goal {result.goal_words})", flush=True)
    if not named:
        write_page(results)
    shutil.rmtree(FOLDER, ignore_errors=True)


def write_page(results: list[Result]) -> None:
    """docs/performance.md: the last figures, the machine and the day. What stands there under a heading is kept."""
    lines = ["# Performance", "", "What `make bench` measured last, each goal beside the peer it is measured against in the same run. CPU times; ratios and exponents are what counts, since machines differ. "
             "n = positions, E = events (ins and outs).", "", f"{date.today():%-d %B %Y}; {os.cpu_count()} cores, Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}, Django {django.get_version()}.", "",
             "| goal | what | measured | asked | |", "|---|---|---|---|---|"]
    lines += [f"| {one.goal} | {one.what} | {one.figure} | {one.goal_words} | {'met' if one.met else 'missed'} |" for one in results]
    page = ROOT / "docs" / "performance.md"
    written = page.read_text().partition("\n## ") if page.exists() else ("", "", "")
    page.write_text("\n".join(lines) + "\n" + "".join(written[1:]))


if __name__ == "__main__":
    main(sys.argv[1:])
