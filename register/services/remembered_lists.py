"""What was chosen for a kind of list, kept by its headings; and what the last list of a vehicle left open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from typing import Any

from django.db import transaction

from register.exchange.flat_list.given import Given
from register.exchange.flat_list.mapping import ListChoices, fingerprint, guess, placed
from register.exchange.flat_list.results import Question
from register.exchange.flat_list.sheet import Sheet
from register.exchange.values import key_of
from register.models import ListMapping, User
from register.services.loading import last_change_no


@dataclass(frozen=True, slots=True)
class Remembered:
    """Of the last list of a vehicle with these headings. rows: {key: {"table", "values"}} as accepted.
    prefix: what its ids begin with, if not the id of the vehicle. given: answers to its questions, by key."""

    ids: Mapping[str, str] = field(default_factory=dict)
    rows: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    prefix: str = ""
    given: Mapping[str, Given] = field(default_factory=dict)


def choices_for(sheet: Sheet, vehicle_id: str = "") -> tuple[ListChoices, bool]:
    """What was chosen for a list with these headings (of this vehicle, else of any, the latest first), else
    what it seems to mean; and whether it was remembered. Raises Refused where no line names its columns."""
    known = list(ListMapping.objects.only("vehicle", "choices").order_by("-change_no", "-pk"))
    known.sort(key=lambda one: one.vehicle != key_of(vehicle_id.strip()))
    for one in known:
        found = placed(sheet, ListChoices.from_json(one.choices))
        if found:
            return found, True
    return guess(sheet), False


def recall(choices: ListChoices, vehicle_id: str) -> Remembered:
    """What the last accepted list of the vehicle with these headings amounted to."""
    one = ListMapping.objects.filter(fingerprint=fingerprint(choices), vehicle=key_of(vehicle_id)).first()
    if one is None:
        return Remembered()
    return Remembered(one.ids, one.rows, one.prefix, {key: Given(**kept) for key, kept in one.answers.items()})


def remember(
    choices: ListChoices,
    vehicle_id: str,
    remembered: Remembered,
    questions: list[Question],
    *,
    name: str,
    day: date | None,
    user: User | None,
) -> ListMapping:
    """Keep what was chosen and what the list amounted to; called in the transaction of the act that
    entered it."""
    kept, _ = ListMapping.objects.update_or_create(
        fingerprint=fingerprint(choices),
        vehicle=key_of(vehicle_id),
        defaults={
            "name": name[:300],
            "choices": choices.as_json(),
            "prefix": remembered.prefix,
            "day": day,
            "ids": dict(remembered.ids),
            "rows": dict(remembered.rows),
            "questions": [asdict(question) for question in questions],
            "answers": {key: asdict(one) for key, one in remembered.given.items()},
            "change_no": last_change_no(),
            "user": user,
        },
    )
    return kept


def open_questions(vehicle_id: str) -> list[Question]:
    """What the accepted lists of a vehicle left open."""
    lists = lists_of(vehicle_id)
    return [Question(**question) for one in lists for question in one.questions]


def lists_of(vehicle_id: str) -> list[ListMapping]:
    """The accepted lists of a vehicle, the latest first; without what they amounted to."""
    found = ListMapping.objects.filter(vehicle=key_of(vehicle_id.strip()))
    return list(found.defer("rows", "ids", "choices").order_by("-change_no", "-pk"))


def settle(number: int, vehicle: str, key: str) -> bool:
    """Take a question from those that a list left open: it was dealt with in the register itself. number: of
    the list; vehicle: key of hers. False where the question is not open (any more)."""
    with transaction.atomic():
        kept = ListMapping.objects.select_for_update().filter(pk=number, vehicle=vehicle).first()
        asked = next((one for one in kept.questions if one["key"] == key), None) if kept else None
        if kept is None or asked is None:
            return False
        kept.questions = [one for one in kept.questions if one["key"] != key]
        kept.answers = {**kept.answers, key: asdict(Given(asked["text"], settled=True))}
        kept.save(update_fields=["questions", "answers"])
    return True
