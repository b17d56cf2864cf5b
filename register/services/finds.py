"""Writing a find down: kept on the server as it grows. It is handed in by ``finds_sent``.

A draft is its author's alone and no part of the register.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.exchange.schema import TABLES
from register.exchange.values import key_of, parse_texts
from register.models import FindDraft, Installation, Part, Source, User
from register.policy import may
from register.services.change_sets import lock
from register.services.find_questions import NEVER_COPIED, QUESTIONS, Question
from register.services.find_rows import WrongAnswers
from register.services.loading import last_change_no

MOST_PARTS = 60
MOST_LETTERS = 20_000


class Stale(Exception):
    """The question was answered otherwise from another page meanwhile. stored: what the draft holds now."""

    def __init__(self, stored: Mapping[str, Any]) -> None:
        self.stored = dict(stored)
        super().__init__("answered otherwise meanwhile")


class NoFind(LookupError):
    """There is no such find of this person's."""


def readable_parts(user: User) -> QuerySet[Part, Part]:
    """The parts that this person may know of."""
    rows = Part.objects.order_by("key")
    return rows if may(user, "read what is restricted") else rows.filter(access="public")


def find_parts(sought: str, user: User) -> QuerySet[Part, Part]:
    """Parts by tag, id, name or mark. A tag may be typed with spaces or hyphens, in either case."""
    tag = "".join(letter for letter in sought if letter.isalnum())
    return readable_parts(user).filter(
        Q(code__icontains=sought)
        | Q(name__icontains=sought)
        | Q(marks__icontains=sought)
        | Q(tag__iexact=tag or sought)
    )


def others_like(part: Part, user: User) -> list[Part]:
    """The parts that are likely to be recorded together with this one: those fitted in positions beside its own."""
    beside = Installation.objects.filter(part=part, removed_edtf="").values(
        "position__parent", "position__vehicle"
    )[:1]
    found = list(beside)
    if not found or found[0]["position__parent"] is None:
        return []
    stays = Installation.objects.filter(
        position__parent=found[0]["position__parent"], removed_edtf=""
    ).exclude(part=part)
    return list(readable_parts(user).filter(key__in=stays.values("part"))[: MOST_PARTS - 1])


def begin(
    user: User, parts: list[str], *, token: str | None = None, at: datetime | None = None
) -> FindDraft:
    """A new draft about these parts; none where what was found fits nowhere yet. Raises Refused."""
    keys = list(dict.fromkeys(key_of(code.strip()) for code in parts if code.strip()))
    known = set(readable_parts(user).filter(key__in=keys).values_list("key", flat=True))
    if len(keys) > MOST_PARTS:
        raise Refused([Fault("", None, "part", "", f"Record at most {MOST_PARTS} parts at once.")])
    if missing := [key for key in keys if key not in known]:
        sentence = f"There is no part {missing[0]} in this register. Look for it by its tag, name or mark."
        raise Refused([Fault("parts", None, "part", missing[0], sentence)])
    with transaction.atomic():
        lock()
        if token and (earlier := FindDraft.objects.filter(token=token, author=user).first()):
            return earlier
        return FindDraft.objects.create(
            author=user,
            parts=keys,
            began_no=last_change_no(),
            changed_at=at or timezone.now(),
            token=token,
        )


def find_of(user: User, key: int) -> FindDraft:
    """The person's own draft. Raises NoFind, for another's too."""
    found = FindDraft.objects.filter(pk=key, author=user).select_related("sent").first()
    if found is None:
        raise NoFind
    return found


def unfinished(user: User) -> QuerySet[FindDraft, FindDraft]:
    return FindDraft.objects.filter(author=user, sent_at=None)


def mark_of(answers: Mapping[str, Any]) -> str:
    """What a page says it was made from, so that an old page is known when it comes back."""
    return hashlib.sha256(json.dumps(answers, sort_keys=True).encode()).hexdigest()[:16]


