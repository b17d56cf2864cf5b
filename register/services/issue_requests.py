"""A second person: one officer prepares a statement and asks, another one issues it, or sends it back with the reason."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.models import IssueRequest, Statement, User
from register.models.statement import ASKED, SENT_BACK, TAKEN_BACK
from register.services.chain import wait_in_line

SECOND_NEEDED = (
    "the policy of this vehicle asks for a second person: whoever prepares a statement does not issue it. Ask a second "
    "person to."
)
NOT_A_SECOND = "you prepared it: a second person is somebody else. Ask another officer to issue it."
CHANGED = (
    "what it rests on, or what was found, is not what it was when it was prepared. Send it back, so that it is prepared again."
)
NOT_STANDING = "that is not waiting any more: it was issued, taken back or sent back meanwhile. Look again, and decide again."
MOST_WORDS = 2000


def refused(column: str, message: str) -> Refused:
    return Refused([Fault("", None, column, "", message)])


def latest_of(vehicle: str) -> Statement | None:
    """The latest statement of a vehicle, None before its first."""
    return Statement.objects.filter(vehicle=vehicle).order_by("-serial").first()


def latest_request(vehicle: str) -> IssueRequest | None:
    """The last thing that was asked, taken back or sent back, as long as no statement was issued after it."""
    found = IssueRequest.objects.select_related("by").filter(vehicle=vehicle).last()
    latest = latest_of(vehicle) if found else None
    return found if found and found.after == (latest.number if latest else "") else None


def standing_request(vehicle: str) -> IssueRequest | None:
    """What waits for a second person."""
    found = latest_request(vehicle)
    return found if found and found.kind == ASKED else None


def standing_requests() -> list[IssueRequest]:
    """Of every vehicle, the one that has waited longest first; two queries."""
    last = {one.vehicle: one for one in IssueRequest.objects.select_related("by")}
    issued = dict(Statement.objects.order_by("serial").values_list("vehicle", "number"))
    waiting = [one for one in last.values() if one.kind == ASKED and one.after == issued.get(one.vehicle, "")]
    return sorted(waiting, key=lambda one: one.pk)


def is_same_person(one: User, other: User) -> bool:
    """The same account, or two accounts of one person of the register."""
    return one.pk == other.pk or (one.person_id is not None and one.person_id == other.person_id)


def refuse_stale(request: IssueRequest, sha256: str) -> None:
    """Raises Refused where it waits no more, or would issue another thing than was prepared."""
    if request != standing_request(request.vehicle):
        raise refused("", NOT_STANDING)
    if request.sha256 != sha256:
        raise refused("", CHANGED)


def take_back(request: IssueRequest, *, user: User, at: datetime | None = None) -> None:
    """By whoever asked. Raises Refused."""
    if not is_same_person(request.by, user):
        raise refused("", "only whoever asked takes it back: send it back instead, and say why.")
    _close(request, TAKEN_BACK, user, "", at)


def send_back(request: IssueRequest, *, user: User, words: str, at: datetime | None = None) -> None:
    """By a second person, with what is to be put right. Raises Refused."""
    if is_same_person(request.by, user):
        raise refused("", "you prepared it yourself: take it back.")
    if not words.strip():
        raise refused("words", "say what is to be put right: whoever prepared it reads it.")
    _close(request, SENT_BACK, user, words.strip()[:MOST_WORDS], at)


def _close(request: IssueRequest, kind: str, user: User, words: str, at: datetime | None) -> None:
    with transaction.atomic():
        wait_in_line()
        if request != standing_request(request.vehicle):
            raise refused("", NOT_STANDING)
        told = {name: getattr(request, name) for name in ("vehicle", "day", "reference", "reasons", "why", "after")}
        IssueRequest.objects.create(kind=kind, by=user, words=words, at=at or timezone.now(), **told)
