"""What to find out next: the parts whose knowledge would narrow the bounds most, each with the form that settles it."""

from __future__ import annotations

from typing import NamedTuple
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from register.documents.figure_view import figure_view
from register.fabric.rounding import shown
from register.fabric.survey import KNOWN, UNWEIGHTED, ToFindOut
from register.models import Installation
from register.policy import may
from register.services.vehicle_page import Account, survey_of
from register.web.asked import account_asked, crumbs_to

PAGE = 50
Link = tuple[str, str]
"""Words that begin with a verb, and an address."""


class Unknown(NamedTuple):
    """One item: gain in points as printed, why it is in the list, and what would settle it."""

    position: str
    part_key: str
    part: str
    gain: str
    why: str
    links: tuple[Link, ...]


def find_out(request: HttpRequest, key: str) -> HttpResponse:
    """For the figures of the address: same day, reference, basis and evidence."""
    controls, account = account_asked(request, key)
    found = survey_of(account)
    open_items = [one for one in found.parts if one.why != KNOWN]
    page = Paginator(open_items, PAGE).get_page(request.GET.get("page"))
    may_change = may(request.user, "change the register")
    context = {
        "vehicle": account.vehicle,
        "controls": controls,
        "references": account.inputs.references,
        "reference": account.reference,
        "view": figure_view(account.chosen, account.inputs),
        "width": None if found.width is None else shown(found.width),
        "known": len(found.parts) - len(open_items),
        "page": page,
        "items": _items(account, list(page.object_list), may_change),
        "may_change": may_change,
        "crumbs": crumbs_to(account, "Find out next"),
    }
    return render(request, "vehicles/survey.html", context)


def _items(account: Account, rows: list[ToFindOut], may_change: bool) -> list[Unknown]:
    doubtful = [one.position for one in rows if one.why.startswith(("not certain", "not known what"))]
    stays: dict[str, str] = {}
    if doubtful and may_change:
        stays = dict(
            Installation.objects.filter(position__in=doubtful, temporary=False)
            .order_by("key")
            .values_list("position", "key")
        )
    return [_item(account, one, stays.get(one.position, ""), may_change) for one in rows]


def _item(account: Account, one: ToFindOut, stay: str, may_change: bool) -> Unknown:
    label = account.labels.parts.get(one.part or "")
    readable = bool(label and label.code)
    links: tuple[Link, ...] = ()
    if may_change:
        links = tuple(_links(account, one, label.code if label else "", stay))
    return Unknown(
        account.labels.positions[one.position].name,
        (one.part or "") if readable else "",
        f"{label.code} {label.name}".strip() if label else "not known which",
        "" if one.gain is None else shown(one.gain),
        one.why,
        links,
    )


def _links(account: Account, one: ToFindOut, part_code: str, stay: str) -> list[Link]:
    """The forms that would settle it: the weight, the assessment, the dates of what is fitted."""
    found: list[Link] = []
    weight = one.why.startswith("weight") or one.why == UNWEIGHTED
    if weight and account.question.basis == "significance":
        found.append(("Grade the position", reverse("change-record", args=["positions", one.position]) + "#f-significance"))
    elif weight and one.part and part_code:
        found.append(("Weigh it or work it out", reverse("part-mass", args=[one.part])))
    if part_code and ("not assessed" in one.why or "fraction" in one.why):
        found.append(("Assess it", f"{reverse('new-record', args=['assessments'])}?{urlencode({'part_id': part_code})}"))
    if stay:
        found.append(("Date the fitting", reverse("change-record", args=["installations", stay])))
    return found
