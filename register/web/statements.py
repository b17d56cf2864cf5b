"""Conservation statements: the draft, issuing, and what was issued."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from register.exchange.faults import Fault, Refused
from register.fabric.dates import DateError, day_in_words, read_day
from register.models import User
from register.policy import ENGINEER, OFFICER, may
from register.services.figures import inputs_and_reference
from register.services.inputs import NoSuch
from register.services.issued import Standing, all_standings, file_of, standing_of
from register.services.issuing import (
    AlreadyIssued,
    Asked,
    Prepared,
    issue_statement,
    prepare,
    withdraw_statement,
)
from register.services.packages import PACKAGED, package_of
from register.services.statements import draft_statement
from register.web.asking import asking, token_of
from register.web.controls import controls_from
from register.web.record_form import FormField

OFFICE_FILES = {"inputs.json", "internal.pdf"}
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
    """What was issued, newest first."""
    _ask_to_read(request)
    context = {"standings": all_standings(), "heading": "Issued statements"}
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
    _ask_to_issue(request)
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


# --- issuing --------------------------------------------------------------------------------------------------------


def issue(request: HttpRequest, key: str) -> HttpResponse:
    """What stands in the way of a statement, what may be accepted with a reason, and the button."""
    _ask_to_issue(request)
    asked, faults = _asked(request, key)
    made = _prepared(asked)
    if request.method == "POST" and not faults:
        try:
            stored = issue_statement(asked)
        except Refused as refused:
            faults = refused.faults
            made = _prepared(asked)
        except AlreadyIssued as first:
            faults = [Fault("", None, "", "", str(first))]
            made = _prepared(asked)
        else:
            messages.success(request, f"Issued as {stored.number}.")
            return redirect("statement", stored.number)
    return render(
        request, "statements/issue.html", _issue_page(request, made, faults), status=422 if faults else 200
    )


def _prepared(asked: Asked) -> Prepared:
    try:
        return prepare(asked)
    except NoSuch:
        raise Http404 from None


def _asked(request: HttpRequest, key: str) -> tuple[Asked, list[Fault]]:
    """What the form says, and what in it cannot be read."""
    data, faults = request.POST if request.method == "POST" else request.GET, []
    day, text = date.today(), data.get("as_at", "").strip()
    if text:
        try:
            day = read_day(text)
        except DateError as sentence:
            faults.append(Fault("", None, "as_at", text, str(sentence)))
    second = _second_people(request).get(data.get("agreed_by", ""))
    reference = data.get("reference") or None
    if not key.isprintable():
        raise Http404
    try:
        inputs_and_reference(key, reference)
    except NoSuch:
        inputs_or_404(key)
        faults.append(Fault("", None, "reference", "", "the vehicle has no such reference period: choose one of the list."))
        reference = None
    asked = Asked(
        vehicle=key,
        day=day,
        reference=reference,
        user=asking(request),
        agreed_by=second,
        reasons={
            name.removeprefix("accept-"): data.get(name, "") for name in data if name.startswith("accept-")
        },
        why=data.get("why", "")[:2000],
        after=data.get("after") if request.method == "POST" else None,
        token=token_of(request),
    )
    return asked, faults


def inputs_or_404(key: str) -> None:
    try:
        inputs_and_reference(key)
    except NoSuch:
        raise Http404 from None


def _second_people(request: HttpRequest) -> dict[str, User]:
    """Who may agree: other people who read drafts, by their number."""
    found = User.objects.filter(is_active=True, groups__name__in=(ENGINEER, OFFICER)).exclude(pk=asking(request).pk)
    return {str(one.pk): one for one in found.distinct().order_by("last_name", "username")}


def _issue_page(request: HttpRequest, made: Prepared, faults: list[Fault]) -> dict[str, Any]:
    data = request.POST if request.method == "POST" else request.GET
    errors = {fault.column: fault.message for fault in faults if fault.column}
    fields = [
        FormField(
            "as_at", "As at", "text", data.get("as_at", "") or day_in_words(made.asked.day), "a day that has come", "",
            error=errors.get("as_at", ""),
        ),
        FormField(
            "reference", "Measured against", "select", made.reference, "", "",
            options=tuple((one.label, one.label.capitalize()) for one in made.content.references),
            error=errors.get("reference", ""),
        ),
    ]  # fmt: skip
    if made.latest:
        fields.append(
            FormField(
                "why", f"What {made.latest.number} no longer says rightly", "area", made.asked.why,
                "it will be superseded, and this is printed", "The frames were weighed in May.", required=True,
                error=errors.get("why", ""),
            )
        )  # fmt: skip
    people = _second_people(request)
    if people:
        fields.append(
            FormField(
                "agreed_by", "Agreed by", "select", str(made.asked.agreed_by.pk) if made.asked.agreed_by else "",
                "a second person who has read it, if your railway asks for one", "",
                options=(("", "Nobody else"), *((key, str(one)) for key, one in people.items())),
                error=errors.get("agreed_by", ""),
            )
        )  # fmt: skip
    groups = [
        (
            group,
            FormField(
                group.name, f"Why this is accepted ({group.code})", "area", group.reason, "printed in the statement", "",
                required=True, error=errors.get(group.name, ""),
            ),
        )
        for group in made.readiness.groups
    ]  # fmt: skip
    known = {field.name for field in [*fields, *(field for _, field in groups)]}
    return {
        "made": made,
        "vehicle": made.vehicle,
        "fields": fields,
        "groups": groups,
        "all_fields": [*fields, *(field for _, field in groups)],
        "general_errors": [
            fault.message for fault in faults if fault.column not in known and fault.message not in _blocking(made)
        ],
        "has_errors": bool(faults),
        "token": request.POST.get("token") or secrets.token_urlsafe(24),
        "after": made.latest.number if made.latest else "",
        "heading": f"Issue a statement of {made.vehicle.full_name}",
        "crumbs": [
            ("Vehicles", "/"),
            (made.vehicle.full_name, f"/vehicles/{made.vehicle.key}/"),
            ("Issue a statement", ""),
        ],
        "summary_head": "It was not issued",
    }


def _blocking(made: Prepared) -> set[str]:
    return {one.message for one in made.readiness.blocking}


def _standing(number: str) -> Standing:
    found = standing_of(number)
    if found is None:
        raise Http404
    return found


def _ask_to_read(request: HttpRequest) -> None:
    if not may(request.user, "read issued statements"):
        raise PermissionDenied("Issued statements are for the workshop engineer and the office.")


def _ask_to_issue(request: HttpRequest) -> None:
    if not may(request.user, "issue statements"):
        raise PermissionDenied("Statements are issued by the heritage officer.")
