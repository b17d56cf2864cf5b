"""Answers to the questions of a list: what kind of answer each takes, and whether one can be taken.

An answer holds for the question as it was put, word for word. Where the list says something else next time,
so that the question reads otherwise, it is asked again.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from register.exchange.flat_list.results import Drafted, Question
from register.exchange.flat_list.status_words import (
    MODERN,
    NOT_ASSESSED,
    ORIGINAL,
    REPLICA,
    RESTORED,
    WEAR,
)
from register.exchange.schema import TABLES
from register.exchange.values import parse_texts
from register.fabric.dates import AS_BUILT
from register.fabric.vocabulary import VISIBILITY

STATUSES = (ORIGINAL, RESTORED, REPLICA, MODERN, NOT_ASSESSED, WEAR)
WORDS = "words"
MAX_WORDS = 2_000
_CHECKED_AS = {
    "fitted": ("installations", "fitted"),
    "removed": ("installations", "removed"),
    "seen on": ("installations", "seen_on"),
    "lost": ("parts", "disposal_date"),
    "made": ("parts", "made"),
    "how many": ("parts", "quantity"),
    "weight": ("parts", "mass"),
    "done by": ("treatments", "done_by"),
}
"""The column whose rules an answer has to keep."""
_RANGE = re.compile(r"(?P<low>[0-9.]+ ?%?) ?(?:-|–|to) ?(?P<high>[0-9.]+ ?%?)")


@dataclass(frozen=True, slots=True)
class Given:
    """asked: the question, as it was put. answer: a value, or words. share: of what is restored, how much of
    it survives. settled: it was dealt with in the register itself, and nothing of it is entered here."""

    asked: str
    answer: str = ""
    share: str = ""
    settled: bool = False


def kind_of(question: Question) -> str:
    """What its answer is: ``status``, ``visibility``, a key of the columns above, or ``words``."""
    if question.line is None:
        return WORDS
    if question.about in _CHECKED_AS or question.about in ("status", "visibility"):
        return question.about
    return WORDS


def fault_in(question: Question, given: Given) -> str:
    """The sentence that says why this is no answer to the question, "" where it is one."""
    kind = kind_of(question)
    if kind == "status":
        return _fault_in_status(given)
    if kind == "visibility":
        return "" if given.answer in VISIBILITY else f"Choose one of: {', '.join(VISIBILITY)}."
    if kind == WORDS:
        too_long = len(given.answer) > MAX_WORDS
        return f"Say it in at most {MAX_WORDS:,} letters, or put it into a document." if too_long else ""
    if kind in ("removed", "made", "lost") and given.answer.strip().casefold() == AS_BUILT:
        return "“As built” is no date for that. Give a year, or leave the question open."
    table, column = _CHECKED_AS[kind]
    return _fault_in_cells(table, {column: given.answer})


def _fault_in_status(given: Given) -> str:
    if given.answer not in STATUSES:
        return f"Choose one of: {', '.join(STATUSES)}."
    if given.share and given.answer != RESTORED:
        return "How much survives is said of what is restored only. Choose restored, or leave the share empty."
    return _fault_in_cells("assessments", shares_of(given.share)) if given.share else ""


def shares_of(text: str) -> dict[str, str]:
    """The columns that one share, or a range of them ("30-50%"), fills."""
    found = _RANGE.fullmatch(text.strip())
    if not found:
        return {"fraction": text.strip()}
    low, high = found["low"], found["high"]
    if high.endswith("%") and not low.endswith("%"):
        low += "%"
    return {"fraction_low": low, "fraction_high": high}


def _fault_in_cells(table: str, texts: Mapping[str, str]) -> str:
    _, faults = parse_texts(TABLES[table], texts)
    return faults[0].message if faults else ""


def still_answers(given: Mapping[str, Given], asked: Iterable[Question]) -> dict[str, Given]:
    """The answers to questions that are asked now in the words in which they were answered; one that was
    taken back, and is empty, is none."""
    texts = {(question.key, question.text) for question in asked}
    return {
        key: one
        for key, one in given.items()
        if (key, one.asked) in texts and (one.answer or one.share or one.settled)
    }


def as_texts(given: Mapping[str, Given]) -> dict[str, str]:
    """As ``ListAnswers.given`` takes them."""
    found = {key: one.answer for key, one in given.items() if not one.settled}
    for key, one in given.items():
        if one.share:
            found[f"{key.removesuffix('status')}share"] = one.share
    return found


def without_questions(drafted: Drafted, answered: Collection[str]) -> Drafted:
    """The same without the questions of these keys."""
    if not answered:
        return drafted

    def still(questions: tuple[Question, ...]) -> tuple[Question, ...]:
        return tuple(one for one in questions if one.key not in answered)

    lines = tuple(
        replace(line, questions=still(line.questions)) if line.questions else line for line in drafted.lines
    )
    return replace(drafted, lines=lines, questions=still(drafted.questions))
