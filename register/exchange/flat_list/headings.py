"""Where the columns are named: found below whatever title a list has, over one line or several."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from register.exchange.flat_list.roles import ITEM, role_of_heading
from register.exchange.flat_list.sheet import Sheet, SheetLine, refuse

SEARCHED = 40
"""Lines at the top in which the headings are looked for."""
_LONGEST = 30
"""Letters of what may be a heading: a longer text is a title or a remark."""


@dataclass(frozen=True, slots=True)
class Heading:
    """first, last: the lines over which the columns are named. names: one a column, "" over an unnamed one.
    title: what stands above, word for word."""

    first: int
    last: int
    names: tuple[str, ...]
    title: tuple[str, ...]


def find_heading(sheet: Sheet) -> Heading:
    """The heading of a list. Refused with a sentence where no line at its top names a column of items."""
    candidates = [(index, _score(line.cells)) for index, line in enumerate(sheet.lines[:SEARCHED])]
    index, score = max(candidates, key=lambda found: (found[1], -found[0]))
    if score < 2:
        refuse(
            sheet.name,
            f"No line among the first {SEARCHED} names the columns (such as Item, Qty, Remarks). Add one "
            "above the list, or say which line it is.",
        )
    first = last = index
    while first > 0 and _belongs_above(sheet.lines[first - 1], sheet.lines[first : last + 1]):
        first -= 1
    if last + 1 < len(sheet.lines) and _belongs_below(sheet.lines[last + 1], sheet.lines[last]):
        last += 1
    return heading_of(sheet, sheet.lines[first].line, sheet.lines[last].line)


def heading_of(sheet: Sheet, first: int, last: int) -> Heading:
    """The heading in these lines of the sheet (as a spreadsheet numbers them). Refused where there are
    none."""
    lines = [line for line in sheet.lines if first <= line.line <= last]
    if not lines or first > last:
        refuse(sheet.name, f"The list has no lines {first} to {last} that could name its columns.")
    title = tuple(
        " ".join(cell.strip() for cell in line.cells if cell.strip())
        for line in sheet.lines
        if line.line < first and not line.is_blank
    )
    return Heading(first, last, joined([line.cells for line in lines]), title)


def joined(rows: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """One name a column: what stands above and what stands below it, in one text.

    A group ("WEIGHT" over "each" and "total") reaches to the right over blank cells, as far as it helps to
    understand what stands below.
    """
    *above, bottom = rows
    names = []
    groups = [""] * len(above)
    for column, low in enumerate(bottom):
        parts = []
        for level, row in enumerate(above):
            own = row[column].strip()
            if own:
                groups[level] = own
            if own or (groups[level] and low.strip() and role_of_heading(f"{groups[level]} {low}")):
                parts.append(_calm(groups[level]))
        names.append(" ".join([*parts, low.strip()]).strip())
    return tuple(names)


def _calm(text: str) -> str:
    return text.capitalize() if text.isupper() else text


def _score(cells: Sequence[str]) -> int:
    """How many different roles a line names; nothing where it names no item."""
    roles = {role for cell in cells if len(cell) <= _LONGEST and (role := role_of_heading(cell))}
    return len(roles) if ITEM in roles else 0


def _belongs_above(line: SheetLine, below: Sequence[SheetLine]) -> bool:
    """A line of short words over several columns names groups; one long text, or a single cell, is a
    title."""
    filled = line.filled()
    if len(filled) < 2 or any(len(line.cells[index]) > _LONGEST for index in filled):
        return False
    rows = [one.cells for one in below]
    before, after = joined(rows), joined([line.cells, *rows])
    named = [role_of_heading(name) for name in after]
    return sum(map(bool, named)) >= sum(bool(role_of_heading(name)) for name in before) and ITEM in named


def _belongs_below(line: SheetLine, above: SheetLine) -> bool:
    """A second line that names parts of groups ("each", "total") or units only."""
    filled = line.filled()
    if not filled or any(
        len(line.cells[index]) > 12 or line.cells[index].strip().isdigit() for index in filled
    ):
        return False
    names = joined([above.cells, line.cells])
    old = [role_of_heading(cell) for cell in above.cells]
    new = [role_of_heading(name) for name in names]
    keeps = all(role in new for role in old if role and role != "mass")
    return keeps and all(new[index] for index in filled)
