"""Sources, places and people: what the record rests on, where parts are, and who is named."""

from __future__ import annotations

from urllib.parse import urlencode

from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from register.models import Citation, Event, Person, Place, Source
from register.policy import may
from register.services.photograph_records import photographs_of
from register.web.withdrawn import gone

PAGE = 50


def sources(request: HttpRequest) -> HttpResponse:
    sought = request.GET.get("q", "").strip()[:100]
    rows = Source.objects.annotate(cited=Count("citations")).order_by("key")
    if not may(request.user, "read what is restricted"):
        rows = rows.filter(access="public")
    if sought:
        rows = rows.filter(
            Q(code__icontains=sought)
            | Q(title__icontains=sought)
            | Q(reference__icontains=sought)
            | Q(author__icontains=sought)
        )
    context = {
        "page": Paginator(rows, PAGE).get_page(request.GET.get("page")),
        "sought": sought,
        "may_change": may(request.user, "change the register"),
    }
    return render(request, "sources/sources.html", context)


def source(request: HttpRequest, key: str) -> HttpResponse:
    found = Source.objects.filter(key=key.lower()).first()
    restricted = may(request.user, "read what is restricted")
    if found is None:
        return gone(request, "sources", key)
    if found.access == "restricted" and not restricted:
        raise Http404
    citations = Citation.objects.filter(source=found).select_related("part").order_by("part__key")
    events = Event.objects.filter(source=found).select_related("vehicle")
    if not restricted:
        citations, events = citations.filter(part__access="public"), events.filter(access="public")
    context = {
        "source": found,
        "citations": citations,
        "events": events,
        "restricted": restricted,
        "photographs": photographs_of(request.user, source=found.key),
        "photographs_of": urlencode({"source": found.code}),
        "may_add": may(request.user, "record finds"),
        "may_change": may(request.user, "change the register"),
    }
    return render(request, "sources/source.html", context)


def places(request: HttpRequest) -> HttpResponse:
    context = {
        "places": Place.objects.select_related("parent").order_by("key"),
        "may_change": may(request.user, "change the register"),
    }
    return render(request, "places/places.html", context)


def people(request: HttpRequest) -> HttpResponse:
    if not may(request.user, "read persons' names"):
        raise PermissionDenied("Persons' names are for the heritage officer and the administrator.")
    context = {
        "people": Person.objects.order_by("key"),
        "may_change": may(request.user, "change the register"),
    }
    return render(request, "people/people.html", context)
