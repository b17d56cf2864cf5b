"""From a list, step by step: the file, its columns, its words, the vehicle; then looked through and entered."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Fault, Refused
from register.policy import may
from register.services import list_jobs
from register.services.from_list import choose
from register.services.list_jobs import DONE, ListJob, job_of
from register.services.list_look import look_at
from register.services.list_shown import columns_page, posted_roles, posted_words, words_page
from register.services.remembered_lists import open_questions
from register.web.asking import asking
from register.web.list_forms import posted_vehicle, vehicle_page

STEPS = (("columns", "Columns"), ("words", "Words"), ("vehicle", "Vehicle and day"), ("look", "Look through"))
LINES = 100
SAMPLE = 8


def ask(request: HttpRequest) -> None:
    if not may(request.user, "import"):
        raise PermissionDenied("Lists are for the heritage officer.")


def crumbs() -> list[tuple[str, str]]:
    return [("Vehicles", reverse("fleet")), ("From a list", reverse("list"))]


def step(request: HttpRequest, job: ListJob, name: str, more: dict[str, Any], status: int = 200) -> HttpResponse:
    """The page of one step, with where it is among the others."""
    labels = [one for one, _ in STEPS]
    number = labels.index(name) + 1
    context = {
        "job": job,
        "crumbs": [*crumbs(), (job.name, "")],
        "steps": [
            (label, reverse(f"list-{one}", args=[job.sha256]), at < number, at == number)
            for at, (one, label) in enumerate(STEPS, 1)
        ],
        "step_number": number,
        **more,
    }
    return render(request, f"lists/{name}.html", context, status=status)


def gone(request: HttpRequest) -> HttpResponse:
    """For an address whose list is not kept (any more)."""
    return render(request, "lists/gone.html", {"heading": "This list is not kept here", "crumbs": [*crumbs(), ("Not kept", "")]}, status=404)


def upload(request: HttpRequest) -> HttpResponse:
    """Choose a file, or go on with one that was begun."""
    ask(request)
    error = ""
    if request.method == "POST":
        file = request.FILES.get("file")
        if file is None:
            error = "Choose a file first."
        else:
            try:
                job = list_jobs.keep_list(file.name or "list", file.chunks())
            except Refused as refused:
                error = refused.faults[0].message
            else:
                return redirect("list-columns", job.sha256)
    context = {
        "error": error,
        "has_errors": bool(error),
        "begun": list_jobs.begun(),
        "crumbs": [*crumbs()[:1], ("From a list", "")],
        "heading": "From a list",
    }
    return render(request, "lists/choose.html", context, status=422 if error else 200)


def opened(request: HttpRequest, sha256: str) -> ListJob | HttpResponse:
    """The list that is being gone through; else what is answered instead: it is not kept, being entered, or
    entered."""
    ask(request)
    job = job_of(sha256)
    if job is None:
        return gone(request)
    return redirect("list-look", sha256) if job.is_running or job.state == DONE else job


def columns(request: HttpRequest, sha256: str) -> HttpResponse:
    """Which column is what."""
    job = opened(request, sha256)
    if isinstance(job, HttpResponse):
        return job
    if request.method != "POST":
        return step(request, job, "columns", columns_page(job, request.POST))
    again = "again" in request.POST
    try:
        sheet = list_jobs.sheet_of(job)
        other = request.POST.get("sheet", job.sheet)
        if again and other != job.sheet and other in sheet.sheets:
            job.sheet, job.columns, job.words, job.sections, job.leave_out = other, [], {}, {}, []
            return _saved(job, "list-columns")
        first, last, roles, units = posted_roles(request.POST, sheet.width)
        if again:
            list_jobs.read_again(job, sheet, first, last)
            return _saved(job, "list-columns")
        if not job.columns:  # what is remembered of the words goes with the columns
            list_jobs.take_words(job, sheet)
        chosen = choose(
            sheet,
            first=first,
            last=last,
            roles=roles,
            units=units,
            words=job.words,
            sections=job.sections,
            visibility=job.visibility,
        )
    except Refused as refused:
        return step(request, job, "columns", columns_page(job, request.POST, refused.faults), 422)
    list_jobs.take_choices(job, chosen)
    return _saved(job, "list-words")


def words(request: HttpRequest, sha256: str) -> HttpResponse:
    """Which word means what, and which lines are headings of an assembly."""
    job = opened(request, sha256)
    if isinstance(job, HttpResponse):
        return job
    try:
        if not job.columns:  # the guess is taken as it stands
            list_jobs.take_choices(job, list_jobs.choices_of(job, list_jobs.sheet_of(job))[0])
        if request.method == "POST":
            posted_words(job, request.POST)
            chosen = list_jobs.choices_of(job, list_jobs.sheet_of(job))[0]
            list_jobs.take_choices(job, chosen)
            return _saved(job, "list-vehicle")
        return step(request, job, "words", words_page(job))
    except Refused as refused:
        if request.method == "POST":
            try:
                return step(request, job, "words", words_page(job_of(sha256) or job, refused.faults), 422)
            except Refused:  # the list itself cannot be read: its columns say why
                pass
        return redirect("list-columns", sha256)


def vehicle(request: HttpRequest, sha256: str) -> HttpResponse:
    """Which vehicle the list is of, and on which day it was true."""
    job = opened(request, sha256)
    if isinstance(job, HttpResponse):
        return job
    if not job.columns:
        return redirect("list-columns", sha256)
    faults: list[Fault] = []
    if request.method == "POST":
        faults = posted_vehicle(job, request.POST)
        answer = _saved(job, "list-look")  # what was typed is kept, right or wrong
        if not faults:
            return answer
    return step(request, job, "vehicle", vehicle_page(job, faults), 422 if faults else 200)


def look(request: HttpRequest, sha256: str) -> HttpResponse:
    """What would be made; on a POST it is entered, and this page says how far that is."""
    ask(request)
    job = job_of(sha256)
    if job is None:
        return gone(request)
    if request.method == "POST":
        keep = {
            name.removeprefix("keep-"): value
            for name, value in request.POST.items()
            if name.startswith("keep-") and value in ("file", "register")
        }
        if job.columns and job.vehicle_id:
            list_jobs.start(job, user=asking(request), seen=request.POST.get("seen", ""), keep=keep)
        return redirect("list-look", sha256)
    if job.state == DONE:
        left = len(open_questions(job.vehicle_id))
        return step(request, job, "look", {"heading": "Entered", "left_open": left})
    if job.is_running:
        return step(request, job, "look", {"heading": "Being entered", "refresh": True})
    if not job.columns or not job.vehicle_id:
        return redirect("list-vehicle" if job.columns else "list-columns", sha256)
    try:
        found = look_at(list_jobs.proposal_of(job), day=date.today())
    except (Refused, ValueError):
        return redirect("list-vehicle", sha256)
    made = [line for line in found.proposal.lines if line.kind not in ("blank", "heading")]
    context = {
        "heading": "What would be made",
        "found": found,
        "proposal": found.proposal,
        "line_counts": sorted(found.proposal.counts["lines"].items()),
        "draft_counts": sorted(found.proposal.counts["drafts"].items()),
        "sample": made[:SAMPLE],
        "more": len(made) - SAMPLE,
        "open": len(found.proposal.questions),
        "answered": len(found.proposal.given),
        "has_errors": bool(found.faults or job.state == list_jobs.REFUSED or job.is_broken_off),
    }
    return step(request, job, "look", context)


def lines(request: HttpRequest, sha256: str) -> HttpResponse:
    """Every line and what becomes of it; ticked lines are left out."""
    job = opened(request, sha256)
    if isinstance(job, HttpResponse):
        return job
    if not job.columns or not job.vehicle_id:
        return redirect("list-look", sha256)
    try:
        proposal = list_jobs.proposal_of(job)
    except (Refused, ValueError):
        return redirect("list-vehicle", sha256)
    made = [line for line in proposal.lines if line.kind not in ("blank", "heading")]
    page = Paginator(made, LINES).get_page(request.GET.get("page"))
    if request.method == "POST":
        shown = {int(one) for one in request.POST.getlist("shown") if one.isascii() and one.isdigit() and len(one) < 8}
        ticked = {int(one) for one in request.POST.getlist("out") if one.isascii() and one.isdigit() and len(one) < 8}
        known = {line.line for line in made}
        job.leave_out = sorted(((set(job.leave_out) - shown) | (ticked & shown)) & known)
        answer = _saved(job, "list-look")
        messages.success(request, f"{len(job.leave_out)} line{'' if len(job.leave_out) == 1 else 's'} left out.")
        return answer
    context = {"heading": "Line by line", "page": page, "left_out": proposal.left_out}
    return step(request, job, "look", {**context, "part": "lists/_lines.html"})


def forget(request: HttpRequest, sha256: str) -> HttpResponse:
    """Throw the file away, with what was chosen for it."""
    ask(request)
    if request.method != "POST":
        return HttpResponseNotAllowed(["POST"])
    job = job_of(sha256)
    if job is None:
        return gone(request)
    if not job.is_running:
        list_jobs.forget(job)
        messages.success(request, f"{job.name} is thrown away. What was entered from it stays in the register.")
    return redirect("list")


def _saved(job: ListJob, page: str) -> HttpResponse:
    """Keep what was chosen: a refusal was about how it stood before."""
    job.state, job.lines = list_jobs.WAITING, []
    list_jobs.store(job)
    return redirect(page, job.sha256)
