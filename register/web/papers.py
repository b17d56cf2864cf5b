"""Labels, part tickets and walk-round sheets: chosen on one page, sent as PDF."""

from __future__ import annotations

from collections.abc import Callable

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.models import Vehicle
from register.policy import may
from register.services.papers import (
    NO_ADDRESS,
    TO_A_SHEET,
    Wanted,
    label_sheet,
    public_base,
    ticket_sheet,
    tops_of,
    walk_round_sheet,
)
from register.services.picture_matching import parts_named


def papers(request: HttpRequest) -> HttpResponse:
    """What to print, and of what."""
    _ask(request)
    return _page(request, [])


def labels(request: HttpRequest) -> HttpResponse:
    _ask(request)
    typed = request.GET.get("skip", "").strip() or "0"
    if not (typed.isascii() and typed.isdigit() and len(typed) < 4 and int(typed) < TO_A_SHEET):
        sentence = f"A number from 0 to {TO_A_SHEET - 1} is wanted: how many labels of the first sheet are gone."
        return _page(request, [Fault("", None, "skip", typed, sentence)])
    return _sent(
        request,
        "labels",
        lambda wanted: label_sheet(wanted, user=request.user, at=timezone.now(), skip=int(typed)),
    )


def tickets(request: HttpRequest) -> HttpResponse:
    _ask(request)
    return _sent(
        request, "tickets", lambda wanted: ticket_sheet(wanted, user=request.user, at=timezone.now())
    )


def walk_round(request: HttpRequest) -> HttpResponse:
    _ask(request)
    return _sent(
        request, "walk-round", lambda wanted: walk_round_sheet(wanted, user=request.user, at=timezone.now())
    )


def _ask(request: HttpRequest) -> None:
    if not may(request.user, "record finds"):
        raise PermissionDenied("Labels and sheets are for those who record: recorders, engineers and the officer.")


def _sent(request: HttpRequest, name: str, write: Callable[[Wanted], bytes]) -> HttpResponse:
    """The PDF, or the page that asked for it with what was wrong."""
    wanted, faults = _wanted(request)
    if faults:
        return _page(request, faults)
    try:
        data = write(wanted)
    except Refused as refused:
        return _page(request, refused.faults)
    of = "".join(letter if letter.isalnum() or letter in "-_" else "-" for letter in wanted.vehicle or "parts")
    headers = {"Content-Disposition": f'inline; filename="{of}-{name}.pdf"'}
    return HttpResponse(data, content_type="application/pdf", headers=headers)


def _wanted(request: HttpRequest) -> tuple[Wanted, list[Fault]]:
    """What the address asks for. A list of parts goes before a vehicle."""
    lines = request.GET.get("parts", "")[:20_000].splitlines()
    found, missing = parts_named(lines, request.user)
    if missing:
        names = ", ".join(f"“{name[:40]}”" for name in missing[:5])
        return Wanted(), [Fault("", None, "parts", "", f"No part has the tag or id {names}. Correct it, or take the line out.")]
    if found:
        return Wanted(parts=tuple(found)), []
    vehicle = _key(request, "vehicle")
    if not vehicle:
        return Wanted(), [Fault("", None, "vehicle", "", "Choose a vehicle, or type the tags or ids of parts.")]
    if not Vehicle.objects.filter(key=vehicle).exists():
        raise Http404
    top = _key(request, "in")
    if top and all(one.key != top for one in tops_of(vehicle)):
        return Wanted(), [Fault("", None, "in", top, "That assembly is not this vehicle's. Choose one of the list.")]
    return Wanted(vehicle, top), []


def _page(request: HttpRequest, faults: list[Fault]) -> HttpResponse:
    vehicle = _key(request, "vehicle")
    errors = {fault.column: fault.message for fault in faults}
    context = {
        "vehicles": Vehicle.objects.order_by("key"),
        "vehicle": vehicle,
        "tops": tops_of(vehicle) if vehicle else [],
        "top": _key(request, "in"),
        "parts": request.GET.get("parts", "")[:20_000],
        "skip": request.GET.get("skip", ""),
        "errors": errors,
        "general_errors": [words for column, words in errors.items() if not column],
        "has_errors": bool(faults),
        "no_address": "" if public_base() else NO_ADDRESS,
        "to_a_sheet": TO_A_SHEET,
        "heading": "Labels and sheets",
        "under": "On paper: what hangs on a part, and what goes round the shed with you",
    }
    return render(request, "papers/papers.html", context, status=422 if faults else 200)


def _key(request: HttpRequest, name: str) -> str:
    """An id in the address; "" for a text that no id can be."""
    text = request.GET.get(name, "").strip().lower()
    return text if len(text) <= 60 and text.isprintable() else ""
