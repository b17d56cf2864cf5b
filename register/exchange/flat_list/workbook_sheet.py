"""One sheet of any workbook as rows of texts: dates as a person would write them, numbers as they are
shown."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from register.exchange.cells import LIMIT, MAX_COLUMNS, BrokenTable, column_letters, too_many_rows
from register.exchange.faults import printable
from register.exchange.number_cells import DATE, TIME, day_of, format_kind, plain_number
from register.exchange.package import Package, Part, sheets_of
from register.exchange.sheet_xml import NAMESPACES, Sheet, SheetCell, shared_strings
from register.fabric.dates import day_in_words
from register.fabric.edtf_profile import MONTHS

_BUILT_IN = {17: "mmm-yy"}
"""Date formats without a day among those that have a number only (ECMA-376, part 1, 18.8.30)."""
_LITERAL = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')

Rows = list[tuple[int, list[str]]]


def cells_of_workbook(path: Path, sheet: str) -> tuple[Rows, tuple[str, ...], list[str], str]:
    """The rows of a sheet, the names of all sheets, what had to be interpreted, and the name of the sheet
    read.

    sheet: its name; "" is the first that holds anything. BrokenTable with a sentence.
    """
    with Package(path) as package:
        parts, from_1904, related = sheets_of(package)
        tables = [part for part in parts if part.kind == "worksheet"]
        names = tuple(part.name for part in tables)
        strings = related.get("sharedStrings", "")
        texts = shared_strings(package.chunks(strings)) if package.has(strings) else []
        reading = _Reading(package, texts, _formats(package, related.get("styles", "")), from_1904)
        for part in tables:
            if sheet and part.name != sheet:
                continue
            rows = reading.rows(part)
            if rows or sheet:
                return rows, names, reading.notes(), part.name
    if sheet:
        raise BrokenTable(
            f"There is no sheet “{printable(sheet)}” in it. The sheets are "
            f"{', '.join(map(printable, names))}."
        )
    raise BrokenTable("The workbook is empty: there is nothing to read in it.")


class _Reading:
    """A workbook being read, and what was found that a person should know."""

    def __init__(
        self, package: Package, strings: list[str], formats: dict[str, str], from_1904: bool
    ) -> None:
        self.package = package
        self.strings = strings
        self.formats = formats
        self.from_1904 = from_1904
        self.told: dict[str, list[str]] = {}

    def rows(self, part: Part) -> Rows:
        sheet = Sheet()
        self.told = {}
        found: Rows = []
        for row in sheet.rows(self.package.chunks(part.path)):
            if row.line > LIMIT:
                raise too_many_rows()
            if row.hidden:
                self._tell("hidden rows were read like the others", str(row.line))
            self._fill_gap(found, row.line)
            cells = [""] * min(max(cell.column for cell in row.cells) + 1, MAX_COLUMNS + 1)
            for cell in row.cells:
                if cell.column < len(cells):
                    cells[cell.column] = self._text(cell, f"{column_letters(cell.column)}{row.line}")
            found.append((row.line, cells))
        for span in sheet.merged:
            self._tell("merged cells hold something in their first cell only", span)
        return found

    def notes(self) -> list[str]:
        return [f"{len(places):,} {what} (the first is {places[0]})." for what, places in self.told.items()]

    def _fill_gap(self, found: Rows, line: int) -> None:
        """Lines that hold nothing are not written in a workbook; here they are blank lines."""
        last = found[-1][0] if found else line - 1
        found.extend((number, []) for number in range(last + 1, min(line, last + 1000)))

    def _tell(self, what: str, place: str) -> None:
        self.told.setdefault(what, []).append(printable(place))

    def _text(self, cell: SheetCell, place: str) -> str:
        if cell.is_formula:
            self._tell("formulas were read as their last computed value", place)
        text = cell.text or ""
        if cell.kind == "s" and not cell.is_formula:
            with suppress(ValueError, IndexError):
                return self.strings[int(text)]
            raise BrokenTable(f"The workbook is damaged (the text of {place} is missing): save it again.")
        if cell.kind == "b":
            return "yes" if text in ("1", "true") else "no"
        if cell.kind == "n" and text:
            return self._number(cell, text, place)
        return text

    def _number(self, cell: SheetCell, text: str, place: str) -> str:
        code = self.formats.get(cell.style, "")
        if code and code != TIME:
            day = day_of(text, self.from_1904)
            if day is not None:
                self._tell("date cells were read as the date that they show", place)
                if "d" not in code and code != DATE:
                    return f"{MONTHS[day.month - 1]} {day.year}" if "m" in code else str(day.year)
                return day_in_words(day)
        if code == TIME:
            self._tell("cells hold a time of day, read as the number behind it", place)
        return plain_number(text) or text


def _formats(package: Package, styles: str) -> dict[str, str]:
    """Cell formats that show a date or a time: format number to the letters of its code, ``date`` or
    ``time``."""
    return dict(_dates_and_times(package, styles)) if package.has(styles) else {}


def _dates_and_times(package: Package, styles: str) -> Iterator[tuple[str, str]]:
    tree = package.xml(styles)
    for namespace in NAMESPACES:
        codes = {
            one.get("numFmtId", ""): one.get("formatCode", "") for one in tree.iter(f"{{{namespace}}}numFmt")
        }
        formats = tree.find(f"{{{namespace}}}cellXfs")
        for index, one in enumerate(formats if formats is not None else ()):
            number = one.get("numFmtId", "0")
            kind = format_kind(int(number) if number.isdigit() else 0, codes.get(number))
            if kind == TIME:
                yield str(index), TIME
            elif kind == DATE:
                code = codes.get(number) or _BUILT_IN.get(int(number), DATE)
                yield str(index), _LITERAL.sub("", code).lower()
