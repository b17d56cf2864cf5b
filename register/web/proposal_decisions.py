"""Proposals: the decision, what was really done, and what is added afterwards."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Fault, Refused
from register.fabric.dates import DateError, read_day
from register.models import Proposal, User
from register.models.proposal import APPROVED, DONE
from register.policy import may
from register.services import proposal_decision as decision
from register.services import proposal_work as work
from register.services.change_sets import Conflicted
from register.services.proposal_steps import DO, in_words
from register.web import proposal_forms as forms
from register.web.asking import asking, storable, token_of
from register.web.proposals import ask, case_page, effects_today, found_or_404

VERBS = ("submit", "return", "approve", "decline", "withdraw")


def decide(request: HttpRequest, number: int, verb: str) -> HttpResponse:
    """Submit, return, approve, decline or withdraw: asks for what is needed, then does it."""
    if verb not in VERBS:
        raise Http404
    ask(request, "write proposals" if verb in ("submit", "withdraw") else "decide proposals")
    found, user = found_or_404(number), asking(request)
    if verb == "withdraw" and found.author_id != user.pk and not may(user, "decide proposals"):
        raise PermissionDenied("A proposal is withdrawn by its author or by the heritage officer.")
    faults: list[Fault] = []
    data = request.POST
    if request.method == "POST":
        try:
            _decided(found, verb, forms.typed(data), asking(request), token_of(request))
        except Refused as refused:
            faults = refused.faults
        else:
            messages.success(
                request,
                {
                    "submit": "Submitted.",
                    "return": "Returned to its author.",
                    "approve": "Approved. Nothing is recorded in the register before the work is done.",
                    "decline": "Declined.",
                    "withdraw": "Withdrawn.",
                }[verb],
            )
            return redirect("proposal", found.number)
    if verb == "submit":
        return case_page(request, found, faults, verb)
    fields = forms.decision_fields(data, verb, faults)
    titles = {
        "return": "Return it with a question",
        "approve": "Approve",
        "decline": "Decline",
        "withdraw": "Withdraw",
    }
    effects, _ = effects_today(found)
    context = {
        "proposal": found,
        "fields": fields,
        "faults": faults,
        "general_errors": forms.unnamed(faults, fields),
        "summary_head": "This could not be done yet",
        "token": secrets.token_urlsafe(24),
        "submit": titles[verb],
        "cancel_url": reverse("proposal", args=[number]),
        "heading": titles[verb],
        "under": f"{found.code} {found.title}",
        "own": found.author_id == user.pk,
        "open_checks": [one for one in decision.checks_now(found, effects) if not one.is_answered]
        if effects and verb == "approve"
        else (),
        "crumbs": [
            ("Proposals", reverse("proposals")),
            (found.code, reverse("proposal", args=[number])),
            (titles[verb], ""),
        ],
    }
    return render(request, "proposals/decide.html", context, status=422 if faults else 200)


def _decided(found: Proposal, verb: str, data: dict[str, str], user: User, token: str | None) -> None:
    words = data.get("words", "")
    if verb == "submit":
        decision.submit(found, user=user, token=token)
    elif verb == "return":
        decision.send_back(found, user=user, words=words, token=token)
    elif verb == "withdraw":
        decision.withdraw(found, user=user, words=words, token=token)
    elif verb == "decline":
        decision.decline(found, user=user, words=words, details=data, token=token)
    else:
        decision.approve(
            found, user=user, words=words, details=data, record_due=_day("record_due", data), token=token
        )


def carry_out(request: HttpRequest, number: int) -> HttpResponse:
    """What was really done, step by step; recorded in one act."""
    ask(request, "carry out proposals")
    found = found_or_404(number)
    if found.state == DONE:  # the second tap of a double one comes here too
        messages.info(request, "It is done and recorded; add to it below.")
        return redirect("proposal", found.number)
    if found.state != APPROVED:
        raise Http404
    planned = list(found.alternatives.get(recommended=True).steps)
    known = work.steps_done(found)
    faults: list[Fault] = []
    conflicts: Sequence[Any] = ()
    if request.method == "POST":
        try:
            steps, given_up = _really_done(request, planned)
            work.carry_out(
                found,
                steps,
                user=asking(request),
                given_up=given_up,
                words=storable(request.POST.get("words", "")),
                photographs=storable(request.POST.get("photographs", "")),
                token=token_of(request),
            )
        except Refused as refused:
            faults = refused.faults
        except Conflicted as conflicted:
            conflicts = conflicted.conflicts
        else:
            messages.success(request, "Recorded, as one change of the register.")
            return redirect("proposal", found.number)
    context = {
        "proposal": found,
        "steps": [_step_form(request, place, step, known) for place, step in enumerate(planned, 1)],
        "words": forms.field(
            "words",
            "Departures from the proposal",
            request.POST.get("words", ""),
            kind="area",
            hint="what was done otherwise, and why; changed fields are noted of themselves",
        ),
        "photographs": forms.field(
            "photographs",
            "Photographs of the work",
            request.POST.get("photographs", ""),
            hint="their numbers or file names",
        ),
        "faults": faults,
        "conflicts": conflicts,
        "general_errors": [fault.message for fault in faults] + [str(one) for one in conflicts],
        "token": secrets.token_urlsafe(24),
        "heading": "Record what was done",
        "under": f"{found.code} {found.title}",
        "cancel_url": reverse("proposal", args=[number]),
        "crumbs": [
            ("Proposals", reverse("proposals")),
            (found.code, reverse("proposal", args=[number])),
            ("What was done", ""),
        ],
    }
    return render(
        request, "proposals/carry_out.html", context, status=422 if faults else 409 if conflicts else 200
    )


def _step_form(
    request: HttpRequest, place: int, step: dict[str, str], known: dict[int, str]
) -> dict[str, Any]:
    prefix = f"s{place}-"
    posted = request.method == "POST"

    def value(name: str) -> str:
        return str(request.POST.get(prefix + name, "")) if posted else step.get(name, "")

    fields = [
        forms.field(
            prefix + one.name,
            one.label,
            value(one.name),
            hint=one.hint,
            options=one.options,
            blank="Not said",
        )
        for one in DO[step["do"]]
    ]
    return {
        "number": place,
        "words": in_words(step),
        "known": known.get(place, ""),
        "what": request.POST.get(prefix + "what", "later"),
        "on": forms.field(
            prefix + "on",
            "On",
            request.POST.get(prefix + "on", ""),
            hint="the day, even roughly",
            example="14 November 2026",
        ),
        "why": forms.field(prefix + "why", "Why it will not be done", request.POST.get(prefix + "why", "")),
        "fields": fields,
    }


def _really_done(
    request: HttpRequest, planned: list[dict[str, str]]
) -> tuple[dict[int, dict[str, str]], dict[int, str]]:
    steps, given_up = {}, {}
    for place, step in enumerate(planned, 1):
        prefix = f"s{place}-"
        what = request.POST.get(prefix + "what", "later")
        if what == "done":
            names = ["on", *(one.name for one in DO[step["do"]])]
            steps[place] = {name: storable(str(request.POST.get(prefix + name, ""))) for name in names}
        elif what == "never":
            given_up[place] = storable(str(request.POST.get(prefix + "why", "")))
    return steps, given_up


def follow_up(request: HttpRequest, number: int) -> HttpResponse:
    """Add to what was decided: a condition met, how it serves. Or begin one that supersedes it."""
    ask(request, "write proposals")
    found = found_or_404(number)
    faults: list[Fault] = []
    if request.method == "POST":
        try:
            if "supersede" in request.POST:
                made = decision.supersede(found, user=asking(request), token=token_of(request))
                return redirect("proposal", made.number)
            decision.follow_up(
                found,
                user=asking(request),
                words=storable(request.POST.get("words", "")),
                token=token_of(request),
            )
        except Refused as refused:
            faults = refused.faults
        else:
            messages.success(request, "Added.")
            return redirect("proposal", found.number)
    return case_page(request, found, faults, "follow up")


def _day(name: str, data: dict[str, str]) -> date | None:
    text = data.get(name, "").strip()
    if not text:
        return None
    try:
        return read_day(text)
    except DateError as error:
        raise Refused([Fault("proposals", None, name, text, str(error))]) from None
