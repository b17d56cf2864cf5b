"""Citing one source for many parts: tick them, or paste their ids, with a place in the source for each."""

from __future__ import annotations

import secrets
from dataclasses import replace

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render

from register.exchange.faults import Fault, Refused
from register.models import Source, Vehicle
from register.policy import may
from register.services.citing import Cited, cite_for_many, pasted_rows
from register.services.finds import readable_parts
from register.web.asking import asking, storable, token_of
from register.web.kept_text import kept_for
from register.web.record_form import FormField
from register.web.records import what_was_done

PAGE = 100
SUPPORTS = (("yes", "It speaks for it"), ("no", "It speaks against it"))
FIELDS: tuple[FormField, ...] = (
    FormField(
        "pasted",
        "Or write their ids, one a line",
        "area",
        "",
        "after a semicolon, where in the source",
        "FR-001; page 12",
        False,
    ),
    FormField(
        "locator", "Where in it, for all that say nothing else", "text", "", "", "page 12, or sheet 3", False
    ),
    FormField(
        "supports",
        "Does it speak for what the parts are held to be?",
        "radio",
        "yes",
        "",
        "",
        False,
        SUPPORTS,
    ),
    FormField(
        "assessed_on",
        "The day of the assessment it belongs to",
        "text",
        "",
        "left empty: the one in force",
        "2 May 2026",
        False,
    ),
    FormField("note", "What it says", "area", "", "never public", "", False),
)


def cite(request: HttpRequest, key: str) -> HttpResponse:
    if not may(request.user, "record finds"):
        raise PermissionDenied("Recording finds is for recorders, engineers and the heritage officer.")
    source = Source.objects.filter(key=storable(key).lower()).first()
    if source is None or (source.access == "restricted" and not may(request.user, "read what is restricted")):
        raise Http404
    faults: list[Fault] = []
    data = request.POST if request.method == "POST" else kept_for(request) or QueryDict()
    if request.method == "POST":
        try:
            cited = cite_for_many(
                source,
                [*_ticked(data), *pasted_rows(storable(data.get("pasted", "")))],
                user=asking(request),
                common={name: data.get(name, "") for name in ("supports", "locator", "assessed_on", "note")},
                token=token_of(request),
            )
        except Refused as refused:
            faults = refused.faults
        else:
            messages.success(request, _said(cited))
            return redirect("source", source.key)
    return _page(request, source, data, faults)


def _field(one: FormField, data: QueryDict, errors: dict[str, str]) -> FormField:
    value = data.get(one.name, one.value)
    return replace(one, value=value, chosen=frozenset({value}), error=errors.get(one.name, ""))


def _ticked(data: QueryDict) -> list[tuple[str, str]]:
    return [
        (storable(code), storable(data.get(f"at-{code}", "")).strip()) for code in data.getlist("part")
    ]


def _said(cited: Cited) -> str:
    already = f" {cited.known} were cited so already." if cited.known else ""
    if cited.handed is None:
        return f"Nothing is new:{already}" if already else "Nothing is new."
    number = f"Cited for {cited.number} part{'s' if cited.number != 1 else ''}."
    return f"{number} {what_was_done(cited.handed)}{already}"


def _page(request: HttpRequest, source: Source, data: QueryDict, faults: list[Fault]) -> HttpResponse:
    vehicle = storable(request.GET.get("vehicle") or data.get("vehicle", "")).strip().lower()[:40]
    rows = readable_parts(asking(request)).none()
    if vehicle:
        rows = readable_parts(asking(request)).filter(installations__position__vehicle=vehicle).distinct()
    page = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    ticked = dict(_ticked(data))
    errors: dict[str, str] = {}
    for fault in faults:
        errors[fault.column] = f"{errors.get(fault.column, '')} {fault.message}".strip()
    fields = [_field(one, data, errors) for one in FIELDS]
    known = {field.name for field in fields}
    context = {
        "source": source,
        "vehicles": Vehicle.objects.order_by("key"),
        "vehicle_key": vehicle,
        "page": page,
        "parts": [
            {"part": one, "ticked": one.code in ticked, "at": data.get(f"at-{one.code}", "")} for one in page
        ],
        "fields": fields,
        "faults": faults,
        "general_errors": [fault.message for fault in faults if fault.column not in known],
        "token": secrets.token_urlsafe(24),
    }
    return render(request, "sources/cite.html", context, status=422 if faults else 200)
