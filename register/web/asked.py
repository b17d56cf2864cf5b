"""The account that an address asks for, as the reader may see it."""

from __future__ import annotations

from datetime import date

from django.http import Http404, HttpRequest
from django.urls import reverse

from register.policy import may
from register.services.inputs import NoSuch
from register.services.vehicle_page import Account, account_of, without_restricted
from register.web.controls import Controls, controls_from


def account_asked(request: HttpRequest, key: str, *, rivals: bool = False) -> tuple[Controls, Account]:
    """The question in the address and the answer, the names of restricted parts taken out for those who may not read
    them. ``rivals``: what survival needs beside. Raises Http404 for an unknown vehicle or reference period."""
    return controls_account(request, key, controls_from(request, date.today()), rivals=rivals)


def controls_account(
    request: HttpRequest, key: str, controls: Controls, *, rivals: bool = False
) -> tuple[Controls, Account]:
    """The same for a question that is not quite the address's."""
    try:
        account = account_of(key, controls.question, rivals=rivals)
    except NoSuch:
        raise Http404 from None
    return controls, account if may(request.user, "read what is restricted") else without_restricted(account)


def crumbs_to(account: Account, here: str) -> list[tuple[str, str]]:
    """Where a page about a vehicle stands: below the vehicle's own."""
    vehicle = account.vehicle
    return [("Vehicles", reverse("fleet")), (vehicle.full_name, reverse("vehicle", args=[vehicle.key])), (here, "")]
