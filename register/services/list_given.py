"""Answers to the questions of a list, as they are posted."""

from __future__ import annotations

from collections.abc import Mapping

from register.exchange.flat_list.given import MAX_WORDS, STATUSES, WORDS, Given, fault_in, kind_of
from register.exchange.flat_list.results import Question
from register.exchange.flat_list.status_words import RESTORED
from register.services.from_list import Proposal
from register.services.list_jobs import ListJob

__all__ = ["STATUSES", "WORDS", "Given", "Question", "kind_of", "take_answers"]


def take_answers(job: ListJob, proposal: Proposal, data: Mapping[str, str]) -> dict[str, str]:
    """Keep the answers that can be taken; the sentences of the others, by the key of their question.

    data: ``t-KEY`` holds the question as it was shown, ``a-KEY`` the answer, ``s-KEY`` the share. An answer to a
    question that reads otherwise by now is none.
    """
    asked = {one.key: one for one in proposal.asked}
    errors: dict[str, str] = {}
    for name in data:
        key = name[2:]
        if not name.startswith("t-") or key not in asked or data[name] != asked[key].text:
            continue
        answer = _text(data.get(f"a-{key}", ""))
        share = _text(data.get(f"s-{key}", ""))
        one = Given(data[name], answer or (RESTORED if share else ""), share)
        if not one.answer:
            if key in job.given or key in proposal.given:
                job.given[key] = {"asked": one.asked}
            continue
        error = fault_in(asked[key], one)
        if error:
            errors[key] = error
        else:
            job.given[key] = {"asked": one.asked, "answer": one.answer, "share": one.share}
    return errors


def _text(text: str) -> str:
    plain = "".join(letter if letter.isprintable() or letter == "\n" else " " for letter in text)
    return plain.strip()[: MAX_WORDS + 1]
