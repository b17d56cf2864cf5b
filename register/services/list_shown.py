"""What the steps of a list show of it, and what is taken from what was posted on them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from register.exchange.cells import column_letters
from register.exchange.faults import Fault, Refused, printable
from register.exchange.flat_list.mapping import ListChoices, body
from register.exchange.flat_list.roles import KEEP, ROLES, STATUS, fold
from register.exchange.flat_list.sheet import Sheet
from register.exchange.flat_list.status_words import MEANINGS
from register.fabric.vocabulary import VISIBILITY
from register.services import list_jobs
from register.services.list_jobs import ListJob

SAMPLES, SAMPLE_LENGTH, TOP_LINES, MAX_SHOWN = 4, 70, 12, 200
UNITS = (("", "kg"), ("lb", "lb"), ("cwt", "cwt"), ("t", "tonnes"), ("g", "g"))
ROLE_OPTIONS = tuple((role.name, f"{role.name}: {role.about}") for role in ROLES.values())
MEANING_OPTIONS = tuple((one.name, f"{one.name}: {one.about}") for one in MEANINGS.values())
SECTION_OPTIONS = (("yes", "an assembly: what follows belongs to it"), ("no", "a thing of its own, or a remark"))


@dataclass(frozen=True, slots=True)
class ColumnRow:
    """A column as the page shows it. samples: what it holds; filled: in how many lines."""

    index: int
    letters: str
    heading: str
    samples: tuple[str, ...]
    filled: int
    role: str
    unit: str
    weighs: bool


@dataclass(frozen=True, slots=True)
class WordRow:
    """A word of the status column, or a text that may name an assembly. name: of its field; number: of its
    label."""

    number: int
    name: str
    text: str
    count: int
    chosen: str


# --- columns ----------------------------------------------------------------------------------------------


def columns_page(job: ListJob, data: Mapping[str, str], faults: Iterable[Fault] = ()) -> dict[str, Any]:
    """Every column of the list with what it holds and what it seems to be. data: as posted, kept where it was
    refused."""
    told = [fault.message for fault in faults]
    context: dict[str, Any] = {
        "heading": "Which column is what?",
        "roles": ROLE_OPTIONS,
        "units": UNITS,
        "rows": [],
        "first": data.get("first", ""),
        "last": data.get("last", ""),
    }
    try:
        sheet = list_jobs.sheet_of(job)
    except Refused as refused:
        return {**context, "general_errors": [fault.message for fault in refused.faults], "unreadable": True}
    context |= _sheets(sheet, job)
    context["top"] = [
        (line.line, [_short(cell) for cell in line.cells[:8] if cell.strip()]) for line in sheet.lines[:TOP_LINES]
    ]
    try:
        choices, remembered = list_jobs.shown_choices(job, sheet)
    except Refused as refused:
        first_time = not job.columns and not told
        return {**context, "general_errors": told or [one.message for one in refused.faults], "first_time": first_time}
    if job.columns and not told:
        told = _why_not(job, sheet)
    context |= {
        "general_errors": told,
        "first": context["first"] or choices.first,
        "last": context["last"] or choices.last,
        "remembered": remembered,
        "rows": [_column(sheet, choices, index, data) for index in range(sheet.width)],
        "notes": sheet.notes,
        "lines": sum(1 for line in body(sheet, choices) if not line.is_blank),
    }
    return context


def _why_not(job: ListJob, sheet: Sheet) -> list[str]:
    """Why what is chosen cannot be used."""
    try:
        list_jobs.choices_of(job, sheet)
    except Refused as refused:
        return [fault.message for fault in refused.faults]
    return []


def _sheets(sheet: Sheet, job: ListJob) -> dict[str, Any]:
    chosen = job.sheet or next((one for one in sheet.sheets if f"sheet “{printable(one)}”" in sheet.name), "")
    return {"sheets": sheet.sheets if len(sheet.sheets) > 1 else (), "sheet": chosen}


def _column(sheet: Sheet, choices: ListChoices, index: int, data: Mapping[str, str]) -> ColumnRow:
    texts = [line.cells[index].strip() for line in body(sheet, choices)]
    filled = [text for text in texts if text]
    column = choices.columns[index]
    role = data.get(f"role-{index}", column.role)
    return ColumnRow(
        index,
        column_letters(index),
        _short(column.heading),
        tuple(_short(text) for text in list(dict.fromkeys(filled))[:SAMPLES]),
        len(filled),
        role,
        data.get(f"unit-{index}", column.unit),
        role.startswith("mass"),
    )


def posted_roles(data: Mapping[str, str], width: int) -> tuple[int, int, list[str], list[str]]:
    """(first, last, roles, units) as posted; a column that the form did not have is kept word for word. Raises
    Refused where the lines are no numbers."""
    try:
        first, last = (int(data.get(name, "").strip()[:8]) for name in ("first", "last"))
    except ValueError:
        sentence = "Give the lines of the heading as numbers, such as 3 and 4, or 1 and 1."
        raise Refused([Fault("", None, "first", "", sentence)]) from None
    roles = [data.get(f"role-{index}", KEEP) for index in range(width)]
    units = [data.get(f"unit-{index}", "") for index in range(width)]
    known = {unit for unit, _ in UNITS}
    if not 1 <= first <= last:
        sentence = "The headings begin at line 1 or below, and end in the same line or a later one."
        raise Refused([Fault("", None, "first", "", sentence)])
    return first, last, roles, [unit if unit in known else "" for unit in units]


def _short(text: str) -> str:
    one_line = " ".join(text.split())
    return one_line if len(one_line) <= SAMPLE_LENGTH else one_line[: SAMPLE_LENGTH - 1] + "…"


# --- words ------------------------------------------------------------------------------------------------


def words_page(job: ListJob, faults: Iterable[Fault] = ()) -> dict[str, Any]:
    """Raises Refused where the columns cannot be used."""
    sheet = list_jobs.sheet_of(job)
    choices = list_jobs.choices_of(job, sheet)[0]
    status = choices.column(STATUS)
    texts = [line.cells[status] for line in body(sheet, choices) if not line.is_blank] if status is not None else []
    counts = Counter(fold(text) for text in texts)
    shown = {fold(text): text.strip() for text in reversed(texts)}
    common = counts.most_common(MAX_SHOWN)
    rows = [
        WordRow(number, f"word-{word}", _short(shown[word]), count, choices.words.get(word, ""))
        for number, (word, count) in enumerate(common)
    ]
    written = {fold(text): text for line in body(sheet, choices) for text in line.cells if fold(text) in choices.sections}
    sections = [
        WordRow(number, f"section-{text}", _short(written.get(text, text)), 0, "yes" if names else "no")
        for number, (text, names) in enumerate(list(choices.sections.items())[:MAX_SHOWN])
    ]
    return {
        "heading": "What do its words mean?",
        "status_heading": choices.heading(STATUS),
        "has_status": status is not None,
        "rows": rows,
        "more": len(counts) - len(common),
        "sections": sections,
        "meanings": MEANING_OPTIONS,
        "section_options": SECTION_OPTIONS,
        "visibility": choices.visibility,
        "visibilities": VISIBILITY,
        "has_visibility": choices.column("visibility") is not None,
        "general_errors": [fault.message for fault in faults],
    }


def posted_words(job: ListJob, data: Mapping[str, str]) -> None:
    """Take over what was posted. What is no meaning is refused when the choices are used."""
    for name, value in data.items():
        if name.startswith("word-") and fold(name[5:]) in job.words:
            job.words[fold(name[5:])] = str(value)[:40]
        elif name.startswith("section-") and name[8:] in job.sections:
            job.sections[name[8:]] = value == "yes"
    job.visibility = str(data.get("visibility", job.visibility))[:40]
