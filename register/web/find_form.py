"""The questions of a find as fields of a form, and their answers as words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import QueryDict

from register.exchange.schema import TABLES
from register.models import FindDraft
from register.services.find_questions import QUESTIONS, Question
from register.web.asking import storable
from register.web.record_form import FormField, read_as


def fields_for(
    question: Question, shown: Mapping[str, Any], faults: list[tuple[str, str, str]]
) -> list[FormField]:
    """Fields filled with what is known, and the faults found in them."""
    errors = {name: sentence for where, name, sentence in faults if where in (question.name, "")}
    found = []
    for ask in question.fields:
        value = str(shown.get(ask.name, ""))
        table, _, column = ask.column.partition(".")
        found.append(
            FormField(
                ask.name,
                ask.label,
                ask.kind,
                value,
                ask.hint,
                ask.example,
                ask.required,
                ask.options,
                frozenset({value} if value else ()),
                errors.get(ask.name, ""),
                read_as(TABLES[table].by_name[column], value) if table and column else "",
            )
        )
    return found


def texts_posted(step: str, data: QueryDict) -> dict[str, str]:
    """The fields of a question as they were posted."""
    return {ask.name: storable(str(data.get(ask.name, ""))) for ask in QUESTIONS[step].fields}


def answer_words(question: Question, answers: Mapping[str, Any]) -> list[tuple[str, str]]:
    """(label, text) of what was answered; the words of the button that was pressed instead."""
    if skipped := dict(question.skips).get(str(answers.get("skip", ""))):
        return [("", skipped)]
    found = []
    for ask in question.fields if question.name != "evidence" else ():
        text = str(answers.get(ask.name, "")).strip()
        if text:
            found.append((ask.label, dict(ask.options).get(text, text)))
    return found


def evidence_rows(draft: FindDraft) -> list[dict[str, Any]]:
    """The sources that a find names, the mark that was read among them."""
    held = draft.answers.get("evidence", {})
    rows = held.get("rows", [])
    return [
        {**row, "number": number, "for": row.get("supports", "yes") != "no"} for number, row in enumerate(rows)
    ]
