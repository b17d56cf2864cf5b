"""One cell of the exchange format: text to value and back, a reader and a writer for every kind of column.

A reader raises ValueError with a whole sentence: what is wrong, and what to write instead.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable, Mapping
from difflib import get_close_matches
from functools import cache
from typing import Any, NamedTuple

from register.exchange.faults import Fault, printable
from register.exchange.schema import MAX_TEXT, Column, Table
from register.fabric.dates import HistoricDate, read_date, read_day
from register.fabric.interval import Interval
from register.fabric.quantities import read_count, read_fraction, read_mass, write_fraction, write_mass

MAX_NAME = 200
"""Characters in a person's name and in the name of a file."""
TAG_LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
"""No 0 O 1 I L: a tag is read aloud and typed by people."""

ID = re.compile(r"[A-Za-z0-9_.-]{1,40}")
TAG = re.compile(f"[{TAG_LETTERS}]{{8}}")
SHA256 = re.compile(r"[0-9a-f]{64}")
_NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_LEADING = " \u00a0"
_DRIVE = re.compile(r"[A-Za-z]:")

Reader = Callable[[str], Any]


class MassText(NamedTuple):
    """A mass that may be a range or have a tolerance: kept as it was typed, beside what it means in grams."""

    text: str
    interval: Interval


def key_of(code: str) -> str:
    """Ids are compared without case: the key of an id is its lower-case form."""
    return code.lower()


def read_value(column: Column, text: str) -> Any:
    """The value of a cell, None where it is empty or blank.

    text, id, ref, person, words ``"a;b"``, choice, tag, sha256, file: str. date, day: HistoricDate. yes:
    bool. count: int. mass: Interval in grams, MassText where the column holds a range of its own. fraction:
    Interval in millionths.
    """
    return None if not text or text.isspace() else reader(column)(text)


def write_value(column: Column, value: Any) -> str:
    """What ``read_value`` reads as ``value``; "" for None. Masses in grams and fractions in millionths may
    be plain whole numbers, as they are stored."""
    if value is None:
        return ""
    if isinstance(value, HistoricDate | MassText):
        return value.text
    if isinstance(value, bool):
        return "yes" if value else "no"
    if column.kind == "mass":
        return _write_mass(value)
    if column.kind == "fraction":
        return write_fraction(value.low if isinstance(value, Interval) else value)
    return str(value)


def missing_required(table: Table, values: Mapping[str, Any]) -> list[str]:
    """The columns that a new record cannot do without and that ``values`` leaves empty or does not have."""
    return [column.name for column in table.columns if column.required and values.get(column.name) is None]


def parse_texts(table: Table, texts: Mapping[str, str]) -> tuple[dict[str, Any], list[Fault]]:
    """The values of a form's fields by column name, and their faults; a field at fault is not among the
    values."""
    values: dict[str, Any] = {}
    faults: list[Fault] = []
    for name, text in texts.items():
        if name not in table.by_name:
            faults.append(Fault(table.name, None, name, "", unknown_column(table, name)))
            continue
        try:
            values[name] = read_value(table.by_name[name], text)
        except ValueError as sentence:
            faults.append(Fault(table.name, None, name, text, str(sentence)))
    return values, faults


def unknown_column(table: Table, name: str) -> str:
    hint = did_you_mean(name, table.header) or f"The columns are {', '.join(table.header)}."
    return f"No column of {table.name} is called “{printable(name)}”. {hint}"


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """A question naming the known name that was probably meant, "" if none comes near."""
    plain = "_".join(name[:100].casefold().replace("-", " ").replace("_", " ").split())
    near = get_close_matches(plain, list(known), 1, 0.75)
    return f"Did you mean “{near[0]}”?" if near else ""


@cache
def reader(column: Column) -> Reader:
    """The function that reads the cells of a column, for texts that are not blank."""
    return _READERS[column.kind](column)


def read_id(text: str) -> str:
    """An id: 1-40 ASCII letters, digits, ``-``, ``_`` and ``.``; one string for each, however often it is
    read."""
    code = text.strip()
    if ID.fullmatch(code):
        return sys.intern(code)
    if len(code) > 40:
        raise ValueError(f"An id has at most 40 characters, and this has {len(code)}: make a shorter one.")
    odd = next(letter for letter in code if not ID.fullmatch(letter))
    name = "a space" if odd == " " else f"“{odd}” (U+{ord(odd):04X})"
    raise ValueError(
        f"An id cannot hold {name}: only the letters A to Z, digits, “-”, “_” and “.”. "
        "What is painted or stamped goes into marks."
    )


