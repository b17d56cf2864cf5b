"""How long a conservation statement of so many parts takes: ``python -m tests.benchmarks.statement``.

Aim: 2,000 rows within 8 seconds of one processor. Seconds differ from machine to machine, so no test asserts them; that
the work grows as the rows is counted in ``tests/documents/test_pdf_paper.py``.
"""

from __future__ import annotations

import time

from register.documents.statement import render
from register.documents.statement_content import Assembly, Statement
from tests.documents.statements import part, statement

STATUSES = ("original", "restored", "replica", "modern substitute", "")


def statement_of(rows: int) -> Statement:
    """Assemblies of forty parts, every row of two lines."""
    parts = [
        part(
            f"Position {number}, left-hand leading", part=f"Part {number} of the old pattern",
            part_id=f"FR-{number:04}", status=STATUSES[number % 5], sources=(number % 40 + 1, number % 7 + 1),
        )
        for number in range(rows)
    ]  # fmt: skip
    return statement(
        schedule=tuple(
            Assembly(f"Assembly {first}", tuple(parts[first : first + 40])) for first in range(0, rows, 40)
        )
    )


def main() -> None:
    for rows in (250, 500, 1000, 2000):
        content = statement_of(rows)
        start = time.process_time()
        size = len(render(content))
        print(f"{rows:>6,} rows {time.process_time() - start:6.2f} s {size / 1e6:6.2f} MB")


if __name__ == "__main__":
    main()
