"""What a list amounts to with the answers to its own questions laid under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from register.exchange.flat_list.answers import ListAnswers
from register.exchange.flat_list.drafting import draft
from register.exchange.flat_list.given import Given, as_texts, still_answers, without_questions
from register.exchange.flat_list.mapping import ListChoices
from register.exchange.flat_list.results import Drafted, Question
from register.exchange.flat_list.sheet import Sheet

ROUNDS = 4
"""How often answers are laid under: an answer to a question that another answer raised needs a round."""


def with_answers(
    sheet: Sheet,
    choices: ListChoices,
    answers: ListAnswers,
    ids: Mapping[str, str],
    given: Mapping[str, Given],
) -> tuple[ListAnswers, Drafted, tuple[Question, ...], dict[str, Given]]:
    """The answers as the list takes them, what it amounts to with them, every question (answered or open, in
    the order of the lines), and the answers that hold.

    One answer may raise a further question (how many, then how heavy), which may have been answered too.
    """
    drafted = draft(sheet, choices, answers, ids)
    asked = {question.key: question for question in drafted.all_questions()}
    seen = list(asked.values())
    held: dict[str, Given] = {}
    for _ in range(ROUNDS):
        found = still_answers(given, seen)
        if found == held:
            break
        held = found
        answers = replace(answers, given=as_texts(held))
        drafted = draft(sheet, choices, answers, ids)
        seen += drafted.all_questions()
        asked |= {question.key: question for question in drafted.all_questions()}
    answered = [replace(one, text=held[one.key].asked) if one.key in held else one for one in asked.values()]
    now = {question.key for question in drafted.all_questions()} | held.keys()
    listed = sorted((one for one in answered if one.key in now), key=lambda one: one.line or 0)
    return answers, without_questions(drafted, held), tuple(listed), held
