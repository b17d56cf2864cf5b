"""Lists for the tests: the messy one, whose reading is told beside it, and two small ones of other make, all invented."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from register.exchange.flat_list.answers import ListAnswers
from register.exchange.flat_list.drafting import draft
from register.exchange.flat_list.mapping import ListChoices, guess
from register.exchange.flat_list.results import Drafted, LineOutcome, RowDraft
from register.exchange.flat_list.sheet import Sheet, read_sheet

MESSY = Path(__file__).parent / "messy_list.csv"
DAY = date(2019, 9, 30)
WAGON = {"name": "Wagon 31", "kind": "wagon", "built": "1903"}

CARRIAGE = [
    ["Ref", "Component", "Original?", "Number off", "Weight (lb)", "Made of", "Date fitted", "In view?", "Notes"],
    ["C1", "Door, first compartment", "Yes", 2, 56, "teak", "from new", "yes", "=SUM is not a formula here"],
    ["C2", "Door lock", "Yes", 2, 3, "brass", None, "yes", ""],
    ["C3", "Window strap", "Replica", 4, None, "leather", 2004, "yes", "made to the drawing"],
    ["C4", "Floor board", "dunno", "", "", "", "", "sort of", ""],
    ["C5", "Gas pipe", "Gone", "", "", "", "", "", "scrapped 1931"],
    ["C6", "Curtain rail", "Yes", 1, 4, "brass", 1962, "", ""],
    ["C7", "Lamp", "Yes", 1, "2 T", "", "", "", "kept in the store"],
    ["", "", "", "", "", "", "", "", "all weights are from the kitchen scales"],
]  # fmt: skip
"""A workbook of one heading line: the list of carriage K4."""

ENGINE = (
    "Assembly,Description,Genuine,Count,Total mass,Year,By,Shelf mark,Comment\n"
    "Cab,Regulator handle,A,1,4.2 kg,1951,,R2,\n"
    "Cab,Gauge lamp,B,1,900 g,12/03/1998,P. Oak,R2,\n"
    "Cab,Gauge lamp,A,1,900 g,,,R3,off engine 9\n"
    'Engine,"Injector, left",C,1,,1951,,,"no asbestos now, lagging was asbestos"\n'
)
"""Commas, one heading line, no numbers, an assembly in each line, and words that only their writer knows."""


def drafted(
    sheet: Sheet, choices: ListChoices | None = None, vehicle: str = "W31", day: date | None = DAY, built: str = "1903"
) -> Drafted:
    return draft(sheet, choices or guess(sheet), ListAnswers(vehicle, WAGON, day, built))


def messy(day: date | None = DAY) -> Drafted:
    return drafted(read_sheet(MESSY), day=day)


def outcome(found: Drafted, number: str) -> LineOutcome:
    """Of the line with this number of the list's own."""
    return next(line for line in found.lines if line.number == number)


def rows(line: LineOutcome, table: str) -> list[RowDraft]:
    return [row for row in line.rows if row.table == table]


def values(line: LineOutcome, table: str) -> dict[str, str]:
    """Of the only row of a table that a line makes; {} where it makes none."""
    found = rows(line, table)
    assert len(found) <= 1, f"{line.number} makes {len(found)} rows of {table}"
    return dict(found[0].values) if found else {}


def asked(line: LineOutcome) -> set[str]:
    return {question.about for question in line.questions}


def write_workbook(path: Path, lines: list[list[object]]) -> Path:
    from openpyxl import Workbook

    book = Workbook()
    for cells in lines:
        book.active.append(cells)
        for cell in book.active[book.active.max_row]:
            if isinstance(cell.value, str):
                cell.data_type = "s"
    book.save(path)
    return path
