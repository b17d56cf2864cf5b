"""The conservation statement on paper: G9. ``statement_of`` makes contents of any size for the tests of growth too.

Seconds differ from machine to machine, so no test asserts them; that the work grows as the rows is counted in
``tests/documents/test_statement_growth.py``.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from unittest.mock import patch

from register.documents.statement import render
from register.documents.statement_content import Assembly, PartRow, Statement
from tests.documents.statements import part, statement

STATUSES = ("original", "restored", "replica", "modern substitute", "")
COLUMNS = (133, 68, 60, 68, 57, 40, 60)
"""Points, as those of the schedule."""


def rows_of(number: int) -> list[PartRow]:
    """Every row of two lines."""
    return [
        part(
            f"Position {row}, left-hand leading", part=f"Part {row} of the old pattern",
            part_id=f"FR-{row:04}", status=STATUSES[row % 5], sources=(row % 40 + 1, row % 7 + 1),
        )
        for row in range(number)
    ]  # fmt: skip


def statement_of(rows: int) -> Statement:
    """Assemblies of forty parts."""
    parts = rows_of(rows)
    return statement(
        schedule=tuple(
            Assembly(f"Assembly {first}", tuple(parts[first : first + 40])) for first in range(0, rows, 40)
        )
    )


def bare(rows: int) -> None:
    """The peer: the same words of the same rows in plain tables of two hundred, without tags, groups, marks or heads."""
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import LongTable, Paragraph, SimpleDocTemplate

    style = getSampleStyleSheet()["BodyText"]

    def cells(one: PartRow) -> list[list[Paragraph]]:
        words = (
            (one.position, f"{one.part_id} {one.part}"), (one.status or "NA",), ("80–90", "best 85"), (one.fitted,),
            ("3,300", "3,200–3,400"), (one.visibility,), (one.evidence, f"sources {one.sources}"),
        )  # fmt: skip
        return [[Paragraph(line, style) for line in lines] for lines in words]

    data = [cells(one) for one in rows_of(rows)]
    tables = [LongTable(data[at : at + 200], colWidths=COLUMNS) for at in range(0, rows, 200)]
    SimpleDocTemplate(io.BytesIO(), pagesize=A4).build(tables)


def untagged(work: Callable[[], object]) -> Callable[[], object]:
    """The same work with no piece marked and no structure written."""
    from register.documents.tagging import TaggedCanvas

    def done() -> None:
        nothing = {name: lambda *_: None for name in ("begin", "end", "_begin", "_write_structure")}
        with patch.multiple(TaggedCanvas, **nothing):
            work()

    return done


def g9():
    from tests.benchmarks.kit import Result, best_of, exponent

    sizes, seconds = (1000, 2000, 4000), []
    for size in sizes:
        content = statement_of(size)
        seconds.append(best_of(lambda content=content: render(content), 2))
    content = statement_of(2000)
    plain, peer, slope = best_of(untagged(lambda: render(content)), 2), best_of(lambda: bare(2000), 2), exponent(sizes, seconds)
    figure = (
        f"{plain / peer:.1f} × bare chunked tables of the same words without its tags, {seconds[1] / peer:.1f} × with them"
        f" ({seconds[1]:.1f} s, bare {peer:.1f} s); exponent {slope:.2f}"
    )
    met = plain <= 1.5 * peer and slope <= 1.15 and seconds[1] < 8
    return Result("G9", "statement with a 2,000-row schedule", figure, "≤ 1.5 × without tags; exponent ≤ 1.15; under 8 s", met)


GOALS = (g9,)
