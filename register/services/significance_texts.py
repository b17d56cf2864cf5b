"""What a vehicle and its main groups are worth, in words: read, written, and how the words came to be.

The four heads are those by which the trade weighs significance (common practice; the value of the evidence itself, of
history, of how it looks, and to people).
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from register.exchange.faults import Refused
from register.models import Position, SignificanceText, User, Vehicle
from register.services.proposal_fields import LONGEST, Question
from register.services.proposal_record import lock, moment
from register.services.structure_rows import refused
from register.services.versions import Version, differences, refuse_overtaken, too_long, versions_of

WHOLE = ""
"""In the place of a position: the vehicle itself."""

HEADS = (
    Question(
        "evidential",
        "Evidential",
        hint="what can be read from the fabric itself and from nothing else",
        example="The only frames of their builder with his punched numbers all present.",
    ),
    Question("historical", "Historical", hint="the people, events, trade and engineering that it stands for"),
    Question("aesthetic", "Aesthetic", hint="to look at and to hear: design, finish, livery, sound, movement"),
    Question("communal", "Communal", hint="to people: what it means to those who worked it, saved it and come to see it"),
)
RARITY = Question("rarity", "How rare", hint="what else of its kind is left, and where")
LOSS = Question("loss", "What would be lost with it", hint="if it were gone, or replaced")
LABELS = {one.name: one.label for one in (*HEADS, RARITY, LOSS)}


def fields_for(position: str) -> tuple[Question, ...]:
    """The questions asked of the whole, or of a main group."""
    return (*HEADS, RARITY, LOSS) if position == WHOLE else (*HEADS, LOSS)


def groups_of(vehicle: str) -> list[Position]:
    """The main groups of a vehicle: its top positions, in the order of the screen."""
    return list(Position.objects.filter(vehicle=vehicle, parent=None).order_by("key"))


def texts_by_position(vehicle: str) -> dict[str, SignificanceText]:
    """The texts that count, by the key of the position; the whole under ``WHOLE``. One query."""
    rows = SignificanceText.objects.select_related("by").filter(vehicle=vehicle)
    return {one.position: one for one in rows}


def texts_of(found: SignificanceText | None) -> dict[str, str]:
    """By the name of the field."""
    return {name: str(getattr(found, name, "")) for name in LABELS}


def history_of(vehicle: str, position: str = WHOLE) -> list[Version]:
    """Every version, the newest first, with what it changed."""
    rows = SignificanceText.objects.select_related("by").filter(vehicle=vehicle, position=position)
    return versions_of([(one, texts_of(one)) for one in rows], LABELS)


def put_significance(
    vehicle: Vehicle,
    position: str,
    texts: Mapping[str, str],
    *,
    user: User,
    after: int | None = None,
    at: datetime | None = None,
) -> SignificanceText | None:
    """Write what the vehicle (position ``WHOLE``) or one of its main groups is worth: a new version, unless it says what the
    last one said. None where nothing was said before nor now. Raises Refused. after: as of ``put_policy``."""
    asked = {one.name for one in fields_for(position)}
    typed = {name: texts.get(name, "").strip() if name in asked else "" for name in LABELS}
    if faults := too_long(typed, LONGEST):
        raise Refused(faults)
    if position != WHOLE and position not in {one.key for one in groups_of(vehicle.key)}:
        refused("", "", position, f"{vehicle.full_name} has no main group of that id any more: load the page again.")
    with transaction.atomic():
        lock()
        latest = SignificanceText.objects.select_related("by").filter(vehicle=vehicle.key, position=position).last()
        changes = differences(texts_of(latest), typed, LABELS)
        if not changes:
            return latest
        refuse_overtaken(latest, after, changes)
        return SignificanceText.objects.create(
            vehicle=vehicle.key, position=position, by=user, at=moment(at), **typed
        )
