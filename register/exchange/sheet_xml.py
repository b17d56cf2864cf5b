"""The XML of a worksheet and of the shared strings of an Office Open XML workbook (ECMA-376, part 1), as a
stream.

Read here and not with openpyxl for two reasons. With defusedxml, which it needs to be safe, openpyxl reads
some 2,500 rows a second, a tenth of this; and it hides what has to be told: which cells are formulas, which
are merged, which rows are hidden. A document type declaration is refused outright, and with it every entity.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple
from xml.parsers import expat  # every entity is refused below

from register.exchange.cells import MAX_COLUMNS, BrokenTable

NAMESPACES = (
    "http://schemas.openxmlformats.org/spreadsheetml/2006/main",
    "http://purl.oclc.org/ooxml/spreadsheetml/main",
)
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
_TAGS = {
    f"{namespace} {tag}": tag
    for namespace in NAMESPACES
    for tag in ("c", "v", "f", "t", "rPh", "row", "col", "mergeCell", "si")
}
_TRUE = ("1", "true")
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_LIKE_ESCAPED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")


class SheetCell(NamedTuple):
    """column: from 0. kind: the ``t`` of the cell. text: its value as stored, None where a formula has none.
    style: the
    number of its format."""

    column: int
    kind: str
    text: str | None
    style: str
    is_formula: bool


class SheetRow(NamedTuple):
    line: int
    hidden: bool
    cells: list[SheetCell]


class Sheet:
    """A worksheet: read ``rows`` through, then ``merged`` holds the ranges and ``hidden_columns`` the
    columns."""

    def __init__(self) -> None:
        self.merged: list[str] = []
        self.hidden_columns: set[int] = set()
        self._rows: list[SheetRow] = []
        self._line = 0
        self._hidden = False
        self._cells: list[SheetCell] = []
        self._column = -1
        self._kind = "n"
        self._style = "0"
        self._is_formula = False
        self._text: list[str] | None = None
        self._value: str | None = None
        self._phonetic = 0
        self._letters: dict[str, int] = {}

    def rows(self, chunks: Iterable[bytes]) -> Iterator[SheetRow]:
        """Rows that hold anything, in the order of the file."""
        parser = _parser(self._start, self._end, self._characters)
        for chunk in _fed(parser, chunks):
            del chunk
            if self._rows:
                yield from self._rows
                self._rows.clear()

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        tag = _TAGS.get(name)
        if tag == "c":
            self._start_cell(attributes)
        elif tag == "v":
            self._text = []
        elif tag == "t":
            self._text = None if self._phonetic else []
        elif tag == "row":
            self._start_row(attributes)
        elif tag == "f":
            self._is_formula = True
        elif tag == "rPh":
            self._phonetic += 1
        elif tag == "mergeCell":
            if len(self.merged) < MAX_COLUMNS:
                self.merged.append(attributes.get("ref", "?"))
        elif tag == "col" and attributes.get("hidden") in _TRUE:
            first, last = (
                _whole(attributes.get("min"), LAST_COLUMN),
                _whole(attributes.get("max"), LAST_COLUMN),
            )
            self.hidden_columns.update(range(first - 1, min(last, MAX_COLUMNS)))

    def _end(self, name: str) -> None:
        tag = _TAGS.get(name)
        if tag == "c":
            if self._value or self._is_formula:
                self._end_cell()
        elif tag == "v":
            self._value = "".join(self._text or ())
            self._text = None
        elif tag == "t":
            self._value = (self._value or "") + "".join(self._text or ())
            self._text = None
        elif tag == "row":
            if self._cells:
                self._rows.append(SheetRow(self._line, self._hidden, self._cells))
        elif tag == "rPh":
            self._phonetic -= 1

    def _characters(self, text: str) -> None:
        if self._text is not None:
            self._text.append(text)

    def _start_row(self, attributes: dict[str, str]) -> None:
        self._line = _whole(attributes["r"], LAST_ROW) if "r" in attributes else self._line + 1
        self._hidden = attributes.get("hidden") in _TRUE
        self._cells = []
        self._column = -1

    def _start_cell(self, attributes: dict[str, str]) -> None:
        self._kind = attributes.get("t", "n")
        self._style = attributes.get("s", "0")
        self._is_formula = False
        self._value = None
        place = attributes.get("r")
        if place is None:
            self._column += 1
            return
        letters = place.rstrip("0123456789")
        column = self._letters.get(letters)
        self._column = self._letters[letters] = _column_index(letters) if column is None else column

    def _end_cell(self) -> None:
        value = self._value
        if value == "" and self._kind != "str":
            value = None  # an empty <v/>: the formula was never worked out
        if value and self._kind in ("str", "inlineStr"):
            value = unescaped(value)
        self._cells.append(SheetCell(self._column, self._kind, value, self._style, self._is_formula))


def shared_strings(chunks: Iterable[bytes]) -> list[str]:
    """The texts that cells of kind ``s`` refer to by number; phonetic readings are left out."""
    found: list[str] = []
    parts: list[str] = []
    state = {"t": False, "phonetic": 0}

    def start(name: str, attributes: dict[str, str]) -> None:
        tag = _TAGS.get(name)
        if tag == "t":
            state["t"] = not state["phonetic"]
        elif tag == "si":
            parts.clear()
        elif tag == "rPh":
            state["phonetic"] += 1

    def end(name: str) -> None:
        tag = _TAGS.get(name)
        if tag == "t":
            state["t"] = False
        elif tag == "si":
            found.append(unescaped("".join(parts)))
        elif tag == "rPh":
            state["phonetic"] -= 1

    def characters(text: str) -> None:
        if state["t"]:
            parts.append(text)

    for _ in _fed(_parser(start, end, characters), chunks):
        pass
    return found


def unescaped(text: str) -> str:
    """``_x000D_`` is how a workbook writes a character that XML cannot hold (ECMA-376, part 1, 22.9.2.19)."""
    if "_x" not in text:
        return text
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text)


def escaped(text: str) -> str:
    """The text written so that ``unescaped`` gives it back, where it happens to look like an escape."""
    return _LIKE_ESCAPED.sub("_x005F_", text) if "_x" in text else text


def _parser(start: Any, end: Any, characters: Any) -> Any:
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = characters
    parser.StartDoctypeDeclHandler = _refuse_doctype
    return parser


def _fed(parser: Any, chunks: Iterable[bytes]) -> Iterator[bytes]:
    try:
        for chunk in chunks:
            parser.Parse(chunk, False)
            yield chunk
        parser.Parse(b"", True)
        yield b""
    except expat.ExpatError as error:
        raise BrokenTable(
            f"The workbook is damaged ({error}): open it in the spreadsheet, and save it again."
        ) from None


def _refuse_doctype(*about: object) -> None:
    raise BrokenTable(
        "The workbook holds a document type declaration, which no spreadsheet writes and which can be used "
        "to "
        "break into a computer. Make the workbook anew."
    )


def _whole(text: str | None, most: int) -> int:
    if (
        text is None
        or not (text.isascii() and text.isdigit())
        or not 0 <= int(text[:9]) <= most
        or len(text) > 9
    ):
        raise BrokenTable(
            f"The workbook is damaged (the number “{(text or '')[:20]}” is out of place): open it in the "
            "spreadsheet, and "
            "save it again."
        )
    return int(text)


def _column_index(letters: str) -> int:
    index = 0
    if 1 <= len(letters) <= 3 and letters.isascii() and letters.isalpha() and letters.isupper():
        for letter in letters:
            index = index * 26 + ord(letter) - 64
    if not 1 <= index <= LAST_COLUMN:
        raise BrokenTable(
            f"The workbook is damaged (a cell says that it is in column “{letters[:20]}”): open it in the "
            "spreadsheet, "
            "and save it again."
        )
    return index - 1
