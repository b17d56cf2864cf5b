"""The period report: asked for by two days, the vehicles and who is to read it; on the page, and as a PDF."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse

from register.documents.period_content import EDITIONS, TRUSTEES, PeriodReport
from register.documents.period_words import (
    ABOUT,
    EDITION_CHOICES,
    EDITION_NAMES,
    HEADS,
    HOW_DATED,
    TITLES,
    WORK_AND_KNOWLEDGE,
    beside,
    counted,
    known_words,
    nothing_of,
    period_words,
    photo_words,
    stopped,
)
from register.exchange.faults import Fault, Refused
from register.fabric.dates import DateError, day_in_words, read_day
from register.fabric.period import offered
from register.models import Vehicle
from register.policy import may
from register.services.period import Asked, paper_of, period_report
from register.services.sight import sight_of
from register.web.asking import asking
from register.web.record_form import FormField

MOST_VEHICLES = 200
"""Vehicles that an address may name."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What the address says, as it was typed, and what is asked by it. faults: what of it cannot be read."""

    texts: dict[str, str]
    vehicles: list[str]
    asked: Asked
    faults: list[Fault]


def period(request: HttpRequest) -> HttpResponse:
    """The form; with days in the address, the report below it."""
    _ask(request)
    typed = _typed(request.GET, date.today())
    faults, report = typed.faults, None
    if "first" in request.GET and not faults:
        try:
            report = period_report(
                typed.asked, today=date.today(), sight=sight_of(request.user), written_by=asking(request)
            )
        except Refused as refused:
            faults = refused.faults
    return _page(request, typed, faults, report)


def paper(request: HttpRequest) -> HttpResponse:
    """The same as a PDF; the page, with what was wrong."""
    _ask(request)
    typed = _typed(request.GET, date.today())
    faults = typed.faults
    if not faults:
        try:
            report = period_report(
                typed.asked, today=date.today(), sight=sight_of(request.user), written_by=asking(request)
            )
        except Refused as refused:
            faults = refused.faults
        else:
            name = f"period-{typed.asked.first}-{typed.asked.last}-{typed.asked.edition}.pdf"
            headers = {"Content-Disposition": f'inline; filename="{name}"'}
            return HttpResponse(paper_of(report), content_type="application/pdf", headers=headers)
    return _page(request, typed, faults, None)


def _ask(request: HttpRequest) -> None:
    if not may(request.user, "read the register"):
        raise PermissionDenied("The report on a period is for those who read the register.")


def _typed(data: QueryDict, today: date) -> Typed:
    """The year up to today where nothing is typed."""
    _, first, last = next(offered(today))
    texts = {name: data.get(name, "").strip()[:100] for name in ("first", "last", "known")}
    days: dict[str, date | None] = {"first": first, "last": last, "known": None}
    faults = []
    for name, text in texts.items():
        if text:
            try:
                days[name] = read_day(text)
            except DateError as sentence:
                faults.append(Fault("", None, name, text, str(sentence)))
        elif name != "known":
            texts[name] = day_in_words(first if name == "first" else last)
    edition = data.get("edition", TRUSTEES)
    if edition not in EDITIONS:
        faults.append(Fault("", None, "edition", "", "There is no such edition: choose one of the two."))
    vehicles = [code[:60] for code in data.getlist("v")[:MOST_VEHICLES] if code.strip()]
    if any(not code.isprintable() for code in vehicles):
        faults.append(Fault("", None, "v", "", "That is no vehicle of this register. Choose of the list."))
    asked = Asked(days["first"] or first, days["last"] or last, days["known"], tuple(vehicles), edition)
    return Typed(texts | {"edition": edition}, vehicles, asked, faults)


def _page(request: HttpRequest, typed: Typed, faults: list[Fault], report: PeriodReport | None) -> HttpResponse:
    fields = _fields(typed, {fault.column: fault.message for fault in reversed(faults)})
    context = {
        "fields": fields,
        "days": fields[:3],
        "edition_field": fields[3],
        "vehicles_field": fields[4],
        "has_errors": bool(faults),
        "summary_head": "There is no report yet",
        "offered": [
            (name, urlencode({"first": first.isoformat(), "last": last.isoformat()}))
            for name, first, last in offered(date.today())
        ],
        "heading": "Period report",
        "under": "What was done to the vehicles and what was found out between two days, for trustees or for the members’ magazine",
        "crumbs": [("Vehicles", reverse("fleet")), ("Period report", "")],
        "query": urlencode(
            [*((name, text) for name, text in typed.texts.items() if text), *(("v", code) for code in typed.vehicles)]
        ),
        **(_told(report) if report else {}),
    }
    return render(request, "period/period.html", context, status=422 if faults else 200)


def _fields(typed: Typed, errors: dict[str, str]) -> list[FormField]:
    texts = typed.texts
    listed = Vehicle.objects.order_by("-in_fleet", "key")
    chosen = frozenset(code.lower() for code in typed.vehicles)
    return [
        FormField(
            "first", "First day", "text", texts["first"], "it belongs to the period", "1 January 2026",
            error=errors.get("first", ""),
        ),
        FormField("last", "Last day", "text", texts["last"], "it belongs to the period too", "", error=errors.get("last", "")),
        FormField(
            "known", "With what was entered until", "text", texts["known"],
            "empty: the last day. A later day takes in what was entered late", "", error=errors.get("known", ""),
        ),
        FormField(
            "edition", "Who is to read it", "radio", texts["edition"], "", "", options=tuple(EDITION_CHOICES.items()),
            error=errors.get("edition", ""),
        ),
        FormField(
            "v", "Vehicles", "checks", "", "none ticked: all of them", "",
            options=tuple((one.key, one.full_name) for one in listed), chosen=chosen, error=errors.get("v", ""),
        ),
    ]  # fmt: skip


def _told(report: PeriodReport) -> dict[str, Any]:
    """The report as the template takes it: groups under their titles, every line with its words."""
    front = report.front
    return {
        "report": report,
        "period": period_words(front),
        "known": known_words(front),
        "edition": EDITION_NAMES[front.edition],
        "in_short": [(one.name, counted(one.counts)) for one in report.vehicles],
        "together": counted(report.totals),
        "nothing_of": nothing_of(report),
        "quiet": ", ".join(report.quiet),
        "vehicles": [(one, [_group(group) for group in one.groups], _photographs(one)) for one in report.vehicles],
        "how_told": (HOW_DATED, WORK_AND_KNOWLEDGE),
    }


def _group(group: Any) -> dict[str, Any]:
    when, about = HEADS.get(group.kind, ("When", "Part"))
    return {
        "group": group,
        "title": TITLES[group.kind],
        "about": ABOUT.get(group.kind, ""),
        "when": when,
        "what": about,
        "lines": [
            (one, beside(one), [_sentence(words) for words in one.said], [_sentence(words) for words in one.doubts])
            for one in group.lines
        ],
    }


def _photographs(one: Any) -> list[tuple[Any, str]]:
    return [(photo, photo_words(photo)) for photo in one.photographs]


def _sentence(words: str) -> str:
    return stopped(words[:1].upper() + words[1:])
