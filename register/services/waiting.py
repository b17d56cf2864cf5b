"""Handing a change set in: what counts at once is applied, the rest is stored and waits for review.

Which is which, is ``policy.AT_ONCE``. What waits is decided in ``services.deciding``; what it would do to the figures is
``services.effects``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.exchange.overlay import Keep, Overlaid, overlay
from register.exchange.records import Change
from register.models import Act, ChangeSet, ReviewEntry, User
from register.services.change_sets import apply, lock, refuse_if_faulty
from register.services.loading import load_register, scope_of
from register.services.waiting_rows import about, part_of, split, stored_rows

MAX_TITLE = 300
NOTHING_NEW = Fault("", None, "", "", "The register holds all of this already: there is nothing to hand in.")


@dataclass(frozen=True, slots=True)
class HandedIn:
    """act, result: of what counted at once, None where nothing did. waiting: of what did not, None where all did."""

    act: Act | None
    result: Overlaid | None
    waiting: ChangeSet | None


def hand_in(
    changes: Iterable[Change],
    *,
    user: User,
    kind: str,
    title: str,
    reason: str = "",
    token: str | None = None,
    base_no: int | None = None,
    keep: Keep = "",
    at: datetime | None = None,
) -> HandedIn:
    """What may count at once is applied, the rest waits for review: both or neither. Raises Refused or Conflicted.

    token: of the form; sent a second time it gives what the first brought about.
    """
    at_once, rest = split(list(changes), user)
    with transaction.atomic():
        lock()
        act: Act | None = None
        result: Overlaid | None = None
        waiting: ChangeSet | None = None
        if earlier := handed_in_before(token):
            return earlier
        if at_once:
            act, result = apply(
                at_once,
                kind=kind,
                user=user,
                reason=reason,
                token=token,
                base_no=base_no,
                keep=keep,
                at=at,
            )
        if rest:
            seen = base_no if act is None else act.change_no if base_no is not None else None
            waiting = _submit(
                rest,
                author=user,
                kind=kind,
                title=title,
                reason=reason,
                token=token,
                base_no=seen,
                keep=keep,
                at=at,
                needed=act is None,
            )
    return HandedIn(act, result, waiting)


def handed_in_before(token: str | None) -> HandedIn | None:
    """What the form with this token brought about when it was sent before; None for one that was not."""
    if not token:
        return None
    act = Act.objects.filter(token=token).first()
    waiting = ChangeSet.objects.filter(token=token).first()
    return HandedIn(act, None, waiting) if act or waiting else None


def submit(
    changes: Iterable[Change],
    *,
    author: User | None,
    kind: str,
    title: str,
    reason: str = "",
    token: str | None = None,
    base_no: int | None = None,
    keep: Keep = "",
    at: datetime | None = None,
) -> ChangeSet:
    """Store a change set that waits, whoever hands it in. Raises Refused where the register could not take it now
    or holds all of it already, Conflicted where a record was changed since ``base_no``."""
    with transaction.atomic():
        lock()
        if token and (known := ChangeSet.objects.filter(token=token).first()):
            return known
        stored = _submit(
            list(changes),
            author=author,
            kind=kind,
            title=title,
            reason=reason,
            token=token,
            base_no=base_no,
            keep=keep,
            at=at,
            needed=True,
        )
    assert stored is not None
    return stored


def _submit(
    changes: list[Change],
    *,
    author: User | None,
    kind: str,
    title: str,
    reason: str,
    token: str | None,
    base_no: int | None,
    keep: Keep,
    at: datetime | None,
    needed: bool,
) -> ChangeSet | None:
    held = held_by(changes, base_no=base_no, keep=keep)
    if held is None:
        if not needed:
            return None
        raise Refused([NOTHING_NEW])
    when = at or timezone.now()
    stored = ChangeSet.objects.create(
        title=title[:MAX_TITLE],
        reason=reason,
        author=author,
        kind=kind,
        token=token,
        made_at=when,
        **held,
    )
    note(stored, "handed in", author, reason, None, when)
    return stored


def held_by(changes: list[Change], *, base_no: int | None, keep: Keep) -> dict[str, Any] | None:
    """The fields of a stored change set that hold these changes, looked through against the register as it is now; None
    where it holds all of them already. Raises Refused or Conflicted."""
    register = load_register(scope_of(changes))
    result = overlay(register, changes, base_no=base_no, keep=keep)
    refuse_if_faulty(result)
    if not result.changes_anything:
        return None
    return {
        "changes": stored_rows(changes, register),
        "part": part_of(changes),
        "about": about(changes, register),
        "base_no": register.change_no,
    }


def note(
    change_set: ChangeSet,
    verb: str,
    user: User | None,
    text: str,
    token: str | None,
    at: datetime,
    *,
    before: list[dict[str, Any]] | None = None,
) -> None:
    """What was done to a stored change set, or said of it. before: what it held, where it was written anew."""
    ReviewEntry.objects.create(
        change_set=change_set, at=at, user=user, verb=verb, text=text, token=token, changes=before
    )
