"""What becomes of a change set that waits: one table of decisions, who may take each, and from which state.

A decision and what it writes are one transaction, behind the lock that every writer queues for: of two officers who
decide at the same moment one is told that the other was quicker.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.exchange.overlay import Keep
from register.exchange.schema import MAX_TEXT
from register.models import Act, ChangeSet, ReviewEntry, User
from register.models.change_set import (
    ACCEPTED,
    OPEN,
    RETURNED,
    SETTLED,
    STANDING,
    SUPERSEDED,
    WAITING,
    WITHDRAWN,
)
from register.policy import may
from register.services.change_sets import apply, lock
from register.services.loading import load_register, scope_of
from register.services.waiting import note
from register.services.waiting_rows import (
    as_accepted,
    as_withdrawn,
    changes_of,
    opinion_in,
    stored_rows,
    taken_since,
)

LET_STAND = "let an opinion stand"
"""The act by which an assessment became an opinion of its own."""


class Decided(Exception):
    """Somebody was quicker, or it is not this person's to decide. str() is the sentence."""


@dataclass(frozen=True, slots=True)
class Deciding:
    """What a decision is given."""

    change_set: ChangeSet
    user: User
    reason: str
    keep: Keep
    at: datetime


def _accept(given: Deciding) -> Act | None:
    """Apply it: from now on it counts."""
    found = given.change_set
    if faults := taken_since(found):
        raise Refused(faults)
    act, _ = apply(
        as_accepted(changes_of(found), found),
        kind=f"accept {found.kind or 'draft'}",
        user=given.user,
        reason=given.reason or found.reason,
        base_no=found.base_no,
        keep=given.keep,
        at=given.at,
    )
    found.state = ACCEPTED
    return act


def _let_stand(given: Deciding) -> Act | None:
    """Keep its assessments as the opinion of their author beside what is accepted: drafts that stand, and count in no
    figure. What else it holds goes on waiting."""
    found = given.change_set
    if found.row_id:
        found.state = STANDING
        return None
    drafts, rest = opinion_in(changes_of(found))
    act, result = apply(
        drafts,
        kind=LET_STAND,
        user=given.user,
        reason=given.reason or found.reason,
        at=given.at,
    )
    for one in ChangeSet.objects.filter(row_id__in=result.new_drafts):
        one.state, one.kind, one.author, one.title = STANDING, "opinion", found.author, found.title
        one.reason = found.reason
        one.save()
        note(one, "let stand", given.user, given.reason, None, given.at)
    if rest:
        found.changes = stored_rows(rest, load_register(scope_of(rest)))
    else:
        found.state = ACCEPTED
    return act


def _to(state: str) -> Callable[[Deciding], Act | None]:
    def only_the_state(given: Deciding) -> Act | None:
        given.change_set.state = state
        return None

    return only_the_state


def _close_as(state: str) -> Callable[[Deciding], Act | None]:
    """It never counts. A draft that the exchange format knows by its row_id is a withdrawn assessment there."""

    def closed(given: Deciding) -> Act | None:
        found, act = given.change_set, None
        if found.row_id:
            rows = as_withdrawn(changes_of(found), found)
            act, _ = apply(
                rows, kind=f"{state} draft", user=given.user, reason=given.reason or state, at=given.at
            )
        found.state = state
        return act

    return closed


@dataclass(frozen=True, slots=True)
class Verb:
    """said: in the log. states: from which it is possible. by_author: the author's own, else the officer's.
    needs: the sentence where a reason is needed and missing."""

    said: str
    states: tuple[str, ...]
    work: Callable[[Deciding], Act | None]
    by_author: bool = False
    needs: str = ""


VERBS = {
    "accept": Verb("accepted", OPEN, _accept),
    "let stand": Verb("let stand", (WAITING, RETURNED), _let_stand),
    "ask": Verb("asked", (WAITING,), _to(RETURNED), needs="Write the question: its author will see it."),
    "answer": Verb(
        "answered",
        (RETURNED,),
        _to(WAITING),
        by_author=True,
        needs="Write the answer: the officer will see it.",
    ),
    "supersede": Verb(
        "superseded",
        (WAITING, RETURNED),
        _close_as(SUPERSEDED),
        needs="Say what takes its place, or why it is not taken: its author will read it.",
    ),
    "settle": Verb("settled", (STANDING,), _close_as(SETTLED), needs="Say how it was settled."),
    "withdraw": Verb("withdrawn", OPEN, _close_as(WITHDRAWN), by_author=True),
}


