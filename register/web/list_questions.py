"""The questions of a list: answered on a page while it is gone through, and found again on its vehicle."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Refused
from register.fabric.vocabulary import VISIBILITY
from register.models import Part, Vehicle
from register.services import list_jobs
from register.services.from_list import Proposal, as_workbook
from register.services.list_given import STATUSES, WORDS, Given, Question, kind_of, take_answers
from register.services.list_jobs import ListJob
from register.services.remembered_lists import lists_of, settle
from register.web.lists import ask, opened, step

PAGE = 20
LABELS = {
    "fitted": "Fitted",
    "removed": "Taken off",
    "seen on": "Seen in place on",
    "lost": "Lost",
    "made": "Made",
    "how many": "How many",
    "weight": "What it weighs, all of it together",
    "done by": "Done by",
    "status": "It is",
    "visibility": "It is",
    WORDS: "Answer, in words",
}
EXAMPLES = {
    "fitted": "March 2011",
    "removed": "by 1962",
    "seen on": "30 September 2019",
    "lost": "by 1962",
    "made": "c. 1905",
    "how many": "14",
    "weight": "3 cwt 1 qr, or 160-170 kg",
}
ELSEWHERE = {
    "day of the list": ("list-vehicle", "Give the day"),
    "heritage from": ("list-vehicle", "Give it with the vehicle"),
    "built": ("list-vehicle", "See what is given as built"),
    "empty mass": ("list-vehicle", "Give it with the vehicle"),
}
"""What is given on another page of the list, rather than in words here."""


@dataclass(frozen=True, slots=True)
class QuestionRow:
    """A question as the page shows it. id: of its field; kind: select, area or text."""

    id: str
    asked: Question
    label: str
    kind: str
    options: tuple[tuple[str, str], ...]
    example: str
    answer: str
    share: str
    has_share: bool
    error: str
    link: tuple[str, str] | None


def questions(request: HttpRequest, sha256: str) -> HttpResponse:
    """Answer, or leave open. What can be taken is kept, even where another answer on the page cannot."""
    job = opened(request, sha256)
    if isinstance(job, HttpResponse):
        return job
    try:
        proposal = list_jobs.proposal_of(job)
    except (Refused, ValueError):
        return redirect("list-look", sha256)
    pages = Paginator([one for one in proposal.asked if one.line not in proposal.left_out], PAGE)
    page = pages.get_page(request.GET.get("page"))
    errors: dict[str, str] = {}
    if request.method == "POST":
        errors = take_answers(job, proposal, request.POST)
        job.state, job.lines = list_jobs.WAITING, []
        list_jobs.store(job)
        if not errors:
            messages.success(request, "Answers kept. Nothing is entered yet.")
            if page.has_next():
                return redirect(f"{reverse('list-questions', args=[sha256])}?page={page.next_page_number()}")
            return redirect("list-look", sha256)
    rows = _rows(job, proposal, page, request.POST, errors)
    context = {
        "heading": "What the list does not say",
        "page": page,
        "rows": rows,
        "fields": [_Field(f"{row.id[2:]}", row.asked.item or row.label, row.error) for row in rows],
        "has_errors": bool(errors),
        "part": "lists/_questions.html",
    }
    return step(request, job, "look", context, 422 if errors else 200)


@dataclass(frozen=True, slots=True)
class _Field:
    """For the summary of errors."""

    name: str
    label: str
    error: str


def _rows(
    job: ListJob, proposal: Proposal, page: Page[Question], data: QueryDict, errors: dict[str, str]
) -> list[QuestionRow]:
    return [
        _row(job, proposal, one, number, data, errors.get(one.key, ""))
        for number, one in enumerate(page.object_list, page.start_index())
    ]


def _row(
    job: ListJob, proposal: Proposal, one: Question, number: int, data: QueryDict, error: str
) -> QuestionRow:
    kind, given = kind_of(one), proposal.given.get(one.key, Given(""))
    options: tuple[tuple[str, str], ...] = ()
    if kind == "status":
        options = (("", "Leave it open"), *((status, status.capitalize()) for status in STATUSES))
    elif kind == "visibility":
        options = (("", "Leave it open"), *((seen, seen.capitalize()) for seen in VISIBILITY))
    page, words = ELSEWHERE.get(one.about, ("", ""))
    if one.about == "visibility" and one.line is None:
        page, words = "list-words", "Choose another for all of them"
    return QuestionRow(
        id=f"f-q{number}",
        asked=one,
        label=LABELS[kind],
        kind="select" if options else "area" if kind == WORDS else "text",
        options=options,
        example=EXAMPLES.get(kind, ""),
        answer=data.get(f"a-{one.key}", given.answer),
        share=data.get(f"s-{one.key}", given.share),
        has_share=kind == "status",
        error=error,
        link=(reverse(page, args=[job.sha256]), words) if page else None,
    )


def workbook(request: HttpRequest, sha256: str) -> HttpResponse:
    """What the list amounts to, in the exchange format, the doubtful cells marked."""
    job = opened(request, sha256)
    if isinstance(job, HttpResponse):
        return job
    try:
        proposal = list_jobs.proposal_of(job)
    except (Refused, ValueError):
        return redirect("list-look", sha256)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.xlsx"
        as_workbook(proposal, path)
        data = path.read_bytes()
    answer = HttpResponse(
        data, content_type="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    )
    answer["Content-Disposition"] = f'attachment; filename="{job.vehicle_key}-from-list.xlsx"'
    return answer


# --- after it was entered ---------------------------------------------------------------------------------


def open_on_vehicle(request: HttpRequest, key: str) -> HttpResponse:
    """What the accepted lists of a vehicle left open; ticked off once it is dealt with in the register."""
    ask(request)
    vehicle = Vehicle.objects.filter(key=key.lower()).first() if key.isprintable() else None
    if vehicle is None:
        raise Http404
    if request.method == "POST":
        done = sum(_settled(one, vehicle.key) for one in request.POST.getlist("done")[:1000])
        messages.success(request, f"{done} question{'' if done == 1 else 's'} ticked off.")
        return redirect("vehicle-questions", vehicle.key)
    lists = lists_of(vehicle.key)
    asked = [(one.pk, Question(**question)) for one in lists for question in one.questions]
    page = Paginator(asked, PAGE).get_page(request.GET.get("page"))
    parts = set(Part.objects.filter(key__in=[_part_of(question) for _, question in page]).values_list("key", flat=True))
    context: dict[str, Any] = {
        "vehicle": vehicle,
        "lists": lists,
        "page": page,
        "rows": [
            (f"{number} {question.key}", question, part if part in parts else "")
            for number, question in page
            for part in [_part_of(question)]
        ],
        "heading": "What her lists left open",
        "crumbs": [
            ("Vehicles", reverse("fleet")),
            (vehicle.full_name, reverse("vehicle", args=[vehicle.key])),
            ("Open questions", ""),
        ],
    }
    return render(request, "lists/open.html", context)


def _part_of(question: Question) -> str:
    """The key of the part that a question is about, if it is about one."""
    return question.key.split(" ")[0].lower()


def _settled(value: str, vehicle: str) -> bool:
    number, _, key = value.partition(" ")
    return number.isascii() and number.isdigit() and len(number) < 18 and settle(int(number), vehicle, key)