def answer(
    user: User,
    key: int,
    question: str,
    answers: Mapping[str, Any],
    *,
    was: str | None = None,
    at: datetime | None = None,
) -> FindDraft:
    """Keep the answers to one question, whatever they are. was: ``mark_of`` the answers that the page showed.

    Raises NoFind, Stale; Refused where the find was handed in meanwhile.
    """
    with transaction.atomic():
        lock()
        draft = find_of(user, key)
        if draft.sent_at:
            raise Refused(
                [Fault("", None, "", "", "This find was handed in already. Begin another to add to it.")]
            )
        stored = draft.answers.get(question, {})
        if was is not None and was != mark_of(stored) and dict(stored) != dict(answers):
            raise Stale(stored)
        draft.answers = {**draft.answers, question: dict(answers)}
        draft.changed_at = at or timezone.now()
        draft.save()
    return draft


def add_evidence(
    user: User, key: int, row: Mapping[str, str], *, at: datetime | None = None
) -> FindDraft:
    """One more source of the find. The same one twice is one. Raises NoFind, Refused, WrongAnswers."""
    row = {name: text.strip() for name, text in row.items()}
    if not row["kind"]:
        row |= {"source": _known_source(row["source"], user)}
    faults = faults_in(QUESTIONS["evidence"], row)
    if faults:
        raise WrongAnswers(faults)
    with transaction.atomic():
        lock()
        held = find_of(user, key).answers.get("evidence", {})
        rows = list(held.get("rows", []))
        if row not in rows:
            rows.append(row)
        return answer(user, key, "evidence", {**held, "rows": rows}, at=at)


def _known_source(text: str, user: User) -> str:
    """The id of the one source that is meant. Raises WrongAnswers with a sentence."""
    rows = Source.objects.order_by("key")
    if not may(user, "read what is restricted"):
        rows = rows.filter(access="public")
    exact = rows.filter(key=key_of(text)).first()
    if exact:
        return exact.code
    found = list(rows.filter(Q(title__icontains=text) | Q(reference__icontains=text))[:6]) if text else []
    if len(found) == 1:
        return found[0].code
    if not text:
        sentence = "Say which source, by its id or what it is called."
    elif found:
        sentence = "Several sources are called that; give the id of one: " + "; ".join(
            f"{one.code} ({one.title[:60]})" for one in found
        )
    else:
        sentence = f"No source of the register is called “{text[:60]}”. If it is new, say what kind it is."
    raise WrongAnswers([("evidence", "source", sentence)])


def faults_in(question: Question, answers: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    """What can be told of the answers to one question before anything else is known: (question, field, sentence)."""
    faults = []
    for ask in question.fields:
        text = str(answers.get(ask.name, ""))
        if ask.required and not text.strip():
            faults.append((question.name, ask.name, "It is needed: say what you would call it."))
        elif len(text) > MOST_LETTERS:
            faults.append(
                (question.name, ask.name, f"That is longer than {MOST_LETTERS:,} letters: shorten it.")
            )
        elif ask.column and text.strip():
            table, _, column = ask.column.partition(".")
            _, wrong = parse_texts(TABLES[table], {column: text})
            faults += [(question.name, ask.name, fault.message) for fault in wrong]
    return faults


def previous_answers(user: User, draft: FindDraft, question: str) -> Mapping[str, Any]:
    """What the person answered to the same question in the find before this one; empty where there is none."""
    if question in NEVER_COPIED:
        return {}
    for other in FindDraft.objects.filter(author=user, pk__lt=draft.pk).order_by("-pk")[:20]:
        if other.answers.get(question):
            found: Mapping[str, Any] = other.answers[question]
            return found
    return {}


def discard(user: User, key: int) -> None:
    """Throw an unfinished find away. Raises NoFind."""
    with transaction.atomic():
        lock()
        draft = find_of(user, key)
        if draft.sent_at is None:
            draft.delete()
