"""From the answers of a find to a change set: the rows that it asks the register to take."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change
from register.exchange.schema import TABLES
from register.exchange.values import key_of, parse_texts
from register.fabric.dates import day_in_words
from register.models import Assessment, FindDraft, Part, Photograph, Source, User
from register.policy import may
from register.services.find_questions import (
    CAPTIONS,
    PICTURES,
    QUESTIONS,
    SAID_OF_CLEAR,
    SAID_OF_SURE,
    caption_field,
    pictures_of,
)
from register.services.kept_pictures import file_name

Answers = Mapping[str, str]
Rows = Iterator[tuple[str, str, dict[str, str]]]
"""(question, table, texts)"""

FIELD_OF = {
    ask.column: (question.name, ask.name)
    for question in QUESTIONS.values()
    for ask in question.fields
    if ask.column
}
"""Where a column of the exchange format is asked for."""
FIELD_OF |= {
    "photographs.caption": ("captions", ""),
    "assessments.fraction": ("status", "least"),
    "treatments.replaced": ("work", "least"),
    "citations.source_id": ("evidence", "source"),
    "assessments.assessed_on": ("check", "day"),
}


@dataclass(frozen=True, slots=True)
class About:
    """A part that a find is about: id as typed, name, and what the register holds of it now."""

    code: str
    name: str
    marks: str = ""
    remarks: str = ""
    new: bool = False


class WrongAnswers(Exception):
    """faults: by question and field, sentences; ``("", "")`` for what belongs to none."""

    def __init__(self, faults: list[tuple[str, str, str]]) -> None:
        self.faults = faults
        super().__init__("; ".join(sentence for _, _, sentence in faults))


def parts_of(draft: FindDraft, user: User) -> list[About]:
    """What the find is about, as far as its author may still know of it; where it fits nowhere yet, the part that it would
    bring."""
    if not draft.parts:
        what = draft.answers.get("what", {})
        return [About(_loose_id(draft), what.get("name", ""), new=True)]
    rows = Part.objects.filter(key__in=draft.parts).order_by("key")
    if not may(user, "read what is restricted"):
        rows = rows.filter(access="public")
    return [About(row.code, row.name, row.marks, row.remarks) for row in rows]


def _loose_id(draft: FindDraft) -> str:
    code, number = f"LOOSE-{draft.first_id}", 1
    while Part.objects.filter(key=code.lower()).exists():
        number += 1
        code = f"LOOSE-{draft.first_id}-{number}"
    return code


def changes_of_find(draft: FindDraft, *, day: date, user: User) -> list[Change]:
    """The change set that the answers amount to, on this day. Raises WrongAnswers with every fault."""
    rows = [(question, table, texts) for question, table, texts in _rows(draft, day, user)]
    found: list[Change] = []
    faults: list[tuple[str, str, str]] = []
    merged: dict[tuple[str, str], dict[str, str]] = {}
    for _, table, texts in rows:
        if table == "parts":
            known = merged.get((table, key_of(texts["part_id"])), {})
            merged[table, key_of(texts["part_id"])] = known | texts
        else:
            merged[table, repr(sorted(texts.items()))] = texts
    for (table, _), texts in merged.items():
        values, wrong = parse_texts(TABLES[table], texts)
        faults += [placed(fault) for fault in wrong]
        found.append(Change(table, values))
    faults += _same_day(draft, rows)
    if faults:
        raise WrongAnswers(list(dict.fromkeys(faults)))
    return found


def placed(fault: Fault) -> tuple[str, str, str]:
    """A fault at the question and field that its column is asked in."""
    question, field = FIELD_OF.get(f"{fault.table}.{fault.column}", ("", ""))
    return question, field, fault.message


def _same_day(draft: FindDraft, rows: list[tuple[str, str, dict[str, str]]]) -> list[tuple[str, str, str]]:
    """An assessment of a day on which the part has one already would change that one, which nobody meant."""
    days = {texts["assessed_on"] for _, table, texts in rows if table == "assessments"}
    if days and Assessment.objects.filter(
        part__in=draft.parts, assessed_on_edtf__in=days, state="accepted"
    ).exists():
        sentence = "The part has an accepted assessment of that day already: give another day for yours."
        return [("check", "day", sentence)]
    return []


def _rows(draft: FindDraft, day: date, user: User) -> Rows:
    parts = parts_of(draft, user)
    answers = draft.answers
    assessed = bool(_text(answers, "status", "status"))
    for about in parts:
        yield from _part(about, answers, day)
        yield from _work(about, answers, day)
        if assessed:
            yield from _assessment(about, answers, day, user)
    yield from _evidence(draft, parts, answers, day, assessed)
    yield from _photographs(draft, parts)


def _text(answers: Mapping[str, Answers], question: str, field: str) -> str:
    return str(answers.get(question, {}).get(field, "")).strip()


def _part(about: About, answers: Mapping[str, Answers], day: date) -> Rows:
    notes = []
    if about.new:
        texts = {"part_id": about.code, "name": _text(answers, "what", "name")}
        yield "what", "parts", texts
        if said := _text(answers, "what", "said"):
            notes.append(said)
    if marks := _marks(about, answers):
        yield "marks", "parts", {"part_id": about.code, "marks": marks}
    if mass := _text(answers, "measured", "mass"):
        texts = {"part_id": about.code, "mass_low": "", "mass": mass, "mass_high": ""}  # ends before are gone
        if basis := _text(answers, "measured", "basis"):
            texts["mass_basis"] = basis
        yield "measured", "parts", texts
    if size := _text(answers, "measured", "size"):
        notes.append(f"Measured {day_in_words(day)}: {size}")
    if notes:
        remarks = "\n".join([*([about.remarks] if about.remarks else []), *notes])
        yield "measured", "parts", {"part_id": about.code, "remarks": remarks}


def _marks(about: About, answers: Mapping[str, Answers]) -> str:
    """What was read joins what was read before: an older reading is never dropped for a newer one."""
    read = _text(answers, "marks", "marks")
    if not read:
        return ""
    said = [_text(answers, "marks", "where"), SAID_OF_CLEAR.get(_text(answers, "marks", "clear"), "")]
    more = "; ".join(one for one in said if one)
    line = f"{read} ({more})" if more else read
    if not about.marks:
        return line
    return about.marks if line in about.marks.splitlines() else f"{about.marks}\n{line}"


def _work(about: About, answers: Mapping[str, Answers], day: date) -> Rows:
    if work := _text(answers, "work", "work"):
        least, most = _text(answers, "work", "least"), _text(answers, "work", "most")
        texts = {
            "part_id": about.code,
            "date": _text(answers, "work", "date") or f"by {day.year}",
            "work": work,
            "done_by": _text(answers, "work", "by"),
        }
        texts = {name: text for name, text in texts.items() if text}
        if least or most:  # and between them nothing: that is their middle
            texts |= {"replaced_low": least or "0", "replaced": "", "replaced_high": most or "1"}
        yield "work", "treatments", texts


def _assessment(about: About, answers: Mapping[str, Answers], day: date, user: User) -> Rows:
    least, most = _text(answers, "status", "least"), _text(answers, "status", "most")
    sure = SAID_OF_SURE.get(_text(answers, "why", "sure"), "")
    reason = ". ".join(
        part
        for part in (_text(answers, "why", "why").rstrip("."), f"How sure: {sure}" if sure else "")
        if part
    )
    texts = {
        "part_id": about.code,
        "assessed_on": day.isoformat(),
        "status": _text(answers, "status", "status"),
        "original_since": _text(answers, "status", "since"),
        "original_to": _text(answers, "status", "to"),
        "assessor": user.person.code if user.person else str(user),
        "reason": reason,
    }
    if least or most:
        texts |= {"fraction_low": least or "0", "fraction_high": most or "1"}
    yield "status", "assessments", {name: text for name, text in texts.items() if text}


def _evidence(
    draft: FindDraft, parts: list[About], answers: Mapping[str, Answers], day: date, assessed: bool
) -> Rows:
    """Sources that are new, and a citation of each for every part; they belong to the assessment of the find, if it
    holds one."""
    of_day = {"assessed_on": day.isoformat()} if assessed else {}
    cited = list(draft.answers.get("evidence", {}).get("rows", []))
    if draft.answers.get("evidence", {}).get("mark") == "yes" and _text(answers, "marks", "marks"):
        names = ", ".join(about.name for about in parts[:3])
        cited.insert(
            0,
            {
                "kind": "mark",
                "source": f"Mark on {names}: {_text(answers, 'marks', 'marks')}",
                "locator": _text(answers, "marks", "where"),
                "supports": "yes",
            },
        )
    for number, row in enumerate(cited, start=1):
        code = row["source"]
        if row.get("kind"):
            code = _source_id(draft, number)
            new = {"source_id": code, "kind": row["kind"], "title": row["source"]}
            if row["kind"] == "mark":
                new["date"] = day.isoformat()
            yield "evidence", "sources", new
        for about in parts:
            texts = {
                "part_id": about.code,
                "source_id": code,
                "supports": row.get("supports") or "yes",
                "locator": row.get("locator", ""),
            }
            yield "evidence", "citations", {name: text for name, text in texts.items() if text} | of_day


def _photographs(draft: FindDraft, parts: list[About]) -> Rows:
    """A photograph for every part that the find is about, but for those that the register holds already. Restricted: who
    may see it outside is the officer's to say."""
    for picture in pictures_of(draft):
        for about in parts:
            file = file_name(picture, about.code)
            texts = {
                "file": file,
                "sha256": picture["sha256"],
                "part_id": about.code,
                "caption": _text(draft.answers, CAPTIONS.name, caption_field(picture)),
                "taken": picture["day"],
                "access": "restricted",
            }
            if not Photograph.objects.filter(key=file).exists():
                yield PICTURES.name, "photographs", {name: text for name, text in texts.items() if text}


