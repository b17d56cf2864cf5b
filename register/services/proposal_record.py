"""The record that a proposal keeps of itself: locked while it changes, never edited once decided, every step noted."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from register.exchange.faults import Refused
from register.models import Proposal, ProposalAct, RegisterState, User
from register.models.proposal import SUPERSEDED
from register.services.loading import state
from register.services.proposal_fields import LONGEST
from register.services.structure_rows import fault, refused


class Stale(Exception):
    """Somebody else changed the proposal since the form was opened. What was typed is kept by the page."""


def moment(at: datetime | None) -> datetime:
    """When it is, unless it was said."""
    return at or timezone.now()


def day_at(at: datetime | None) -> date:
    """The day that it is on the railway's clocks, unless it was said."""
    return timezone.localtime(moment(at)).date()


def lock() -> None:
    """Writers queue, as they do for every act of the register."""
    state()
    RegisterState.objects.select_for_update().get(id=1)


def opened(proposal: Proposal, user: User, revision: int) -> Proposal:
    """The proposal, locked, if it may be changed and nobody else has. Raises Refused or Stale."""
    row = Proposal.objects.select_for_update(of=("self",)).get(pk=proposal.pk)
    if not row.may_be_changed:
        refused(
            "proposals",
            "state",
            row.state,
            f"it is {row.state}: it is not edited any more. Withdraw it, or write one that supersedes it.",
        )
    if row.revision != revision:
        raise Stale
    return row


def keep(row: Proposal, proposal: Proposal) -> None:
    """Store the row as a new revision, and read it back."""
    row.revision += 1
    row.save()
    proposal.refresh_from_db()


def move(
    proposal: Proposal,
    user: User,
    start: tuple[str, ...],
    end: str,
    kind: str,
    *,
    words: str = "",
    details: Mapping[str, Any] | None = None,
    token: str | None = None,
    due: date | None = None,
    supersedes: bool = False,
    case: Mapping[str, Any] | None = None,
    at: datetime | None = None,
) -> None:
    """From one state to another, noted. The same token a second time changes nothing. Raises Refused."""
    with transaction.atomic():
        lock()
        if token and ProposalAct.objects.filter(token=token, proposal=proposal, kind=kind).exists():
            return
        row = Proposal.objects.select_for_update(of=("self",)).get(pk=proposal.pk)
        if row.state not in start:
            refused("proposals", "state", row.state, f"it is {row.state} by now. Load the page again.")
        row.state = end
        row.record_due = due or row.record_due
        note(row, user, kind, words=words, details=details, token=token, case=case, at=at)
        if supersedes and row.supersedes_id:
            earlier = Proposal.objects.select_for_update(of=("self",)).get(pk=row.supersedes_id)
            earlier.state = SUPERSEDED
            earlier.save()
            note(earlier, user, "superseded", details={"by": row.code}, at=at)
        keep(row, proposal)


def note(
    proposal: Proposal,
    user: User,
    kind: str,
    *,
    words: str = "",
    details: Mapping[str, Any] | None = None,
    token: str | None = None,
    case: Mapping[str, Any] | None = None,
    change_no: int | None = None,
    at: datetime | None = None,
) -> ProposalAct:
    """Add to what happened to the proposal; nothing there is ever changed."""
    return ProposalAct.objects.create(
        proposal=proposal,
        at=moment(at),
        user=user,
        kind=kind,
        words=words.strip()[:LONGEST],
        details=dict(details or {}),
        case=dict(case or {}),
        token=token,
        change_no=change_no,
    )


def refuse_for(found: list[str]) -> None:
    """Raises Refused with these sentences, if there are any."""
    if found:
        raise Refused([fault("proposals", "", "", one) for one in found])
