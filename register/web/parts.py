"""Parts: the list, and the page of one."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from register.documents.figure_view import STRENGTHS
from register.models import Part
from register.policy import history_for, may
from register.services.inputs import NoSuch
from register.services.part_page import PartPage, part_page
from register.services.records import history_of, history_of_part
from register.services.whereabouts import latest_movements, whereabouts_of
from register.web.withdrawn import gone, merged_here

PAGE = 50


def parts(request: HttpRequest) -> HttpResponse:
    """Parts by id, found by number, name, mark or tag."""
    sought = request.GET.get("q", "").strip()[:100]
    rows = Part.objects.order_by("key")
    if not may(request.user, "read what is restricted"):
        rows = rows.filter(access="public")
    if sought:
        rows = rows.filter(
            Q(code__icontains=sought)
            | Q(name__icontains=sought)
            | Q(marks__icontains=sought)
            | Q(tag__iexact=sought)
            | Q(maker__icontains=sought)
        )
    context = {
        "page": Paginator(rows, PAGE).get_page(request.GET.get("page")),
        "sought": sought,
        "may_change": may(request.user, "change the register"),
    }
    return render(request, "parts/parts.html", context)


def part(request: HttpRequest, key: str) -> HttpResponse:
    try:
        page = part_page(key, request.user)
    except NoSuch:
        return gone(request, "parts", key)
    if page.part.access == "restricted" and not may(request.user, "read what is restricted"):
        raise Http404
    context = {
        "page": page,
        "part": page.part,
        "evidence": STRENGTHS[page.strength],
        "claimed": _claimed(page),
        "history": history_for(request.user, "parts", _history(request, page.part.key)),
        "merged": merged_here(request, page.part),
        "may_change": may(request.user, "change the register"),
        "may_add": may(request.user, "record finds"),
        "may_see_all": may(request.user, "read what is restricted"),
        "now": whereabouts_of(page.part.key, latest_movements()),
        "photographs_of": urlencode({"part": page.part.code}),
        "may_review": may(request.user, "review"),
    }
    return render(request, "parts/part.html", context)


def _claimed(page: PartPage) -> str | bool:
    """What is claimed against the accepted status: another one by name, True where only evidence speaks against it."""
    others = [one.status for one in page.opinions if page.in_force and one.status != page.in_force.status]
    return others[0] if others else page.disputed


def _history(request: HttpRequest, key: str) -> list[dict[str, Any]]:
    """Of the part and all that is recorded of it; notes and restricted sources are in it, so not for everybody."""
    return history_of_part(key) if may(request.user, "read what is restricted") else history_of("parts", key)