def read_text(text: str) -> str:
    """Text as typed, spaces around it taken off, every line end a newline."""
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    if found := _NO_TEXT.search(text):
        raise ValueError(
            f"The text holds a control character (U+{ord(found[0]):04X}), which cannot be kept: type it "
            "again."
        )
    text = text.lstrip(_LEADING).rstrip()
    if len(text) > MAX_TEXT:
        raise ValueError(
            f"The text has {len(text):,} characters, and a cell has at most {MAX_TEXT:,}: "
            "put it into a document, and name that as a source."
        )
    return text


def _person(text: str) -> str:
    name = read_text(text).strip()
    if len(name) > MAX_NAME or "\n" in name:
        raise ValueError(f"A person_id or a name stands here, on one line of at most {MAX_NAME} characters.")
    return sys.intern(name)


def _words(text: str) -> str | None:
    return ";".join(word for part in read_text(text).split(";") if (word := part.strip())) or None


def _file(text: str) -> str:
    name = read_text(text).strip()
    parts = name.split("/")
    if len(name) > MAX_NAME or "\n" in name or "\t" in name:
        raise ValueError(f"The name of a file stands on one line of at most {MAX_NAME} characters.")
    if (
        name.startswith("/")
        or "\\" in name
        or _DRIVE.match(name)
        or any(part in ("", ".", "..") for part in parts)
    ):
        raise ValueError(
            "A file is named from the folder of the tables downwards, such as photographs/chimney.jpg: "
            "no drive, no “\\”, no “..”, no “/” at the beginning or the end."
        )
    return name


def _tag(text: str) -> str:
    tag = text.strip().upper()
    if not TAG.fullmatch(tag):
        raise ValueError(
            "A tag has eight characters, digits 2 to 9 and letters other than I, L and O. "
            "Leave it empty, and one is made."
        )
    return tag


def _sha256(text: str) -> str:
    digest = text.strip().lower()
    if not SHA256.fullmatch(digest):
        raise ValueError(
            "A SHA-256 has 64 digits from 0 to 9 and a to f. Leave it empty, and it is worked out."
        )
    return digest


def _day(text: str) -> HistoricDate:
    return HistoricDate(text.strip(), read_day(text).isoformat())


def _fraction(text: str) -> Interval:
    return _share(read_fraction(text))


@cache
def _share(millionths: int) -> Interval:
    return Interval.exactly(millionths)


def _yes(text: str) -> bool:
    answer = _fold(text)
    if answer not in _ANSWERS:
        raise ValueError("Write yes or no.")
    return _ANSWERS[answer]


_ANSWERS = {"yes": True, "true": True, "no": False, "false": False}


def _date_reader(column: Column) -> Reader:
    as_built = column.as_built
    return lambda text: read_date(text, as_built=as_built)


def _mass_reader(column: Column) -> Reader:
    if column.part != "whole":
        return read_mass
    return lambda text: MassText(text.strip(), read_mass(text))


def _choice_reader(column: Column) -> Reader:
    known = {choice: choice for choice in column.choices}
    folded = {_fold(choice): choice for choice in column.choices}

    def read(text: str) -> str:
        choice = known.get(text) or folded.get(_fold(text))
        if choice is None:
            raise ValueError(f"Write one of: {', '.join(column.choices)}.")
        return choice

    return read


def _choices_reader(column: Column) -> Reader:
    folded = {_fold(choice): choice for choice in column.choices}

    def read(text: str) -> str | None:
        words = [word for part in text.split(";") if (word := _fold(part))]
        unknown = [word for word in words if word not in folded]
        if unknown:
            raise ValueError(
                f"“{unknown[0]}” is not among the words for this column: write any of "
                f"{', '.join(column.choices)}, "
                "with “;” between them."
            )
        given = {folded[word] for word in words}
        return sys.intern(";".join(choice for choice in column.choices if choice in given)) or None

    return read


def _fold(text: str) -> str:
    return " ".join(text.split()).casefold()


def _write_mass(value: int | Interval) -> str:
    if isinstance(value, int):
        return write_mass(value)
    if value.is_exact:
        return write_mass(value.low)
    return f"{write_mass(value.low).removesuffix(' kg')}-{write_mass(value.high)}"


def _same(read: Reader) -> Callable[[Column], Reader]:
    return lambda column: read


_READERS: dict[str, Callable[[Column], Reader]] = {
    "id": _same(read_id),
    "ref": _same(read_id),
    "person": _same(_person),
    "text": _same(read_text),
    "words": _same(_words),
    "date": _date_reader,
    "day": _same(_day),
    "yes": _same(_yes),
    "choice": _choice_reader,
    "choices": _choices_reader,
    "mass": _mass_reader,
    "fraction": _same(_fraction),
    "count": _same(read_count),
    "tag": _same(_tag),
    "sha256": _same(_sha256),
    "file": _same(_file),
}