def _source_id(draft: FindDraft, number: int) -> str:
    code, again = f"FIND-{draft.first_id}-{number}", 1
    while Source.objects.filter(key=code.lower()).exists():
        again += 1
        code = f"FIND-{draft.first_id}-{number}-{again}"
    return code


def title_of(draft: FindDraft, parts: list[About]) -> str:
    """What the find is called in a list: ``Bearing spring: marks, mass, restored``"""
    answers = draft.answers
    told = [
        words
        for question, field, words in (
            ("marks", "marks", "marks"),
            ("measured", "mass", "mass"),
            ("measured", "size", "dimensions"),
            ("work", "work", "work done"),
        )
        if _text(answers, question, field)
    ]
    if status := _text(answers, "status", "status"):
        told.append(status)
    if answers.get("evidence", {}).get("rows"):
        told.append("evidence")
    if pictures := pictures_of(draft):
        told.append("a picture" if len(pictures) == 1 else f"{len(pictures)} pictures")
    names = parts[0].name if len(parts) == 1 else f"{parts[0].name} and {len(parts) - 1} more"
    return f"{names}: {', '.join(told) or 'found'}"[:300]


def refused_as_wrong(refused: Refused) -> WrongAnswers:
    return WrongAnswers([placed(fault) for fault in refused.faults])
