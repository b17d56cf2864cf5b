"""The papers of proposals, and a vehicle's modern and hidden parts."""

from __future__ import annotations

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from register.models import Proposal
from register.models.proposal import SUBMITTED
from register.policy import may
from register.services import justification as papers
from register.services import proposal_decision as decision
from register.services import proposal_work as work
from register.services.inputs import NoSuch
from register.services.vehicle_page import Account, account_of
from register.web.controls import controls_from
from register.web.proposals import ask, effects_today, found_or_404


def justification(request: HttpRequest, number: int) -> HttpResponse:
    """The justification record as a PDF."""
    ask(request, "read proposals")
    found = found_or_404(number)
    effects, _ = effects_today(found) if found.may_be_changed or found.state == SUBMITTED else (None, "")
    checks = (
        [(one.question, one.because, one.answer) for one in decision.checks_now(found, effects)]
        if effects
        else []
    )
    named = may(request.user, "read persons' names")
    return _pdf(papers.justification(found, checks=checks, named=named), f"{found.code}-justification.pdf")


def blank(request: HttpRequest) -> HttpResponse:
    """The blank sheet of a proposal."""
    ask(request, "read proposals")
    return _pdf(papers.blank_sheet(), "proposal-blank.pdf")


def modern_parts(request: HttpRequest, key: str) -> HttpResponse:
    """The register of modern and hidden parts of a vehicle, on the page."""
    account, cases = _modern(request, key)
    parts = papers.modern_parts_of(account, cases, named=may(request.user, "read persons' names"))
    context = {
        "vehicle": account.vehicle,
        "parts": parts,
        "numbers": {proposal.code: proposal.number for proposal in cases.values()},
        "without": sum(not one.case for one in parts),
        "day": date.fromordinal(account.chosen.day),
        "may_write": may(request.user, "write proposals"),
        "heading": "Modern and hidden parts",
        "under": f"{account.vehicle.full_name}: what is new, why, and how it can be undone",
        "crumbs": [
            ("Vehicles", reverse("fleet")),
            (account.vehicle.full_name, reverse("vehicle", args=[account.vehicle.key])),
            ("Modern and hidden parts", ""),
        ],
    }
    return render(request, "proposals/modern_parts.html", context)


def modern_parts_pdf(request: HttpRequest, key: str) -> HttpResponse:
    account, cases = _modern(request, key)
    named = may(request.user, "read persons' names")
    return _pdf(papers.modern_parts_paper(account, cases, named=named), "modern-and-hidden-parts.pdf")


def _modern(request: HttpRequest, key: str) -> tuple[Account, dict[str, Proposal]]:
    ask(request, "read proposals")
    controls = controls_from(request, date.today())
    try:
        account = account_of(key, controls.question)
    except NoSuch:
        raise Http404 from None
    return account, work.case_for_parts(account.vehicle.key)


def _pdf(data: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        data, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )
