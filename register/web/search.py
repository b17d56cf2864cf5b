"""One box for the whole register: what answers, a group for each kind of record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from register.models import Position, Vehicle
from register.policy import may
from register.services.search import LONGEST, OPEN, Hit, search
from register.web.addresses import PAGES

FEW = 10
"""Of each kind, before "all" on a page of its own."""
PAGE = 50
MOST = 1000
"""Records looked at: whoever finds more has asked for too little."""
HEADINGS = {
    "vehicles": "Vehicles",
    "positions": "Positions",
    "parts": "Parts",
    "sources": "Sources",
    "places": "Places",
    "people": "People",
}


@dataclass(frozen=True, slots=True)
class Found:
    """A record found, as the page shows it. why: which column answers and what it says, "" where the name does."""

    url: str
    code: str
    name: str
    where: str
    column: str
    why: str
    alias: str


@dataclass(frozen=True, slots=True)
class Group:
    table: str
    heading: str
    count: int
    rows: list[Found]
    page: Page[Any] | None = None

    @property
    def more(self) -> int:
        return 0 if self.page else self.count - len(self.rows)


def search_page(request: HttpRequest) -> HttpResponse:
    """What answers ``q``, the closest kind first; of one kind alone, a page at a time, with ``in``."""
    sought = request.GET.get("q", "").replace("\0", "").strip()[:LONGEST]
    named = may(request.user, "read persons' names")
    tables = (*OPEN, "people") if named else OPEN
    only = request.GET.get("in", "") if request.GET.get("in", "") in tables else ""
    restricted = may(request.user, "read what is restricted")
    hits = search(text=sought, tables=tables, limit=MOST, restricted=restricted)
    context = {
        "sought": sought,
        "only": only,
        "groups": _groups(hits, only, request.GET.get("page", "1")),
        "total": len(hits),
        "too_many": len(hits) == MOST,
        "all_url": f"{reverse('search')}?{urlencode({'q': sought})}",
        "searches_people": named,
    }
    return render(request, "search/search.html", context)


def _groups(hits: Sequence[Hit], only: str, page: str) -> list[Group]:
    """In the order of the closest answer in each, as the hits are."""
    by_table: dict[str, list[Hit]] = {}
    for hit in hits:
        if not only or hit.table == only:
            by_table.setdefault(hit.table, []).append(hit)
    pages = {table: Paginator(found, PAGE).get_page(page) for table, found in by_table.items() if only}
    shown = {table: list(pages[table].object_list) if only else found[:FEW] for table, found in by_table.items()}
    names, places = _names_of(shown.get("vehicles", ())), _places_of(shown.get("positions", ()))
    return [
        Group(
            table,
            HEADINGS[table],
            len(found),
            [_found(hit, names, places) for hit in shown[table]],
            pages.get(table),
        )
        for table, found in by_table.items()
    ]


def _names_of(hits: Sequence[Hit]) -> dict[str, str]:
    """Vehicles as they are called: "No. 6 Harrenby"."""
    keys = [hit.key for hit in hits]
    return {one.key: one.full_name for one in Vehicle.objects.filter(key__in=keys)} if keys else {}


def _places_of(hits: Sequence[Hit]) -> dict[str, Vehicle]:
    """The vehicles of the positions found: a position is shown on the page of its vehicle."""
    keys = [hit.key for hit in hits]
    found = Position.objects.filter(key__in=keys).select_related("vehicle") if keys else ()
    return {one.key: one.vehicle for one in found}


def _found(hit: Hit, names: Mapping[str, str], places: Mapping[str, Vehicle]) -> Found:
    where = ""
    if hit.table == "positions":
        vehicle = places[hit.key]
        url = f"{reverse('vehicle', args=[vehicle.key])}?{urlencode({'find': hit.code})}#positions"
        where = f"in {vehicle.full_name}"
    elif hit.table == "people":
        url = f"{reverse('people')}#{hit.key}"
    else:
        url = reverse(PAGES[hit.table], args=[hit.key])
    shown = hit.column not in ("name", "title", "id") or bool(hit.alias)
    return Found(
        url, hit.code, names.get(hit.key, hit.name), where, hit.column, hit.text if shown else "", hit.alias
    )
