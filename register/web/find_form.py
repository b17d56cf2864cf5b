"""The questions of a find as fields of a form, and their answers as words; whose find it is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, QueryDict

from register.exchange.schema import TABLES
from register.models import FindDraft
from register.policy import may
from register.services.find_questions import CHECK, Question, questions_for
from register.services.finds import NoFind, find_of
from register.web.asking import asking, storable
from register.web.record_form import FormField, read_as


def ask_recorder(request: HttpRequest) -> None:
    if not may(request.user, "record finds"):
        raise PermissionDenied("Recording finds is for recorders, engineers and the heritage officer.")


def draft_of(request: HttpRequest, find: int) -> FindDraft:
    """The person's own; 404 for any other."""
    try:
        return find_of(asking(request), find)
    except NoFind:
        raise Http404 from None


def unanswered(draft: FindDraft) -> list[str]:
    """The questions that have no answer yet, in their order. Nobody is asked why he does not know."""
    needless = {"why"} if draft.answers.get("status", {}).get("skip") else set()
    return [
        one.name
        for one in questions_for(draft)
        if one.name not in needless and not _is_answered(draft.answers.get(one.name), one)
    ]


def _is_answered(held: Mapping[str, Any] | None, question: Question) -> bool:
    """A picture that came after its question was answered has still to be asked about."""
    return held is not None and ("skip" in held or all(ask.name in held for ask in question.fields) or question.name == "evidence")


def next_step(draft: FindDraft) -> str:
    """The first question that has no answer yet."""
    return next(iter(unanswered(draft)), CHECK)


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


def texts_posted(question: Question, data: QueryDict) -> dict[str, str]:
    """The fields of a question as they were posted."""
    return {ask.name: storable(str(data.get(ask.name, ""))) for ask in question.fields}


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
