"""A schedule of figures: chosen, looked at, and taken away as workbook, paper and charts. The address holds every choice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from register.documents.schedule import BEFORE, COMPLETED, PROPOSED, Entry, Schedule, lines_of, summary_of
from register.documents.schedule_charts import CHARTS
from register.documents.schedule_words import MAY_NOT, notes_beside, paragraph
from register.exchange.faults import Fault, Refused
from register.fabric.dates import DateError, day_in_words, read_day
from register.fabric.inputs import BASES
from register.models import ReferencePeriod, Vehicle
from register.policy import may
from register.services import schedule as service
from register.services import schedule_files as files
from register.web.asking import asking, number_of, storable
from register.web.exports import WORKBOOK

LABELS = 100
"""Reference periods that the form suggests."""
LONGEST = 300
WIDTHS = (("narrow", 280), ("middle", 520), ("wide", 776))
STATES = {"before": BEFORE, "proposed": PROPOSED, "completed": COMPLETED}
"""By the name in an address."""


@dataclass(frozen=True, slots=True)
class Typed:
    """The choices as they stand in the address, with what was wrong in them."""

    vehicles: tuple[str, ...]
    as_at: str
    completed: str
    reference: str
    basis: str
    proposals: tuple[str, ...]
    asked: service.Asked
    faults: tuple[Fault, ...]

    @property
    def keys(self) -> set[str]:
        return {one.strip().lower() for one in self.vehicles}

    @property
    def numbers(self) -> set[int]:
        return set(self.asked.proposals)


def schedule(request: HttpRequest) -> HttpResponse:
    """The choices; once vehicles are chosen, the schedule."""
    typed = _typed(request)
    if not typed.vehicles and not typed.faults:
        return _page(request, typed)
    return _answered(request, typed, lambda found: _page(request, typed, found.schedule))


def workbook(request: HttpRequest) -> HttpResponse:
    return _answered(
        request,
        _typed(request),
        lambda found: _sent(files.workbook_of(found.schedule), WORKBOOK, _name(found.schedule, "xlsx")),
    )


def paper(request: HttpRequest) -> HttpResponse:
    return _answered(
        request,
        _typed(request),
        lambda found: _sent(files.paper_of(found.schedule), "application/pdf", _name(found.schedule, "pdf"), "inline"),
    )


def chart(request: HttpRequest, chart: str, kind: str) -> HttpResponse:
    """A chart of one of the vehicles, which ``of`` names where they are several."""
    if chart not in CHARTS or kind not in files.KINDS:
        raise Http404

    def send(found: service.Gathered) -> HttpResponse:
        entry = _entry_of(request, found.schedule)
        data = files.chart_of(found.schedule, entry, chart, kind)
        return _sent(data, files.KINDS[kind], f"{_safe(entry.vehicle_id)}-{chart}-{found.schedule.day}.{kind}")

    return _answered(request, _typed(request), send)


def inputs(request: HttpRequest) -> HttpResponse:
    """What the figures of one vehicle in one state were computed from: the bytes whose SHA-256 is the data hash."""
    if not may(request.user, "read what is restricted"):
        raise PermissionDenied("The inputs name every part, restricted ones too: they are for the workshop and the office.")

    def send(found: service.Gathered) -> HttpResponse:
        entry, name = _entry_of(request, found.schedule), request.GET.get("state", "before")
        data = files.inputs_of_state(found, entry.key, STATES.get(name, ""))
        if data is None:
            raise Http404
        return _sent(data, "application/json", f"{_safe(entry.vehicle_id)}-inputs-{name}.json")

    return _answered(request, _typed(request), send)


# What was asked


def _typed(request: HttpRequest) -> Typed:
    data, faults = request.GET, list[Fault]()
    basis = data.get("basis", "mass")
    proposals = tuple(one for one in data.getlist("proposal") if one.strip())
    numbers = []
    for text in proposals:
        number = number_of(text.strip().upper().removeprefix("P-"), most=9)
        if number is None:
            said = storable(text)[:40]
            faults.append(_fault("proposal", f"“{said}” is no number of a proposal, such as P-014: leave it out."))
        else:
            numbers.append(number)
    texts = {name: storable(data.get(name, "")).strip()[:LONGEST] for name in ("as_at", "completed", "reference")}
    day = _day(texts["as_at"], "as_at", faults) or date.today()
    completed = _day(texts["completed"], "completed", faults)
    vehicles = tuple(one for one in data.getlist("v") if one.strip())
    asked = service.Asked(vehicles, day, texts["reference"] or None, basis, tuple(numbers), completed)
    return Typed(
        vehicles,
        texts["as_at"],
        texts["completed"],
        texts["reference"],
        basis if basis in BASES else "mass",
        proposals,
        asked,
        tuple(faults),
    )


def _day(text: str, column: str, faults: list[Fault]) -> date | None:
    if not text:
        return None
    try:
        return read_day(text)
    except DateError as sentence:
        faults.append(_fault(column, str(sentence)))
        return None


def _fault(column: str, message: str) -> Fault:
    return Fault("", None, column, "", message)


def _answered(
    request: HttpRequest, typed: Typed, answer: Callable[[service.Gathered], HttpResponse]
) -> HttpResponse:
    """The answer, or the page with what is wrong in the choices."""
    faults = list(typed.faults)
    try:
        found = service.gathered(typed.asked, user=asking(request))
    except Refused as refused:
        faults += refused.faults
    else:
        if not faults:
            return answer(found)
    return _page(request, typed, faults=faults)


def _entry_of(request: HttpRequest, found: Schedule) -> Entry:
    """The vehicle that ``of`` names, or the only one. Raises Http404."""
    named = request.GET.get("of", "").strip().lower()
    for entry in found.entries:
        if entry.key == named or (not named and len(found.entries) == 1):
            return entry
    raise Http404


# What is shown


def _page(
    request: HttpRequest, typed: Typed, found: Schedule | None = None, *, faults: list[Fault] | None = None
) -> HttpResponse:
    faults = faults or []
    user = asking(request)
    fleet = list(Vehicle.objects.order_by("key"))
    names = {one.key: one.full_name for one in fleet}
    context: dict[str, Any] = {
        "typed": typed,
        "day_text": day_in_words(typed.asked.day) if found else typed.as_at,
        "completed_text": typed.completed,
        "fleet": [(one, one.key in typed.keys) for one in fleet],
        "proposals": [
            (one, names.get(one.vehicle, ""), one.number in typed.numbers)
            for one in service.proposals_for(typed.keys & names.keys(), user)
        ],
        "labels": ReferencePeriod.objects.order_by("label").values_list("label", flat=True).distinct()[:LABELS],
        "bases": BASES,
        "most": service.MOST,
        "faults": faults,
        "errors": {fault.column: fault.message for fault in reversed(faults)},
        "heading": "Schedule of figures",
        "under": "For an application: before, after the works proposed and after completion, by the same method",
        "crumbs": [("Vehicles", reverse("fleet")), ("Schedule of figures", "")],
    }
    if found:
        context |= _shown(request, found)
    return render(request, "schedule/schedule.html", context, status=422 if faults else 200)


def _shown(request: HttpRequest, found: Schedule) -> dict[str, Any]:
    query = urlencode(found.run.parameters)
    others = [(name, value) for name, value in found.run.parameters if name != "as_at"]
    return {
        "found": found,
        "query": query,
        "others": others,
        "sections": [_section(one, found, query) for one in found.entries],
        "may_not": MAY_NOT,
        "summaries": [summary_of(one, found.basis) for one in found.entries] if len(found.entries) > 1 else [],
        "may_read_inputs": may(request.user, "read what is restricted"),
    }


def _section(entry: Entry, found: Schedule, query: str) -> dict[str, Any]:
    """What the page says of one vehicle."""
    groups = [(basis, lines_of(entry, basis)) for basis in found.bases]
    notes = dict.fromkeys(note for _, lines in groups for line in lines for note in notes_beside(line))
    of = urlencode({"of": entry.key})
    names = {name: key for key, name in STATES.items()}
    return {
        "entry": entry,
        "paragraph": paragraph(entry, found),
        "groups": [(basis, lines) for basis, lines in groups if lines],
        "without": [one for one in entry.told if not one.views],
        "notes": list(notes),
        "charts": []
        if entry.missing
        else [(name, {size: draw(entry, found, wide) for size, wide in WIDTHS}) for name, draw in CHARTS.items()],
        "query": f"{query}&{of}",
        "hashes": [(one, names[one.name]) for one in entry.drawn],
    }


def _sent(data: bytes, kind: str, name: str, how: str = "attachment") -> HttpResponse:
    headers = {"Content-Disposition": f'{how}; filename="{name}"', "X-Content-Type-Options": "nosniff"}
    return HttpResponse(data, content_type=kind, headers=headers)


def _name(found: Schedule, ending: str) -> str:
    one = f"{_safe(found.entries[0].vehicle_id)}-" if len(found.entries) == 1 else ""
    return f"{one}schedule-{found.day}.{ending}"


def _safe(text: str) -> str:
    return "".join(letter if letter.isascii() and (letter.isalnum() or letter in "-_") else "-" for letter in text)
