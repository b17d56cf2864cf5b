"""Issuing a statement: the page on which one officer prepares it, and the page on which a second one issues it."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from register.exchange.faults import Fault, Refused
from register.fabric.dates import DateError, day_in_words, read_day
from register.models import IssueRequest
from register.models.statement import ASKED
from register.services.figures import inputs_and_reference
from register.services.inputs import NoSuch
from register.services.issue_requests import (
    CHANGED,
    NOT_STANDING,
    SECOND_NEEDED,
    is_same_person,
    latest_request,
    send_back,
    take_back,
)
from register.services.issuing import (
    AlreadyIssued,
    Asked,
    Prepared,
    ask_second,
    asked_by,
    issue_asked,
    issue_statement,
    issued_from,
    prepare,
)
from register.web.asking import asking, number_of, storable, token_of
from register.web.record_form import FormField
from register.web.statements import ask_to_issue

ASK, TAKE_BACK, SEND_BACK = "ask", "take back", "send back"
"""What a button says that it is for; any other issues."""
ALREADY_ASKED = "a second person was asked meanwhile: that has to be taken back or sent back first."


def issue(request: HttpRequest, key: str) -> HttpResponse:
    """What stands in the way of a statement, what may be accepted with a reason, and the buttons; where an officer has
    asked a second person, what was prepared."""
    ask_to_issue(request)
    if not key.isprintable():
        raise Http404
    latest = latest_request(key.lower())
    waits = latest if latest is not None and latest.kind == ASKED else None
    faults: list[Fault] = []
    if request.method == "POST" and "request" in request.POST:
        if stored := issued_from(number_of(request.POST["request"])):  # somebody else, or a second tap, was quicker
            return redirect("statement", stored.number)
        if waits is None or request.POST["request"] != str(waits.pk):
            faults.append(Fault("", None, "", "", NOT_STANDING))
    return _waiting(request, waits, faults) if waits else _prepare(request, key, latest, faults)


# --- one officer ----------------------------------------------------------------------------------------------------


def _prepare(
    request: HttpRequest, key: str, latest: IssueRequest | None, faults: list[Fault]
) -> HttpResponse:
    asked, wrong = _asked(request, key)
    faults = faults + wrong
    if request.method == "POST" and not faults:
        try:
            return _done(request, asked)
        except Refused as refused:
            faults = refused.faults
        except AlreadyIssued as first:
            faults = [Fault("", None, "", "", str(first))]
    try:
        made = prepare(asked)
    except NoSuch:
        raise Http404 from None
    context = _issue_page(request, made, faults, latest)
    return render(request, "statements/issue.html", context, status=422 if faults else 200)


def _done(request: HttpRequest, asked: Asked) -> HttpResponse:
    try:
        if request.POST.get("do") == ASK:
            ask_second(asked)
            messages.success(request, "Prepared. Another officer can issue it on this page.")
            return redirect("issue-statement", asked.vehicle.lower())
        stored = issue_statement(asked)
    except NoSuch:
        raise Http404 from None
    messages.success(request, f"Issued as {stored.number}.")
    return redirect("statement", stored.number)


def _asked(request: HttpRequest, key: str) -> tuple[Asked, list[Fault]]:
    """What the form says, and what in it cannot be read."""
    data, faults = request.POST if request.method == "POST" else request.GET, []
    day, text = date.today(), data.get("as_at", "").strip()
    if text:
        try:
            day = read_day(text)
        except DateError as sentence:
            faults.append(Fault("", None, "as_at", text, str(sentence)))
    reference = data.get("reference") or None
    try:
        inputs_and_reference(key, reference)
    except NoSuch:
        _inputs_or_404(key)
        faults.append(Fault("", None, "reference", "", "the vehicle has no such reference period: choose one of the list."))
        reference = None
    asked = Asked(
        vehicle=key,
        day=day,
        reference=reference,
        user=asking(request),
        reasons={
            name.removeprefix("accept-"): storable(data.get(name, "")) for name in data if name.startswith("accept-")
        },
        why=storable(data.get("why", ""))[:2000],
        after=data.get("after") if request.method == "POST" else None,
        token=token_of(request),
    )
    return asked, faults


def _inputs_or_404(key: str) -> None:
    try:
        inputs_and_reference(key)
    except NoSuch:
        raise Http404 from None


def _issue_page(
    request: HttpRequest, made: Prepared, faults: list[Fault], latest: IssueRequest | None
) -> dict[str, Any]:
    data = request.POST if request.method == "POST" else request.GET
    errors = {fault.column: fault.message for fault in faults if fault.column}
    kept = latest if latest is not None and request.method != "POST" else None
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
                "why", f"What {made.latest.number} no longer says rightly", "area", kept.why if kept else made.asked.why,
                "it will be superseded, and this is printed", "The frames were weighed in May.", required=True,
                error=errors.get("why", ""),
            )
        )  # fmt: skip
    groups = [
        (
            group,
            FormField(
                group.name, f"Why this is accepted ({group.code})", "area",
                group.reason or (kept.reasons.get(group.code, "") if kept else ""), "printed in the statement", "",
                required=True, error=errors.get(group.name, ""),
            ),
        )
        for group in made.readiness.groups
    ]  # fmt: skip
    known = {field.name for field in [*fields, *(field for _, field in groups)]}
    blocking = {one.message for one in made.readiness.blocking}
    return {
        "made": made,
        "fields": fields,
        "groups": groups,
        "all_fields": [*fields, *(field for _, field in groups)],
        "general_errors": [one.message for one in faults if one.column not in known and one.message not in blocking],
        "sent_back": latest if latest is not None and latest.words else None,
        "second_needed": SECOND_NEEDED,
        "after": made.latest.number if made.latest else "",
        "summary_head": "It was not issued",
        **_common(request, made, bool(faults)),
    }


# --- and a second one -----------------------------------------------------------------------------------------------


def _waiting(request: HttpRequest, waits: IssueRequest, faults: list[Fault]) -> HttpResponse:
    """What was prepared: for whoever prepared it, to take back; for anybody else, to issue or to send back."""
    user = asking(request)
    if request.method == "POST" and not faults:
        try:
            return _settled(request, waits)
        except Refused as refused:
            faults = refused.faults
        except AlreadyIssued as first:
            faults = [Fault("", None, "", "", str(first))]
    own = is_same_person(waits.by, user)
    try:
        made = prepare(asked_by(waits, None if own else user))
    except NoSuch:
        raise Http404 from None
    errors = {fault.column: fault.message for fault in faults}
    words = FormField(
        "words", "What is to be put right", "area", request.POST.get("words", ""), "whoever prepared it reads this", "",
        required=True, error=errors.get("words", ""),
    )  # fmt: skip
    context = {
        "made": made,
        "waits": waits,
        "is_own": own,
        "changed": CHANGED if made.sha256 != waits.sha256 else "",
        "field": words,
        "all_fields": [words],
        "general_errors": [fault.message for fault in faults if fault.column != "words"],
        "summary_head": "Nothing was done",
        **_common(request, made, bool(faults)),
    }
    return render(request, "statements/waiting.html", context, status=422 if faults else 200)


def _settled(request: HttpRequest, waits: IssueRequest) -> HttpResponse:
    do, user = request.POST.get("do"), asking(request)
    if "request" not in request.POST:
        if do == ASK and waits.token and waits.token == token_of(request):  # a second tap
            return redirect("issue-statement", waits.vehicle)
        raise Refused([Fault("", None, "", "", ALREADY_ASKED)])
    if do == TAKE_BACK:
        take_back(waits, user=user)
        messages.success(request, "Taken back. What you wrote is below.")
    elif do == SEND_BACK:
        send_back(waits, user=user, words=storable(request.POST.get("words", "")))
        messages.success(request, f"Sent back to {waits.by}.")
    else:
        stored = issue_asked(waits, user=user)
        messages.success(request, f"Issued as {stored.number}.")
        return redirect("statement", stored.number)
    return redirect("issue-statement", waits.vehicle)


def _common(request: HttpRequest, made: Prepared, has_errors: bool) -> dict[str, Any]:
    vehicle = made.vehicle
    return {
        "vehicle": vehicle,
        "has_errors": has_errors,
        "token": request.POST.get("token") or secrets.token_urlsafe(24),
        "heading": f"Issue a statement of {vehicle.full_name}",
        "crumbs": [
            ("Vehicles", "/"),
            (vehicle.full_name, f"/vehicles/{vehicle.key}/"),
            ("Issue a statement", ""),
        ],
    }
