"""Where parts are: a place, what is due back, what nobody has seen for long; moving a part."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Fault, Refused
from register.fabric.dates import day_in_words
from register.models import Movement, Part, Place
from register.policy import may
from register.services.moving import move, what_is_on
from register.services.picture_matching import parts_named
from register.services.whereabouts import (
    due_back,
    latest_movements,
    not_seen_since,
    parts_at,
    stand_ins,
    whereabouts_of,
)
from register.web.asking import asking, token_of
from register.web.kept_text import kept_for
from register.web.record_form import form_fields, texts_from
from register.web.withdrawn import gone

YEARS, MOST_YEARS = 5, 200
PAGE = 50
TO_A_PLACE, WITH_A_PART, NOBODY_KNOWS = "place", "part", "not known"


def whereabouts(request: HttpRequest) -> HttpResponse:
    """What is due back, the overdue first, and which stand-ins keep whose place."""
    latest, today = latest_movements(), date.today().toordinal()
    context = {
        "away": due_back(latest, today, request.user),
        "stand_ins": stand_ins(latest, request.user),
        "today": day_in_words(date.today()),
        "heading": "Whereabouts",
        "under": "What is away and due back, and what stands in meanwhile",
    }
    return render(request, "whereabouts/whereabouts.html", context)


def not_seen(request: HttpRequest) -> HttpResponse:
    """Parts that nobody is recorded to have seen for so many years (``?years=5``)."""
    typed = request.GET.get("years", str(YEARS)).strip()[:10]
    error = ""
    years = int(typed) if typed.isascii() and typed.isdigit() and 0 < int(typed) <= MOST_YEARS else YEARS
    if str(years) != typed.lstrip("0"):
        error = f"A number of years from 1 to {MOST_YEARS} is wanted; the list is for {YEARS}."
    today = date.today()
    since = _years_before(today, years)
    rows = not_seen_since(since.toordinal(), today.toordinal(), request.user)
    page = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "days": {one.part.key: day_in_words(date.fromordinal(one.day)) for one in page if one.day},
        "rows": [(one, day_in_words(date.fromordinal(one.day)) if one.day else "") for one in page],
        "typed": typed,
        "years": years,
        "error": error,
        "has_errors": bool(error),
        "since": day_in_words(since),
        "heading": "Not seen for long",
        "crumbs": [("Whereabouts", reverse("whereabouts")), ("Not seen for long", "")],
    }
    return render(request, "whereabouts/not_seen.html", context, status=422 if error else 200)


def _years_before(day: date, years: int) -> date:
    year = max(day.year - years, 1)
    return day.replace(year=year, day=28 if (day.month, day.day) == (2, 29) else day.day)


def place(request: HttpRequest, key: str) -> HttpResponse:
    """What is in a place now, and what was."""
    found = Place.objects.select_related("parent").filter(key=key.lower()).first() if key.isprintable() else None
    if found is None:
        return gone(request, "places", key)
    latest = latest_movements()
    here = parts_at(found.key, latest, request.user)
    keys = {one.movement.part_id for one in here}
    moved = Movement.objects.filter(place=found).exclude(part__in=keys).select_related("part").order_by("part__key")
    if not may(request.user, "read what is restricted"):
        moved = moved.filter(part__access="public")
    context = {
        "place": found,
        "here": here,
        "was": Paginator(moved, PAGE).get_page(request.GET.get("page")),
        "children": found.children.order_by("key"),
        "may_record": may(request.user, "record finds"),
        "may_change": may(request.user, "change the register"),
        "may_see_all": may(request.user, "read what is restricted"),
        "crumbs": [("Places", reverse("places")), (found.name, "")],
    }
    return render(request, "places/place.html", context)


def move_part(request: HttpRequest, key: str) -> HttpResponse:
    """A part went somewhere: to a place, to lie with another part, or nobody knows. What is on it may go along."""
    part = _part(request, key)
    _ask(request)
    on_it = [one for one in what_is_on(part) if _may_read(request, one.part)]
    texts = {"moved_on": day_in_words(date.today())}
    chosen, how, faults = {one.part.key for one in on_it if one.is_here}, TO_A_PLACE, []
    kept = kept_for(request)
    if posted := request.POST if request.method == "POST" else kept:
        texts, how = texts_from("movements", posted), posted.get("how", "")
        chosen = set(posted.getlist("along"))
    if request.method == "POST":
        faults = _refuse_unclear(request, texts, how)
        along = [one.part for one in on_it if one.part.key in chosen and not one.follows]
        if not faults:
            try:
                handed = move(part, texts, along=along, user=asking(request), token=token_of(request))
            except Refused as refused:
                faults = refused.faults
            else:
                messages.success(request, _moved(along, waits=handed.waiting is not None))
                return redirect("part", key=part.key)
    fields = form_fields("movements", texts, faults, editing=False)
    known = {field.name for field in fields} - {"part_id"}
    context = {
        "part": part,
        "kept": kept is not None,
        "now": whereabouts_of(part.key, latest_movements()),
        "on_it": on_it,
        "chosen": chosen,
        "how": how,
        "fields": {field.name: field for field in fields},
        "listed": [field for field in fields if field.name in known],
        "places": Place.objects.order_by("key"),
        "faults": faults,
        "general_errors": [fault.message for fault in faults if fault.column not in known],
        "token": token_of(request) or secrets.token_urlsafe(24),
        "heading": f"Move {part.name}",
        "under": f"Part {part.code}",
        "crumbs": [("Parts", reverse("parts")), (part.name, reverse("part", args=[part.key])), ("Move", "")],
    }
    return render(request, "whereabouts/move.html", context, status=422 if faults else 200)


def _refuse_unclear(request: HttpRequest, texts: dict[str, str], how: str) -> list[Fault]:
    """Exactly what was said counts: the field of another answer is left out, an answer without its field is told."""
    if how not in (TO_A_PLACE, WITH_A_PART, NOBODY_KNOWS):
        return [Fault("movements", None, "how", "", "Say whether it went to a place, lies with another part, or nobody knows.")]
    if how != TO_A_PLACE:
        texts["place_id"] = ""
    if how != WITH_A_PART:
        texts["with_part"] = ""
    if how == TO_A_PLACE and not texts.get("place_id", "").strip():
        return [Fault("movements", None, "place_id", "", "Choose the place it went to.")]
    if how == WITH_A_PART:
        found, missing = parts_named([texts.get("with_part", "")], request.user)
        if missing or not found:
            return [Fault("movements", None, "with_part", texts.get("with_part", ""), "No part has that tag or id. Look it up by its name.")]
        texts["with_part"] = found[0].code
    return []


def _moved(along: list[Part], *, waits: bool) -> str:
    words = "Handed in, to be looked at by the officer" if waits else "Recorded"
    return f"{words}: moved{f', and {len(along)} more with it' if along else ''}."


def _part(request: HttpRequest, key: str) -> Part:
    found = Part.objects.filter(key=key.lower()).first() if key.isprintable() else None
    if found is None or not _may_read(request, found):
        raise Http404
    return found


def _may_read(request: HttpRequest, part: Any) -> bool:
    return part.access == "public" or may(request.user, "read what is restricted")


def _ask(request: HttpRequest) -> None:
    if not may(request.user, "record finds"):
        raise PermissionDenied("Recording where parts are is for recorders, engineers and the heritage officer.")
