"""Issue a statement: its inputs, figures and papers frozen, numbered without a gap and entered in the chain; once or not
at all, whoever presses the button twice."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from register.exchange.faults import Refused
from register.models import Entry, IssueRequest, Statement, StatementFile, User
from register.models.statement import ASKED, ISSUED, WITHDRAWN
from register.services.chain import append, wait_in_line
from register.services.issue_requests import refused, standing_request
from register.services.prepared import AlreadyIssued, Asked, Prepared
from register.services.readiness import MAX_REASON

__all__ = [
    "AlreadyIssued",
    "Asked",
    "Prepared",
    "ask_second",
    "asked_by",
    "issue_asked",
    "issue_statement",
    "issued_from",
    "prepare",
    "withdraw_statement",
]

TRIES = 3
"""Times that a paper is made before the register is held still while it is made once more."""


def prepare(asked: Asked, *, at: datetime | None = None) -> Prepared:
    """Everything that issuing would freeze, papers aside, and what stands in its way. Raises NoSuch."""
    return Prepared(asked, at or timezone.now())


def issue_statement(asked: Asked, *, at: datetime | None = None) -> Statement:
    """Issue it. Raises NoSuch, Refused with what stands in the way, or AlreadyIssued; nothing is stored then.

    The papers are made without holding up other writers; if the register has moved on meanwhile they are made again.
    """
    now = at or timezone.now()
    if earlier := _of_token(asked.token):
        return earlier
    try:
        return _issued(asked, now)
    except (AlreadyIssued, Refused):
        if earlier := _of_token(asked.token):  # it was this one that was quicker
            return earlier
        raise


def _issued(asked: Asked, now: datetime) -> Statement:
    for _ in range(TRIES):
        made = Prepared(asked, now).checked()
        papers = made.papers()
        with transaction.atomic():
            wait_in_line()
            if earlier := _of_token(asked.token):
                return earlier
            if made.is_of_now():
                return _store(made, papers)
    with transaction.atomic():
        wait_in_line()
        return _of_token(asked.token) or _store(Prepared(asked, now).checked())


def ask_second(asked: Asked, *, at: datetime | None = None) -> IssueRequest:
    """Ask a second person to issue it: nothing is issued yet. Raises NoSuch, AlreadyIssued, or Refused with what stands in
    the way. The same token a second time asks once."""
    now = at or timezone.now()
    assert asked.user is not None
    made = Prepared(asked, now).checked(to_be_asked=True)
    with transaction.atomic():
        wait_in_line()
        if asked.token and (earlier := IssueRequest.objects.filter(token=asked.token).first()):
            return earlier
        if not made.is_of_now():
            made = Prepared(asked, now).checked(to_be_asked=True)
        if standing := standing_request(made.vehicle.key):
            raise refused("", f"{standing.by} has asked a second person already. It has to be taken back or sent back first.")
        return IssueRequest.objects.create(
            vehicle=made.vehicle.key,
            kind=ASKED,
            day=asked.day,
            reference=made.reference,
            reasons={group.code: group.reason for group in made.readiness.groups},
            why=asked.why.strip(),
            after=made.supersedes,
            sha256=made.sha256,
            by=asked.user,
            at=now,
            token=asked.token,
        )


def asked_by(request: IssueRequest, second: User | None = None) -> Asked:
    """What a request asks for, with its second person once there is one."""
    assert request.day is not None
    return Asked(
        vehicle=request.vehicle,
        day=request.day,
        reference=request.reference,
        user=request.by,
        agreed_by=second,
        reasons=request.reasons,
        why=request.why,
        after=None if second is None else request.after,
        token=_token_of(request.pk),
        request=request,
    )


def _token_of(request: int) -> str:
    """What the statement of a request is known by, so that there is one however many issue it."""
    return f"asked-{request}"


def issued_from(request: int | None) -> Statement | None:
    """The statement of a request, by its number."""
    return None if request is None else _of_token(_token_of(request))


def issue_asked(request: IssueRequest, *, user: User, at: datetime | None = None) -> Statement:
    """Issue what somebody else prepared. However many press the button, and however often, it is one statement. Raises as
    ``issue_statement`` does."""
    return issue_statement(asked_by(request, user), at=at)


def withdraw_statement(number: str, *, user: User | None, reason: str, at: datetime | None = None) -> Entry:
    """Say that an issued statement no longer stands. It stays where it is. Raises Refused."""
    reason = reason.strip()[:MAX_REASON]
    if not reason:
        raise refused("reason", "say why it is withdrawn: whoever checks the statement will read it.")
    with transaction.atomic():
        wait_in_line()
        if not Statement.objects.filter(number=number).exists():
            raise refused("number", f"there is no statement {number}.")
        earlier = Entry.objects.filter(number=number, kind=WITHDRAWN).first()
        if earlier is not None:
            return earlier
        told = {"reason": reason, "by": user.pk if user else None}
        return append(WITHDRAWN, number, told, at=at or timezone.now())


def _of_token(token: str | None) -> Statement | None:
    return Statement.objects.filter(token=token).first() if token else None


def _store(made: Prepared, papers: Mapping[str, bytes] | None = None) -> Statement:
    papers = made.papers() if papers is None else papers
    told = made.told(papers)
    entry = append(ISSUED, made.number, told, at=made.at)
    statement = Statement.objects.create(
        serial=made.serial,
        number=made.number,
        vehicle=made.vehicle.key,
        code=made.vehicle.code,
        name=told["name"],
        issue=made.issue,
        day=made.asked.day,
        reference=made.reference,
        supersedes=made.supersedes,
        issued_by=made.asked.user,
        agreed_by=made.asked.agreed_by,
        entry=entry,
        token=made.asked.token,
    )
    StatementFile.objects.bulk_create(
        StatementFile(statement=statement, name=name, sha256=told["files"][name], data=data)
        for name, data in papers.items()
    )
    return statement
