"""Handing a find in, once; and writing it anew where the officer returned it with a question.

What is written anew takes the place of what was returned: one change set, one log, and what it said before is kept there.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.exchange.overlay import Keep
from register.exchange.records import Change
from register.models import Act, ChangeSet, FindDraft, User
from register.models.change_set import RETURNED, WAITING
from register.services.change_sets import apply, lock, preview
from register.services.deciding import Decided, state_sentence
from register.services.find_questions import CHECK, pictures_of
from register.services.find_rows import (
    About,
    WrongAnswers,
    changes_of_find,
    parts_of,
    refused_as_wrong,
    title_of,
)
from register.services.finds import MOST_LETTERS, find_of
from register.services.waiting import MAX_TITLE, NOTHING_NEW, HandedIn, hand_in, held_by, note
from register.services.waiting_rows import split

NOTHING_YET = "Nothing is filled in yet: answer one of the questions first."
ONLY_KNOWN_PICTURES = "The register has these pictures of it already, and nothing else is filled in yet."
COUNTS_ALREADY = (
    "What you wrote of this counts since you first handed the find in. Put it back as it was; what was wrong with it "
    "is corrected in its own record, on the part's page."
)


@dataclass(frozen=True, slots=True)
class Sending:
    """What handing in is given. note: what is said beside it."""

    draft: FindDraft
    changes: list[Change]
    title: str
    note: str
    keep: Keep
    at: datetime


class DecidedMeanwhile(WrongAnswers):
    """There is nothing left that this could take the place of; it can be handed in as a find of its own."""

    def __init__(self, what_became: str) -> None:
        sentence = f"{what_became} What you wrote since is kept: hand it in, if you like, as a find of its own."
        super().__init__([("", "", sentence)])


def send(
    user: User,
    key: int,
    *,
    day: date,
    note: str = "",
    keep: Keep = "",
    on_its_own: bool = False,
    at: datetime | None = None,
) -> tuple[FindDraft, HandedIn | None]:
    """Hand the find in; a second time it is what it was the first time, and None. on_its_own: where what it is written
    anew from has been decided. Raises NoFind, WrongAnswers (DecidedMeanwhile), Conflicted; the draft is kept then."""
    when = at or timezone.now()
    with transaction.atomic():
        lock()
        draft = find_of(user, key)
        if draft.sent_at:
            return draft, None
        if draft.sent and draft.sent.state not in (RETURNED, WAITING):
            if not on_its_own:
                raise DecidedMeanwhile(state_sentence(draft.sent, user))
            draft.sent = None
        if len(note) > MOST_LETTERS:
            sentence = f"That is longer than {MOST_LETTERS:,} letters: shorten it."
            raise WrongAnswers([(CHECK, "note", sentence)])
        parts = parts_of(draft, user)
        changes = _changes(draft, parts, day, user)
        sending = Sending(draft, changes, title_of(draft, parts), note.strip(), keep, when)
        try:
            handed = _anew(sending, user) if draft.sent_id else _first(sending, user)
        except Refused as refused:
            raise refused_as_wrong(refused) from refused
        draft.answers = {**draft.answers, CHECK: {"day": day.isoformat(), "note": note}}
        draft.sent_at, draft.sent = when, handed.waiting
        draft.save()
    return draft, handed


def _changes(draft: FindDraft, parts: list[About], day: date, user: User) -> list[Change]:
    if draft.parts and len(parts) != len(draft.parts):
        raise WrongAnswers(
            [("", "", "A part of this find has been struck out or merged since. Begin the find anew.")]
        )
    changes = changes_of_find(draft, day=day, user=user)
    if not changes:
        raise WrongAnswers([("", "", ONLY_KNOWN_PICTURES if pictures_of(draft) else NOTHING_YET)])
    return changes


def _first(sending: Sending, user: User) -> HandedIn:
    return hand_in(
        sending.changes,
        user=user,
        kind="find",
        title=sending.title,
        reason=sending.note,
        token=_token(sending.draft.pk),
        base_no=sending.draft.began_no,
        keep=sending.keep,
        at=sending.at,
    )


def _token(find: int) -> str:
    return f"find-{find}"


# --- written anew -----------------------------------------------------------------------------------------------------


def find_behind(found: ChangeSet) -> FindDraft | None:
    """The find that a returned change set came from, as it was last handed in; None where it came from none, or holds
    only what an opinion that stands has left over."""
    if found.state != RETURNED or found.entries.filter(verb="let stand").exists():
        return None
    return FindDraft.objects.filter(sent=found, sent_at__isnull=False).order_by("-pk").first()


def open_again(user: User, key: int, *, at: datetime | None = None) -> FindDraft:
    """The returned find in its questions, with what was typed: a draft of its own, so that the first stays as it was.
    Twice gives the same one. Raises Decided."""
    with transaction.atomic():
        lock()
        found = ChangeSet.objects.filter(pk=key, author=user).first()
        before = find_behind(found) if found else None
        if found is None or before is None:
            sentence = state_sentence(found, user) if found else "There is no such find of yours."
            raise Decided(f"{sentence} It cannot be opened again.")
        going_on = FindDraft.objects.filter(author=user, sent=found, sent_at=None).first()
        return going_on or FindDraft.objects.create(
            author=user,
            parts=before.parts,
            answers=before.answers,
            began_no=before.began_no,
            changed_at=at or timezone.now(),
            follows_id=before.first_id,
            sent=found,
        )


def question_asked(draft: FindDraft) -> str:
    """What the officer asked of the find that this one is written anew from, "" for none."""
    if draft.sent is None or draft.sent_at is not None or draft.sent.state not in (RETURNED, WAITING):
        return ""
    asked = draft.sent.entries.filter(verb="asked").order_by("-pk").first()
    return asked.text if asked else ""


def _anew(sending: Sending, user: User) -> HandedIn:
    """In the place of what was returned; what it said until now goes into the log."""
    draft, at = sending.draft, sending.at
    found = draft.sent
    assert found is not None
    at_once, rest = split(sending.changes, user)
    act = _count(sending, at_once, user)
    base_no = act.change_no if act else draft.began_no
    held = held_by(rest, base_no=base_no, keep=sending.keep) if rest else None
    if held is None:
        raise Refused([NOTHING_NEW])
    note(found, "written anew", user, sending.note, _token(draft.pk), at, before=found.changes)
    found.title, found.reason, found.state = sending.title[:MAX_TITLE], sending.note, WAITING
    for name, value in held.items():
        setattr(found, name, value)
    found.save()
    return HandedIn(None, None, found)


def _count(sending: Sending, at_once: list[Change], user: User) -> Act | None:
    """The act of what counts at once: the first one, which stays as it was, or a new one where there was none. Raises
    Refused where it would be another."""
    first = Act.objects.filter(token=_token(sending.draft.first_id)).first()
    if not at_once or (first and not preview(at_once).changes_anything):
        return first
    if first:
        raise Refused([Fault("treatments", None, "work", "", COUNTS_ALREADY)])
    token = _token(sending.draft.pk)
    act, _ = apply(
        at_once,
        kind="find",
        user=user,
        reason=sending.note,
        token=token,
        base_no=sending.draft.began_no,
        keep=sending.keep,
        at=sending.at,
    )
    return act
