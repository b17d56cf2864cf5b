"""Import on the site: choose a workbook, look at what it would do, decide conflicts, apply."""

from __future__ import annotations

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.policy import may
from register.services.import_jobs import DONE, RUNNING, Job, UploadError, job_of, keep_upload, preview, start
from register.web.asking import asking

CRUMBS = [("Vehicles", "/"), ("Import", "")]


def choose(request: HttpRequest) -> HttpResponse:
    """Choose a workbook; the blank one is offered beside it."""
    _ask(request)
    error = ""
    if request.method == "POST":
        upload = request.FILES.get("file")
        if upload is None:
            error = "Choose a workbook first."
        else:
            try:
                job = keep_upload(upload.name or "workbook.xlsx", upload.chunks())
            except UploadError as sentence:
                error = str(sentence)
            else:
                return redirect("import-look", job.sha256)
    return render(
        request,
        "imports/choose.html",
        {"error": error, "crumbs": CRUMBS, "heading": "Import a workbook", "from_list_url": reverse("list")},
        status=422 if error else 200,
    )


def look(request: HttpRequest, sha256: str) -> HttpResponse:
    """What the file would do; and, once it is applied, how far that is."""
    _ask(request)
    job = _job(sha256)
    chosen = {
        name.removeprefix("keep-"): value
        for name, value in request.POST.items()
        if name.startswith("keep-") and value in ("file", "register")
    }
    if request.method == "POST":
        start(job, user=asking(request), keep=chosen)
        return redirect("import-look", sha256)
    context = {
        "job": job,
        "crumbs": CRUMBS,
        "heading": f"Import {job.name}",
        "refresh": job.state == RUNNING and not job.is_broken_off,
    }
    if job.state not in (DONE, RUNNING) or job.is_broken_off:
        context["preview"] = preview(job)
    return render(request, "imports/look.html", context)


def _ask(request: HttpRequest) -> None:
    if not may(request.user, "import"):
        raise PermissionDenied("Imports are for the heritage officer.")


def _job(sha256: str) -> Job:
    found = job_of(sha256) if len(sha256) == 64 and sha256.isalnum() else None
    if found is None:
        raise Http404
    return found
