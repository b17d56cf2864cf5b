"""The lines of a list, told apart: what is a thing, an assembly, a total, a blank; each thing with its
name and ids."""

from __future__ import annotations

import hashlib
import itertools
import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from register.exchange.flat_list.mapping import ListChoices, body, is_total, section_of
from register.exchange.flat_list.roles import (
    IGNORE,
    ITEM,
    KEEP,
    NUMBER,
    REMARKS,
    SECTION,
    fold,
)
from register.exchange.flat_list.sheet import Sheet, SheetLine

MAX_ID = 40
READ = 1_000
"""Characters of a remark that are searched for words: what is longer wants a reader."""
MAX_PREFIX = 18
"""Characters of what all ids of a list begin with, so that no id is cut short."""
_NAMED = 16
_LIKE_A_POSITION = re.compile(r"P\d.*")
_SIDES = re.compile(
    r"^(?P<side>(?:(?:[A-D]|[LR]|LH|RH|N/S|O/S|left|right|near|off|front|rear|leading|trailing|driving|"
    r"middle|centre|upper|lower|inner|outer|top|bottom|"
    r"inside|outside|end|side|hand)[ -]?){1,3})(?=$|[.,;:!]|\s+[-–—]\s)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Thing:
    """One line of the list. kind: thing, section, blank, heading (repeated), total,
    note. cells: by role. remark: word for word.
    said: the whole line with its headings. ident: the end of its ids. name: told apart from its namesakes."""

    line: int
    kind: str
    cells: Mapping[str, str] = field(default_factory=dict)
    remark: str = ""
    said: str = ""
    section: str = ""
    ident: str = ""
    name: str = ""
    tell: str = ""

    @property
    def read(self) -> str:
        """As much of the remark as is read for what it says; all of it is kept."""
        return self.remark[:READ]

    def cell(self, role: str) -> str:
        return self.cells.get(role, "").strip()

    @property
    def number(self) -> str:
        return self.cell(NUMBER)

    @property
    def item(self) -> str:
        return " ".join(self.cell(ITEM).split())


def things_of(sheet: Sheet, choices: ListChoices) -> list[Thing]:
    """Every line below the heading, in order."""
    found: list[Thing] = []
    section = ""
    headings = [_folded(line) for line in sheet.lines if choices.first <= line.line <= choices.last]
    for line in body(sheet, choices):
        is_heading = not line.is_blank and _folded(line) in headings
        thing = Thing(line.line, "heading") if is_heading else _thing(line, choices)
        if thing.kind == "section":
            section = thing.item
        own = thing.cell(SECTION)
        found.append(replace(thing, section=own or section))
    return found


def _folded(line: SheetLine) -> tuple[str, ...]:
    return tuple(fold(cell) for cell in line.cells)


def _thing(line: SheetLine, choices: ListChoices) -> Thing:
    cells = {
        column.role: text
        for column, text in zip(choices.columns, line.cells, strict=True)
        if text.strip() and column.role not in (KEEP, IGNORE, REMARKS)
    }
    remark = "\n".join(
        line.cells[index].strip() for index in choices.columns_of(REMARKS) if line.cells[index].strip()
    )
    said = "; ".join(
        f"{choices.label(index)}: {text.strip()}"
        for index, text in enumerate(line.cells)
        if text.strip() and choices.columns[index].role not in (REMARKS, IGNORE)
    )
    if line.is_blank:
        return Thing(line.line, "blank")
    if is_total(line, choices):
        return Thing(line.line, "total", cells, remark, said)
    section = section_of(line, choices)
    if section and choices.sections.get(fold(section[0]), section[1]):
        return Thing(line.line, "section", {ITEM: section[0].rstrip(": ")}, "", said)
    kind = "thing" if cells.get(ITEM, "").strip() else "note"
    return Thing(line.line, kind, cells, remark, said)


# --- ids and names ----------------------------------------------------------------------------------------


def with_ids(things: Sequence[Thing], remembered: Mapping[str, str]) -> tuple[list[Thing], dict[str, str]]:
    """Things with the end of their ids, and what tells each line again to it.

    A line is told by the list's own number, else by its assembly and name (the second of a name by being the
    second). What is remembered of an earlier import of the list keeps its id; a new line never takes one that
    was used.
    """
    ids = dict(remembered)
    taken = set(ids.values())
    running = (f"{number:02d}" for number in itertools.count(1))
    keys = _keys(things)
    for key, thing in keys:
        if key not in ids:
            ids[key] = _free(_ident(thing), taken, running)
            taken.add(ids[key])
    known = {thing.line: ids[key] for key, thing in keys}
    return [replace(thing, ident=known.get(thing.line, "")) for thing in things], ids


def _keys(things: Iterable[Thing]) -> list[tuple[str, Thing]]:
    seen: Counter[str] = Counter()
    found = []
    for thing in things:
        if thing.kind != "thing":
            continue
        stem = f"no {fold(thing.number)}" if thing.number else f"{fold(thing.section)}/{fold(thing.item)}"
        seen[stem] += 1
        found.append((stem if seen[stem] == 1 else f"{stem} ({seen[stem]})", thing))
    return found


def _ident(thing: Thing) -> str:
    """From the list's own number, two digits at least; "" where it has none."""
    plain = re.sub(r"\.0+$", "", thing.number)
    return (
        f"{int(plain):02d}"
        if plain.isascii() and plain.isdigit() and len(plain) < 10
        else slug(thing.number)[:12]
    )


def _free(ident: str, taken: set[str], running: Iterator[str]) -> str:
    """An end of ids that is not taken: the list's own number, else the next running one."""
    if not ident:
        return next(one for one in running if one not in taken)
    if ident not in taken:
        return ident
    numbers = itertools.count(2)
    return next(one for number in numbers if (one := f"{ident}-{number}") not in taken)


def slug(text: str) -> str:
    """Letters, digits and hyphens, for the end of an id; never empty for a text that holds anything."""
    plain = re.sub(
        r"[^A-Za-z0-9]+", "-", unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    ).strip("-")
    return plain or (f"X{hashlib.sha256(text.encode()).hexdigest()[:6]}" if text.strip() else "")


def make_id(prefix: str, *ends: str) -> str:
    """An id of at most 40 characters."""
    return "-".join([prefix, *(end for end in ends if end)])[:MAX_ID].rstrip("-._")


class NamedIds:
    """Ids made from names (assemblies, places, books): the same name has the same id, another name never
    has it."""

    def __init__(self, prefix: str) -> None:
        self.prefix = prefix
        self._ids: dict[tuple[str, str], str] = {}

    def of(self, table: str, name: str, *before: str) -> str:
        key = (table, fold(name))
        if key not in self._ids:
            end = slug(name).upper()[:_NAMED]
            end = f"S-{end}" if _LIKE_A_POSITION.fullmatch(end) else end
            taken = set(self._ids.values())
            candidates = (
                make_id(self.prefix, *before, end, "" if number == 1 else str(number))
                for number in range(1, 1_000_000)
            )
            self._ids[key] = next(one for one in candidates if one not in taken)
        return self._ids[key]


def with_names(things: Sequence[Thing]) -> list[Thing]:
    """Things with a name that no other thing of the list has: by the side that the remark begins with, else
    by number."""
    groups: dict[str, list[Thing]] = defaultdict(list)
    for thing in things:
        if thing.kind == "thing":
            groups[fold(thing.item)].append(thing)
    names: dict[int, tuple[str, str]] = {}
    for group in groups.values():
        sides = {thing.line: _side(thing.read) for thing in group}
        counts = Counter(fold(side) for side in sides.values())
        for thing in group:
            side = sides[thing.line]
            if len(group) == 1:
                names[thing.line] = (thing.item, "")
            elif side and counts[fold(side)] == 1:
                names[thing.line] = (f"{thing.item}, {side}", f"told apart by “{side}” in the remark")
            else:
                names[thing.line] = (
                    f"{thing.item} (No {thing.number or thing.ident})",
                    "told apart by its number in the list",
                )
    return [
        replace(thing, name=names[thing.line][0], tell=names[thing.line][1]) if thing.line in names else thing
        for thing in things
    ]


def _side(remark: str) -> str:
    found = _SIDES.match(remark.strip())
    return found["side"].strip(" -") if found else ""


def is_bare(thing: Thing) -> bool:
    """Whether a line says nothing of the thing but its name."""
    return not any(text.strip() for role, text in thing.cells.items() if role not in (NUMBER, ITEM, SECTION))
