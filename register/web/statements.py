"""Conservation statements: the draft, and what was issued."""

from __future__ import annotations

import secrets
from datetime import date

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from register.exchange.faults import Refused
from register.models import Vehicle
from register.policy import may
from register.services.inputs import NoSuch
from register.services.issue_requests import standing_requests
from register.services.issued import Standing, all_standings, file_of, standing_of
from register.services.issuing import withdraw_statement
from register.services.packages import PACKAGED, package_of
from register.services.statements import draft_statement
from register.web.asking import asking
from register.web.controls import controls_from
from register.web.record_form import FormField

OFFICE_FILES = {"inputs.json", "texts.json", "internal.pdf"}
"""Files that name stores and persons."""
TYPES = {"pdf": "application/pdf", "json": "application/json"}


def draft(request: HttpRequest, key: str) -> HttpResponse:
    if not may(request.user, "read draft statements"):
        raise PermissionDenied("Draft statements are for the workshop engineer and the heritage officer.")
    controls = controls_from(request, date.today())
    try:
        data = draft_statement(
            key, day=controls.question.day, reference=controls.question.reference, written_by=asking(request)
        )
    except NoSuch:
        raise Http404 from None
    name = "".join(letter if letter.isalnum() or letter in "-_" else "-" for letter in key)
    return HttpResponse(
        data,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}-draft-{controls.question.day}.pdf"'},
    )


def statements(request: HttpRequest) -> HttpResponse:
    """What was issued, newest first; for those who issue, what waits for a second person too."""
    _ask_to_read(request)
    waiting = standing_requests() if may(request.user, "issue statements") else []
    names = {one.key: one.full_name for one in Vehicle.objects.filter(key__in=[one.vehicle for one in waiting])}
    context = {
        "standings": all_standings(),
        "waiting": [(one, names[one.vehicle]) for one in waiting if one.vehicle in names],
        "heading": "Issued statements",
    }
    return render(request, "statements/statements.html", context)


def statement(request: HttpRequest, number: str) -> HttpResponse:
    """One issued statement: how it stands, its files, what was accepted."""
    _ask_to_read(request)
    found = _standing(number)
    files = [one for one in found.files if may(request.user, "issue statements") or one.name not in OFFICE_FILES]
    context = {
        "standing": found,
        "files": files,
        "token": secrets.token_urlsafe(24),
        "may_issue": may(request.user, "issue statements"),
        "crumbs": [("Statements", "/statements/"), (found.statement.number, "")],
    }
    return render(request, "statements/statement.html", context)


def statement_file(request: HttpRequest, number: str, name: str) -> HttpResponse:
    """A file as it was issued."""
    _ask_to_read(request)
    if name in OFFICE_FILES and not may(request.user, "issue statements"):
        raise PermissionDenied("That file names stores and persons: it is for the heritage officer.")
    return file_answer(number.upper(), name)


def package(request: HttpRequest, number: str, edition: str) -> HttpResponse:
    """The bag of a statement, as a zip file."""
    _ask_to_read(request)
    if edition == PACKAGED[0] and not may(request.user, "issue statements"):
        raise PermissionDenied("That package names stores and persons: it is for the heritage officer.")
    found = _standing(number).statement
    if edition not in PACKAGED:
        raise Http404
    return HttpResponse(
        package_of(found, edition),
        content_type="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{found.number}-{edition}.zip"'},
    )


def file_answer(number: str, name: str) -> HttpResponse:
    data = file_of(number, name)
    if data is None:
        raise Http404
    kind = TYPES.get(name.rpartition(".")[2], "application/octet-stream")
    how = "inline" if kind == "application/pdf" else "attachment"
    return HttpResponse(
        data,
        content_type=kind,
        headers={"Content-Disposition": f'{how}; filename="{number}-{name}"', "X-Content-Type-Options": "nosniff"},
    )


def withdraw(request: HttpRequest, number: str) -> HttpResponse:
    """Asks why; then the statement no longer stands, and stays where it is."""
    ask_to_issue(request)
    found = _standing(number)
    error = ""
    if request.method == "POST":
        try:
            withdraw_statement(
                found.statement.number, user=asking(request), reason=request.POST.get("reason", "")
            )
        except Refused as refused:
            error = refused.faults[0].message
        else:
            messages.success(request, f"{found.statement.number} is withdrawn. It is kept, and says so.")
            return redirect("statement", found.statement.number)
    context = {
        "standing": found,
        "fields": [
            FormField(
                "reason", "Why", "area", request.POST.get("reason", ""), "whoever checks the statement will read it", "",
                required=True, error=error,
            )
        ],
        "has_errors": bool(error),
        "submit": "Withdraw it",
        "cancel_url": f"/statements/{found.statement.number}/",
        "summary_head": "It was not withdrawn",
        "heading": f"Withdraw {found.statement.number}?",
        "crumbs": [
            ("Statements", "/statements/"),
            (found.statement.number, f"/statements/{found.statement.number}/"),
            ("Withdraw", ""),
        ],
    }  # fmt: skip
    return render(request, "statements/withdraw.html", context, status=422 if error else 200)


def _standing(number: str) -> Standing:
    found = standing_of(number)
    if found is None:
        raise Http404
    return found


def _ask_to_read(request: HttpRequest) -> None:
    if not may(request.user, "read issued statements"):
        raise PermissionDenied("Issued statements are for the workshop engineer and the office.")


def ask_to_issue(request: HttpRequest) -> None:
    if not may(request.user, "issue statements"):
        raise PermissionDenied("Statements are issued by the heritage officer.")
