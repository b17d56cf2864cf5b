"""The three next useful entries of a vehicle, each with the address of the form that does it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest
from django.urls import reverse

from register.policy import may
from register.services.next_entries import next_entries
from register.services.vehicle_page import Account

ACTIONS = {
    "positions": "Begin with a short list, or copy another vehicle’s",
    "fitted": "Record what is fitted",
    "assess": "Assess it",
    "weigh": "Enter its mass",
    "empty mass": "Enter her empty mass",
    "reference": "Name a reference period",
    "evidence": "Cite a source",
    "narrow": "Enter what was found",
    "identity": "Say it",
}
"""What the link says: a verb first."""


@dataclass(frozen=True, slots=True)
class NextStep:
    sentence: str
    caution: str
    url: str
    action: str


def what_next(request: HttpRequest, account: Account) -> dict[str, Any]:
    """For the page of a vehicle: for those who may enter it, what to enter next and whether her lists left
    questions open. No query."""
    left_open = getattr(account.vehicle, "has_open_questions", False)
    return {
        "steps": next_steps(account) if may(request.user, "change the register") else [],
        "list_questions": left_open and may(request.user, "import"),
    }


def next_steps(account: Account) -> list[NextStep]:
    """From the account alone: no query."""
    found = []
    for entry in next_entries(account):
        if entry.kind == "positions":
            url = reverse("add-positions", args=[account.vehicle.key])
        elif entry.key is None:
            url = f"{reverse('new-record', args=[entry.table])}?{urlencode(entry.given)}#f-{entry.column}"
        else:
            url = f"{reverse('change-record', args=[entry.table, entry.key])}#f-{entry.column}"
        found.append(NextStep(entry.sentence, entry.caution, url, ACTIONS[entry.kind]))
    return found
