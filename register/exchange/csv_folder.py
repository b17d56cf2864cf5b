"""A folder of CSV files, one a table: UTF-8, commas, RFC 4180.

What is not that is refused with how to save it, never guessed at: a wrong guess would change letters or
split texts.
"""

from __future__ import annotations

import codecs
import csv
from collections.abc import Iterator
from io import TextIOWrapper
from pathlib import Path
from typing import BinaryIO

from register.exchange.cells import (
    LIMIT,
    MAX_FILE,
    BrokenTable,
    Findings,
    RawTable,
    is_blank_row,
    too_large,
    too_many_rows,
)
from register.exchange.faults import Fault, printable
from register.exchange.schema import MAX_TEXT, TABLES
from register.exchange.values import did_you_mean

SAVE_AS = "save it again as “CSV UTF-8 (comma delimited)”"
_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def tables_in(folder: Path, found: Findings) -> Iterator[RawTable]:
    """The tables of a folder; sub-folders and files that are not CSV are passed over. Faults go to
    ``found``."""
    for path in sorted(folder.iterdir()):
        if path.suffix.lower() != ".csv" or path.name.startswith(".") or not path.is_file():
            continue
        if path.name not in {f"{name}.csv" for name in TABLES}:
            found.faults.append(Fault("", None, printable(path.name), "", unknown_file(path)))
            continue
        try:
            with path.open("rb") as file:
                yield _open_table(path, file)
        except BrokenTable as sentence:
            found.faults.append(Fault(path.stem, sentence.row, "", "", str(sentence)))


def unknown_file(path: Path) -> str:
    hint = did_you_mean(path.stem, TABLES) or f"The tables are {', '.join(TABLES)}."
    return f"No table has the name of this file. {hint} Rename it, or take it out of the folder."


def _open_table(path: Path, file: BinaryIO) -> RawTable:
    size = path.stat().st_size
    if size > MAX_FILE:
        raise too_large(size)
    _check_encoding(file)
    _check_count(file)
    records = _records(file)
    for line, cells in records:
        if not is_blank_row(cells):
            _check_separator(cells, line)
            return RawTable(path.stem, cells, records, header_line=line)
    raise BrokenTable("The file is empty: its first row must name the columns.")


def _records(file: BinaryIO) -> Iterator[tuple[int, list[str]]]:
    """Records with their numbers, which are a spreadsheet's row numbers even after cells of several lines."""
    text = TextIOWrapper(file, encoding="utf-8-sig", errors="strict", newline="")
    line = 0
    try:
        for cells in csv.reader(text, strict=True):
            line += 1
            yield line, [cell[1:] if cell[:1] == "'" else cell for cell in cells]
    except csv.Error as error:
        raise BrokenTable(_what_is_wrong(str(error)), line + 1) from None
    except UnicodeDecodeError:
        raise BrokenTable(_not_utf8(text.buffer)) from None


def _what_is_wrong(error: str) -> str:
    if "field larger" in error:
        return (
            f"A cell has more than {csv.field_size_limit():,} characters, and at most {MAX_TEXT:,} are "
            "kept; or a quote is "
            "opened here and not closed. The rows from here on were not read."
        )
    if "unexpected end" in error:
        return (
            'A quote (") is opened here and never closed, so the rest of the file is one cell. Close it, '
            "or double it."
        )
    return (
        'A quote (") stands inside a cell: put quotes around the whole cell, and write each quote inside it '
        "twice. "
        "The rows from here on were not read."
    )


def _not_utf8(file: BinaryIO) -> str:
    """The sentence, with the place: the decoder works in blocks, so the lines are looked through again."""
    file.seek(0)
    for number, line in enumerate(file, 1):
        try:
            line.decode("utf-8")
        except UnicodeDecodeError as error:
            near = line[max(0, error.start - 15) : error.start + 15].decode("cp1252", errors="replace")
            return (
                f"Line {number} of the file is not UTF-8, near “{printable(near.strip())}”. Letters such as "
                "£, ½ and é would be read "
                f"wrongly, so {SAVE_AS}."
            )
    return f"The file ends in the middle of a letter, so part of it is missing: {SAVE_AS}."


def _check_encoding(file: BinaryIO) -> None:
    head = file.read(4)
    file.seek(0)
    if head.startswith(_UTF16) or b"\0" in head:
        raise BrokenTable(f"The file is “Unicode text” (UTF-16), not UTF-8: {SAVE_AS}.")
    if head.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise BrokenTable(
            f"This is a workbook with the name of a CSV file: open it in the spreadsheet, and {SAVE_AS}."
        )


def _check_separator(header: list[str], line: int) -> None:
    first = header[0]
    if len(header) == 1 and (";" in first or "\t" in first):
        name = "semicolons" if ";" in first else "tabs"
        raise BrokenTable(f"The columns are separated by {name}, and commas are needed: {SAVE_AS}.", line)


def _check_count(file: BinaryIO) -> None:
    """Refuse a file with too many rows before any of it is kept. Line ends are counted, and records only
    where those
    are too many, since a cell may hold several lines."""
    ends = 0
    while chunk := file.read(1 << 20):
        ends += max(chunk.count(b"\n"), chunk.count(b"\r"))
    file.seek(0)
    if ends <= LIMIT:
        return
    text = TextIOWrapper(file, encoding="utf-8-sig", errors="replace", newline="")
    try:
        if sum(1 for _ in zip(csv.reader(text), range(LIMIT + 2), strict=False)) > LIMIT + 1:
            raise too_many_rows()
    except csv.Error:
        pass  # told with its row when the file is read
    finally:
        text.detach()
        file.seek(0)
