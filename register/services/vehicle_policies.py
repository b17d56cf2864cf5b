"""The policy of a vehicle: read, laid down, and how it came to be."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from register.exchange.faults import Fault, Refused
from register.exchange.values import key_of
from register.models import Position, User, Vehicle, VehiclePolicy
from register.services.proposal_fields import LONGEST, Question
from register.services.proposal_record import lock, moment
from register.services.structure_rows import fault
from register.services.versions import Version, differences, refuse_overtaken, too_long, versions_of

SECOND_PERSON = "second_person"

FIELDS = (
    Question(
        "principles",
        "Principles adopted",
        hint="charters and clauses that the railway has taken as its own, after reading them",
        example="FEDECRAIL Riga Charter (2005); Venice Charter (1964), Articles 9 to 12",
    ),
    Question(
        "never_lost",
        "Never to be lost",
        hint="ids of positions whose original fabric stays, a semicolon between",
        example="L7-FRAME; L7-CYL",
    ),
    Question(
        "loss_limit",
        "Loss allowed since the reference date",
        "text",
        hint="percentage points by mass, a whole number; empty: no limit is set",
        example="5",
    ),
    Question(
        SECOND_PERSON,
        "Second person",
        "checks",
        hint="the author of a proposal then does not decide it, and whoever prepares a statement does not issue it",
        options=("yes",),
    ),
    Question("repair", "Repair", hint="what is repaired before it is renewed, and by which methods"),
    Question(
        "marking",
        "Marking of new parts",
        hint="how new parts are marked; stressed and pressure parts are not hard-stamped without the engineer's agreement",
    ),
    Question("donor_use", "Parts from other vehicles", hint="what may be taken from where"),
    Question("wear", "Wear parts", hint="what is renewed as a matter of course, and what is kept of it"),
    Question("refit", "Refitting", hint="on what conditions something that was taken out goes back"),
    Question("recording", "Recording", hint="what is recorded before, during and after work"),
    Question(
        "panel",
        "Words on the panel",
        hint="what stands beside the vehicle; a percentage in it is checked against the figures when a statement is issued",
    ),
    Question("not_claimed", "Not to be claimed", hint="what nobody is to say of this vehicle"),
    Question(
        "adopted",
        "Adopted",
        "text",
        hint="by whom, when, under which minute",
        example="Collections committee, minute 2025/12",
    ),
)
LABELS = {one.name: one.label for one in FIELDS}


def policy_of(vehicle: str) -> VehiclePolicy | None:
    """The policy that counts; None where none was ever laid down."""
    return VehiclePolicy.objects.select_related("by").filter(vehicle=vehicle).last()


def texts_of(policy: VehiclePolicy | None) -> dict[str, str]:
    """What the policy says, by the name of the field; "" for what it does not say."""
    found = {name: str(getattr(policy, name, "") or "") for name in LABELS}
    limit = policy.loss_limit if policy else None
    second = bool(policy and policy.second_person)
    return found | {"loss_limit": "" if limit is None else str(limit), SECOND_PERSON: "yes" if second else ""}


def history_of(vehicle: str) -> list[Version]:
    """Every version, the newest first, with what it changed."""
    rows = VehiclePolicy.objects.select_related("by").filter(vehicle=vehicle)
    return versions_of([(one, texts_of(one)) for one in rows], LABELS)


def put_policy(
    vehicle: Vehicle,
    texts: Mapping[str, str],
    *,
    user: User,
    after: int | None = None,
    at: datetime | None = None,
) -> VehiclePolicy:
    """Lay down the policy of a vehicle: a new version, unless it says what the last one said. Raises Refused.

    after: the number of the version that the author saw, 0 for none, None where it does not matter.
    """
    typed = {name: texts.get(name, "").strip() for name in LABELS}
    named = [one.strip() for one in typed["never_lost"].replace("\n", ";").split(";") if one.strip()]
    typed |= {"never_lost": "; ".join(named), SECOND_PERSON: "yes" if typed[SECOND_PERSON] == "yes" else ""}
    if faults := [*_faults(vehicle, typed, named), *too_long(typed, LONGEST)]:
        raise Refused(faults)
    with transaction.atomic():
        lock()
        latest = policy_of(vehicle.key)
        changes = differences(texts_of(latest), typed, LABELS)
        if latest is not None and not changes:
            return latest
        refuse_overtaken(latest, after, changes)
        limit = typed["loss_limit"]
        values = typed | {"loss_limit": int(limit) if limit else None, SECOND_PERSON: bool(typed[SECOND_PERSON])}
        return VehiclePolicy.objects.create(vehicle=vehicle.key, by=user, at=moment(at), **values)


def _faults(vehicle: Vehicle, typed: Mapping[str, str], named: list[str]) -> list[Fault]:
    found = []
    limit = typed["loss_limit"]
    if limit and not (limit.isascii() and limit.isdigit() and len(limit) <= 3 and int(limit) <= 100):
        sentence = "write a whole number from 0 to 100, or leave it empty."
        found.append(fault("proposals", "loss_limit", limit, sentence))
    known = set(Position.objects.filter(vehicle=vehicle.key).values_list("key", flat=True))
    if wrong := [one for one in named if key_of(one) not in known]:
        sentence = f"{vehicle.full_name} has no position {', '.join(wrong[:5])[:200]}."
        found.append(fault("proposals", "never_lost", wrong[0], sentence))
    return found
