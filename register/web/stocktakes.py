"""Going through a place by list, by itself or with the places inside it: on the screen, and on paper."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.fabric.dates import DateError, day_in_words, read_day
from register.models import Part, Place
from register.policy import may
from register.services.papers import stocktake_sheet
from register.services.picture_matching import parts_named
from register.services.stocktakes import NOT_FOUND, Round, Said, Taken, round_of, take_stock
from register.web.asking import asking, storable, token_of
from register.web.kept_text import kept_for

MOST_LETTERS = 4000
INSIDE = "inside"


@dataclass(frozen=True, slots=True)
class Typed:
    """What the form holds. missing: lines that name no part."""

    step: str
    day: str
    seen: frozenset[str]
    came_text: str
    came: list[Part]
    missing: list[str]
    others: Mapping[str, str]
    found_in: Mapping[str, str]


def stocktake(request: HttpRequest, key: str) -> HttpResponse:
    """By list: first what was seen is ticked, then the others are asked about; then all of it is recorded at once."""
    gone_through = _round(request, key)
    kept = kept_for(request)
    typed = _typed(request, gone_through, request.POST if request.method == "POST" else kept or QueryDict())
    if request.method != "POST":
        return _page(request, gone_through, typed, [], was_kept=kept is not None)
    faults = _faults(typed)
    asks = bool(typed.others) or (len(gone_through.places) > 1 and bool(typed.came))
    if faults or (typed.step != "record" and asks):
        return _page(request, gone_through, typed, faults)
    try:
        taken = take_stock(gone_through, _said_of(gone_through, typed), user=asking(request), token=token_of(request))
    except Refused as refused:
        return _page(request, gone_through, typed, refused.faults)
    for words in _in_words(taken):
        messages.success(request, words)
    return redirect("place", key=gone_through.place.key)


def sheet(request: HttpRequest, key: str) -> HttpResponse:
    """The same list on paper, in the same order."""
    gone_through = _round(request, key)
    try:
        data = stocktake_sheet(gone_through, user=request.user, at=timezone.now())
    except Refused as refused:
        return _page(request, gone_through, _typed(request, gone_through, QueryDict()), refused.faults)
    name = "".join(letter if letter.isalnum() or letter in "-_" else "-" for letter in gone_through.place.code)
    headers = {"Content-Disposition": f'inline; filename="{name}-stocktake.pdf"'}
    return HttpResponse(data, content_type="application/pdf", headers=headers)


def _round(request: HttpRequest, key: str) -> Round:
    if not may(request.user, "record finds"):
        raise PermissionDenied("Recording where parts are is for recorders, engineers and the heritage officer.")
    found = Place.objects.select_related("parent").filter(key=key.lower()).first() if key.isprintable() else None
    if found is None:
        raise Http404
    return round_of(found, request.user, inside=request.GET.get(INSIDE) == "yes")


def _typed(request: HttpRequest, gone_through: Round, posted: QueryDict) -> Typed:
    text = storable(posted.get("came", ""))[:MOST_LETTERS]
    came, missing = parts_named(text.splitlines(), request.user)
    seen = frozenset(posted.getlist("seen"))
    told = {*seen, *(part.key for part in came)}
    return Typed(
        posted.get("step", "tick"),
        storable(posted.get("moved_on", day_in_words(date.today()))),
        seen,
        text,
        came,
        missing,
        {
            key: posted.get(f"other-{key}", "")
            for one in gone_through.expected
            if (key := one.movement.part_id) not in told
        },
        {part.key: posted.get(f"came-{part.key}", "") for part in came},
    )


def _said_of(gone_through: Round, typed: Typed) -> Said:
    places = {one.key: one for one in gone_through.places}
    came = [(part, places.get(typed.found_in[part.key]) or _likely(gone_through, part)) for part in typed.came]
    return Said(typed.day, typed.seen, typed.others, came)


def _likely(gone_through: Round, part: Part) -> Place:
    """Where a part that was typed in was found, if nobody says: where it was expected, else in the place itself."""
    expected = gone_through.expects(part)
    places = {one.key: one for one in gone_through.places}
    return places[expected.place_id] if expected else gone_through.place


def _faults(typed: Typed) -> list[Fault]:
    faults = []
    try:
        if read_day(typed.day) > date.today():
            faults.append(Fault("movements", None, "moved_on", typed.day, "A place can only have been gone through by today."))
    except DateError as error:
        faults.append(Fault("movements", None, "moved_on", typed.day, str(error)))
    if typed.missing:
        names = ", ".join(f"“{name[:40]}”" for name in typed.missing[:5])
        faults.append(Fault("movements", None, "came", "", f"No part has the tag or id {names}. Correct it, or take the line out."))
    return faults


def _page(
    request: HttpRequest, gone_through: Round, typed: Typed, faults: list[Fault], *, was_kept: bool = False
) -> HttpResponse:
    place, count = gone_through.place, len(gone_through.expected)
    asks = request.method == "POST" and not faults
    errors = {fault.column: fault.message for fault in faults}
    context = _heads(gone_through) | {
        "place": place,
        "inside": len(gone_through.places) > 1,
        "has_inside": place.children.exists(),
        "stops": gone_through.stops,
        "asks": asks,
        "others": _unseen(gone_through, typed),
        "came_parts": [(part, _likely(gone_through, part).key) for part in typed.came],
        "typed": typed,
        "kept": was_kept,
        "places": Place.objects.order_by("key"),
        "walk": gone_through.places,
        "errors": errors,
        "general_errors": [words for column, words in errors.items() if column not in ("moved_on", "came")],
        "has_errors": bool(faults),
        "not_found": NOT_FOUND,
        "token": token_of(request) or secrets.token_urlsafe(24),
        "may_see_all": may(request.user, "read what is restricted"),
        "under": "What of these did you not see?" if asks else f"{count} part{'' if count == 1 else 's'} should be here",
    }
    return render(request, "whereabouts/stocktake.html", context, status=422 if faults else 200)


def _heads(gone_through: Round) -> dict[str, Any]:
    place = gone_through.place
    return {
        "heading": f"Stocktake: {gone_through.name}",
        "crumbs": [("Places", reverse("places")), (place.name, reverse("place", args=[place.key])), ("Stocktake", "")],
    }


def _unseen(gone_through: Round, typed: Typed) -> list[tuple[Place, list[Any]]]:
    stops = [(place, [one for one in rows if one.movement.part_id in typed.others]) for place, rows in gone_through.stops]
    return [(place, rows) for place, rows in stops if rows]


def _in_words(taken: Taken) -> list[str]:
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