def decide(
    key: int,
    verb: str,
    *,
    user: User,
    reason: str = "",
    token: str | None = None,
    keep: Keep = "",
    seen: int | None = None,
    at: datetime | None = None,
) -> ChangeSet:
    """Take a decision. token: of the form; a second time it changes nothing. keep: who wins where a record was changed
    since it was handed in, "file" being the change set. seen: ``version_of`` what was on the page, None for whatever it is.

    Raises Decided, Refused or Conflicted, each with its sentences; nothing is changed then. KeyError for no such verb.
    """
    how = VERBS[verb]
    with transaction.atomic():
        lock()
        found = ChangeSet.objects.filter(pk=key).first()
        if found is None:
            raise Decided("There is no such change set.")
        if token and ReviewEntry.objects.filter(token=token).exists():
            return found
        _refuse_unless_allowed(found, how, user)
        if seen is not None and seen != version_of(found):
            raise Decided("Its author wrote it anew since you opened this page: look at it as it is now.")
        if how.needs and not reason.strip():
            raise Refused([Fault("", None, "reason", "", how.needs)])
        refuse_if_too_long(reason)
        when = at or timezone.now()
        act = how.work(Deciding(found, user, reason.strip(), keep, when))
        if act is not None:
            found.decided_by = act
        found.save()
        note(found, how.said, user, reason.strip(), token, when)
    return found


def version_of(change_set: ChangeSet) -> int:
    """How often its author wrote it anew."""
    return change_set.entries.filter(changes__isnull=False).count()


def _refuse_unless_allowed(found: ChangeSet, how: Verb, user: User) -> None:
    if how.by_author and found.author_id != user.pk:
        raise Decided("Only its author can do this.")
    if not how.by_author and not may(user, "review"):
        raise Decided("Deciding is for the heritage officer.")
    if found.state not in how.states:
        raise Decided(f"{state_sentence(found, user)} Nothing was changed now.")


def refuse_if_too_long(text: str) -> None:
    """What is written beside a decision has a limit, and is never cut without a word."""
    if len(text) > MAX_TEXT:
        sentence = f"That is longer than {MAX_TEXT:,} letters: shorten it, or make it a source."
        raise Refused([Fault("", None, "reason", "", sentence)])


SENTENCES = {
    WAITING: "It waits for review",
    RETURNED: "It was returned with a question",
    STANDING: "It was let stand as a differing opinion",
    ACCEPTED: "It was accepted",
    SUPERSEDED: "It was superseded",
    WITHDRAWN: "It was withdrawn",
    SETTLED: "It was settled",
}


def all_of_it_stands(change_set: ChangeSet) -> bool:
    """Whether nothing of it was left to decide when its assessment was let stand: the opinion has a change set of its own
    since then."""
    act = change_set.decided_by
    return change_set.state == ACCEPTED and act is not None and act.kind == LET_STAND


def opinions_out_of(change_set: ChangeSet) -> QuerySet[ChangeSet, ChangeSet]:
    """The opinions that were let stand out of it."""
    if change_set.row_id or change_set.decided_by is None or change_set.decided_by.kind != LET_STAND:
        return ChangeSet.objects.none()
    return ChangeSet.objects.filter(made_by=change_set.decided_by, row_id__isnull=False)


def handed_in_with(opinion: ChangeSet) -> ChangeSet | None:
    """What an opinion was handed in with, before it was let stand; None for one that came otherwise."""
    if not opinion.row_id or opinion.made_by is None or opinion.made_by.kind != LET_STAND:
        return None
    return ChangeSet.objects.filter(decided_by=opinion.made_by, row_id__isnull=True).first()


def state_sentence(change_set: ChangeSet, reader: User) -> str:
    """What became of it, by whom, as the reader may know it, and when: ``It was accepted by M. Thorley on 25 November
    2026, 17:03.``"""
    words = SENTENCES[STANDING if all_of_it_stands(change_set) else change_set.state]
    said = change_set.entries.order_by("-pk").select_related("user").first()
    if said is None or change_set.state == WAITING:
        return f"{words}."
    when = timezone.localtime(said.at)
    may_know = may(reader, "read persons' names") or said.user == reader
    who = (said.user if may_know else "a colleague") if said.user else "an import"
    return f"{words} by {who} on {when:%-d %B %Y, %H:%M}."
