"""Where parts are: a place, what is due back, what nobody has seen for long; moving a part; going through a place."""

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
from register.fabric.dates import DateError, day_in_words, read_day
from register.models import Movement, Part, Place
from register.policy import may
from register.services.moving import NOT_FOUND, Taken, move, take_stock, what_is_on
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
    if request.method == "POST":
        texts, how = texts_from("movements", request.POST), request.POST.get("how", "")
        chosen = set(request.POST.getlist("along"))
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


def stocktake(request: HttpRequest, key: str) -> HttpResponse:
    """By list: first what was seen is ticked, then the others are asked about; then all of it is recorded at once."""
    _ask(request)
    found = _place(key)
    expected = parts_at(found.key, latest_movements(), request.user)
    step, faults = request.POST.get("step", "tick"), []
    seen = set(request.POST.getlist("seen"))
    day = request.POST.get("moved_on", day_in_words(date.today()))
    typed = request.POST.get("came", "")[:4000]
    came, missing = parts_named(typed.splitlines(), request.user)
    others = {
        one.movement.part_id: request.POST.get(f"other-{one.movement.part_id}", "")
        for one in expected
        if one.movement.part_id not in seen
    }
    if request.method == "POST":
        faults = _faults_of_a_list(day, missing)
        if not faults and (step == "record" or not others):
            try:
                taken = take_stock(
                    found,
                    day=day,
                    expected=expected,
                    seen=seen,
                    others=others,
                    came=came,
                    user=asking(request),
                    token=token_of(request),
                )
            except Refused as refused:
                faults = refused.faults
            else:
                for words in _said(taken):
                    messages.success(request, words)
                return redirect("place", key=found.key)
    asks = request.method == "POST" and not faults
    errors = {fault.column: fault.message for fault in faults}
    context = {
        "place": found,
        "expected": expected,
        "asks": asks,
        "others": [one for one in expected if one.movement.part_id in others] if asks else [],
        "seen": seen,
        "day": day,
        "came": typed,
        "came_parts": came,
        "places": Place.objects.exclude(key=found.key).order_by("key"),
        "errors": errors,
        "general_errors": [words for column, words in errors.items() if column not in ("moved_on", "came")],
        "has_errors": bool(faults),
        "not_found": NOT_FOUND,
        "token": token_of(request) or secrets.token_urlsafe(24),
        "may_see_all": may(request.user, "read what is restricted"),
        "heading": f"Stocktake: {found.name}",
        "under": "What of these did you not see?" if asks else f"{len(expected)} parts should be here",
        "crumbs": [("Places", reverse("places")), (found.name, reverse("place", args=[found.key])), ("Stocktake", "")],
    }
    return render(request, "whereabouts/stocktake.html", context, status=422 if faults else 200)


def _faults_of_a_list(day: str, missing: list[str]) -> list[Fault]:
    faults = []
    try:
        if read_day(day) > date.today():
            faults.append(Fault("movements", None, "moved_on", day, "A place can only have been gone through by today."))
    except DateError as error:
        faults.append(Fault("movements", None, "moved_on", day, str(error)))
    if missing:
        names = ", ".join(f"“{name}”" for name in missing[:5])
        faults.append(Fault("movements", None, "came", "", f"No part has the tag or id {names}. Correct it, or take the line out."))
    return faults


def _said(taken: Taken) -> list[str]:
    counts = (
        (len(taken.seen), "seen"),
        (len(taken.not_found), "not found"),
        (len(taken.elsewhere), "elsewhere"),
        (len(taken.came), "found here that nobody expected"),
    )
    listed = ", ".join(f"{count} {words}" for count, words in counts if count)
    verb = "Handed in, to be looked at by the officer" if taken.waits else "Recorded"
    said = [f"{verb}: {listed}." if listed else "Nothing was ticked, so nothing was recorded."]
    if taken.left_alone:
        codes = ", ".join(part.code for part in taken.left_alone[:8])
        said.append(f"Left alone, since each has a movement of that day already: {codes}{'…' if len(taken.left_alone) > 8 else ''}.")
    return said


def _place(key: str) -> Place:
    found = Place.objects.select_related("parent").filter(key=key.lower()).first()
    if found is None:
        raise Http404
    return found


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
