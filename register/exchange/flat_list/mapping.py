"""What somebody chose for one kind of list: which column is what, which word means what. Remembered by its
headings."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from register.exchange.cells import column_letters
from register.exchange.flat_list.headings import SEARCHED, Heading, find_heading, joined
from register.exchange.flat_list.roles import (
    ITEM,
    KEEP,
    NUMBER,
    ROLES,
    STATUS,
    fold,
    role_of_heading,
    unit_of_heading,
)
from register.exchange.flat_list.sheet import Sheet, SheetLine, refuse
from register.exchange.flat_list.status_words import MEANINGS, meaning_of
from register.fabric.vocabulary import VISIBILITY

DEFAULT_VISIBILITY = "close inspection"
_TOTALS = ("total", "totals", "sub-total", "subtotal", "grand total", "sum", "all up", "overall")


@dataclass(frozen=True, slots=True)
class Column:
    """heading: as it stands, in one text, "" over an unnamed column. unit: what bare numbers under it are
    in, "" for kilograms."""

    heading: str
    role: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class ListChoices:
    """first, last: the lines of the heading. words: folded status word to meaning. sections: folded text of a
    line that may name an assembly, to whether it does. visibility: of a position, where the list does not
    say."""

    first: int
    last: int
    columns: tuple[Column, ...]
    words: Mapping[str, str] = field(default_factory=dict)
    sections: Mapping[str, bool] = field(default_factory=dict)
    visibility: str = DEFAULT_VISIBILITY

    def column(self, role: str) -> int | None:
        """The column of a role, None where there is none."""
        return next((index for index, column in enumerate(self.columns) if column.role == role), None)

    def columns_of(self, role: str) -> list[int]:
        return [index for index, column in enumerate(self.columns) if column.role == role]

    def heading(self, role: str) -> str:
        """What the list calls the column of a role."""
        index = self.column(role)
        return "" if index is None else self.columns[index].heading

    def as_json(self) -> dict[str, Any]:
        return {
            "first": self.first,
            "last": self.last,
            "columns": [[one.heading, one.role, one.unit] for one in self.columns],
            "words": dict(self.words),
            "sections": dict(self.sections),
            "visibility": self.visibility,
        }

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> ListChoices:
        return cls(
            stored["first"],
            stored["last"],
            tuple(Column(*one) for one in stored["columns"]),
            dict(stored["words"]),
            dict(stored["sections"]),
            stored["visibility"],
        )

    def with_role(self, index: int, role: str, unit: str = "") -> ListChoices:
        """The same with another role for the column of this index."""
        columns = list(self.columns)
        columns[index] = Column(columns[index].heading, role, unit)
        return replace(self, columns=tuple(columns))

    def label(self, index: int) -> str:
        """What a column is called in a sentence."""
        return self.columns[index].heading or f"column {column_letters(index)}"


def guess(sheet: Sheet, heading: Heading | None = None) -> ListChoices:
    """What the list seems to mean, for a person to look through. Refused where no line names its columns."""
    found = heading or find_heading(sheet)
    used: set[str] = set()
    columns = []
    for name in found.names:
        role = role_of_heading(name)
        if not role or (role in used and not ROLES[role].several):
            role = KEEP
        used.add(role)
        columns.append(Column(name, role, unit_of_heading(name) if role.startswith("mass") else ""))
    return completed(sheet, ListChoices(found.first, found.last, tuple(columns)))


def completed(sheet: Sheet, choices: ListChoices) -> ListChoices:
    """The choices with a meaning for every status word of this sheet and an answer for every line that may
    name an assembly; what was chosen stays."""
    status = choices.column(STATUS)
    lines = body(sheet, choices)
    words = {fold(line.cells[status]): meaning_of(line.cells[status]) for line in lines if status is not None}
    sections = {
        fold(text): looks
        for line in lines
        if (candidate := section_of(line, choices))
        for text, looks in [candidate]
    }
    return replace(choices, words={**words, **choices.words}, sections={**sections, **choices.sections})


def placed(sheet: Sheet, remembered: ListChoices) -> ListChoices | None:
    """Remembered choices laid over a sheet that has the same headings, wherever they now stand; None where it
    has not. Columns without a name may come and go."""
    wanted = [column for column in remembered.columns if column.heading]
    depth = remembered.last - remembered.first
    for top in range(min(SEARCHED, len(sheet.lines) - depth)):
        lines = sheet.lines[top : top + depth + 1]
        names = joined([line.cells for line in lines])
        if [fold(name) for name in names if name] == [fold(column.heading) for column in wanted]:
            known = iter(wanted)
            columns = tuple(next(known) if name else Column("", KEEP) for name in names)
            return completed(
                sheet, replace(remembered, first=lines[0].line, last=lines[-1].line, columns=columns)
            )
    return None


def fingerprint(choices: ListChoices) -> str:
    """What tells a kind of list again: its headings, in their order, without case."""
    named = [fold(column.heading) for column in choices.columns if column.heading]
    return hashlib.sha256("\n".join(named).encode()).hexdigest()


def check(sheet: Sheet, choices: ListChoices) -> None:
    """Refused with a sentence where the choices cannot be used on this sheet."""
    if choices.column(ITEM) is None:
        refuse(sheet.name, "No column is chosen for the item. Choose the one that says what each thing is.")
    if len(choices.columns) != sheet.width:
        refuse(
            sheet.name,
            f"The list has {sheet.width} columns, and {len(choices.columns)} are chosen for. Choose again.",
        )
    if not any(line.line > choices.last for line in sheet.lines):
        refuse(sheet.name, f"There is nothing below the heading (line {choices.last}).")
    for role, count in Counter(column.role for column in choices.columns).items():
        if role not in ROLES:
            refuse(
                sheet.name, f"“{role}” is nothing that a column can be. Choose one of: {', '.join(ROLES)}."
            )
        if count > 1 and not ROLES[role].several:
            refuse(
                sheet.name,
                f"{count} columns are chosen as “{role}”. Choose one of them, and “{KEEP}” for the others.",
            )
    for word, meaning in choices.words.items():
        if meaning not in MEANINGS:
            refuse(
                sheet.name,
                f"“{meaning}” is no meaning of the word “{word}”. Choose one of: {', '.join(MEANINGS)}.",
            )
    if choices.visibility not in VISIBILITY:
        refuse(
            sheet.name, f"“{choices.visibility}” is no visibility. Choose one of: {', '.join(VISIBILITY)}."
        )


def body(sheet: Sheet, choices: ListChoices) -> list[SheetLine]:
    """The lines below the heading."""
    return [line for line in sheet.lines if line.line > choices.last]


def section_of(line: SheetLine, choices: ListChoices) -> tuple[str, bool] | None:
    """What a line that holds one text only may name, and whether it looks like an assembly; None for other
    lines.

    A text in the column of numbers is one; alone in the column of items it is one where it shouts or ends in
    a colon, or where the list numbers its things and this has no number.
    """
    filled = line.filled()
    if len(filled) != 1 or is_total(line, choices):
        return None
    column, text = filled[0], line.cells[filled[0]].strip()
    number, item = choices.column(NUMBER), choices.column(ITEM)
    if column not in (number, item) or any(letter.isdigit() for letter in text[:1]):
        return None
    return text, column == number or number is not None or text.isupper() or text.endswith(":")


def is_total(line: SheetLine, choices: ListChoices) -> bool:
    firsts = [
        line.cells[index] for index in (choices.column(NUMBER), choices.column(ITEM)) if index is not None
    ]
    return any(fold(text).strip(" :.") in _TOTALS for text in firsts)
