"""Publish an issued statement: the public page of its vehicle then shows that, and nothing later, until another one is
published or it is taken back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change
from register.models import Entry, Statement, User, Vehicle
from register.models.statement import PUBLISHED, UNPUBLISHED, WITHDRAWN
from register.services.chain import append, wait_in_line
from register.services.change_sets import apply
from register.services.issued import STANDS, Standing, all_standings, published_numbers, standing_of
from register.services.readiness import MAX_REASON

LIVE, SHOWN, GONE = "live", "shown", "gone"


@dataclass(frozen=True, slots=True)
class PublicState:
    """What a visitor gets of a vehicle. ``shown``: the published statement. ``live``: published before any statement was,
    so the register as it is. ``gone``: it was public and was taken back."""

    state: str
    statement: Statement | None = None


def public_states(keys: list[str]) -> dict[str, PublicState]:
    """By key, those of the vehicles that are public or were, in four queries however many they are."""
    flagged = dict(Vehicle.objects.filter(key__in=keys).values_list("key", "published"))
    numbers = published_numbers(keys)
    withdrawn = set(
        Entry.objects.filter(kind=WITHDRAWN, number__in=numbers.values()).values_list("number", flat=True)
    )
    statements = {
        one.number: one
        for one in Statement.objects.filter(number__in=numbers.values()).select_related("entry")
    }
    found: dict[str, PublicState] = {}
    for key in keys:
        number = numbers.get(key)
        if number is None:
            if flagged.get(key):
                found[key] = PublicState(LIVE)
        elif not flagged.get(key) or number in withdrawn or number not in statements:
            found[key] = PublicState(GONE)
        else:
            found[key] = PublicState(SHOWN, statements[number])
    return found


def public_state(key: str) -> PublicState | None:
    """Of one vehicle; None where it never was public, or there is none."""
    return public_states([key]).get(key)


def to_publish(vehicle: str) -> Standing | None:
    """The statement of a vehicle that stands, which is the one that may be published."""
    return next((one for one in all_standings(vehicle) if one.status == STANDS), None)


def publish(number: str, *, user: User | None, at: datetime | None = None) -> Statement:
    """Show a statement on the public page of its vehicle. Raises Refused where it does not stand."""
    with transaction.atomic():
        wait_in_line()
        found = standing_of(number)
        if found is None:
            raise refused(f"there is no statement {number}.")
        if found.status != STANDS:
            raise refused(f"{found.statement.number} is {found.status}: publish the one that stands, or issue another.")
        statement = found.statement
        if not Vehicle.objects.filter(key=statement.vehicle).exists():
            raise refused(f"{statement.name} has left the register.")
        _flag(statement, True, user)
        if not found.shown:
            append(PUBLISHED, statement.number, {"by": user.pk if user else None}, at=at or timezone.now())
    return statement


def take_back(vehicle: str, *, user: User | None, reason: str, at: datetime | None = None) -> None:
    """Show nothing of a vehicle any more: its page says that it was taken back. Raises Refused."""
    reason = reason.strip()[:MAX_REASON]
    if not reason:
        raise refused("say why it is taken back; it is kept with the record, and not shown to visitors.")
    with transaction.atomic():
        wait_in_line()
        number = published_numbers([vehicle]).get(vehicle)
        if not number:
            raise refused("no statement of this vehicle is published.")
        append(
            UNPUBLISHED, number, {"by": user.pk if user else None, "reason": reason}, at=at or timezone.now()
        )
        _flag(Statement.objects.get(number=number), False, user)


def _flag(statement: Statement, public: bool, user: User | None) -> None:
    apply(
        [Change("vehicles", {"vehicle_id": statement.code, "published": public})],
        kind="publish" if public else "take back",
        user=user,
        reason=statement.number,
    )


def refused(message: str) -> Refused:
    """A refusal of one sentence."""
    return Refused([Fault("", None, "", "", message)])
