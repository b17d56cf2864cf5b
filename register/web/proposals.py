"""Proposals: the list, the case with its effect, and the form in which it is written."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from register.documents.comparison import compared, compared_survival
from register.documents.figure_words import reference_words
from register.exchange.faults import Fault, Refused
from register.models import Proposal, Vehicle
from register.models.proposal import APPROVED, DRAFT, PROPOSAL_STATES, RETURNED, SUBMITTED
from register.policy import may
from register.services import justification as papers
from register.services import proposal_decision as decision
from register.services import proposal_work as work
from register.services import proposals as service
from register.services.inputs import NoSuch
from register.services.proposal_effect import Effects, effects_of
from register.services.proposal_fields import SECTIONS, after, section_of
from register.services.proposal_record import Stale
from register.services.proposal_steps import DO, in_words
from register.services.vehicle_policies import policy_of
from register.web import proposal_forms as forms
from register.web.asking import asking, number_of, storable, token_of

PAGE = 50


def proposals(request: HttpRequest) -> HttpResponse:
    """Every proposal, those that wait for somebody first."""
    ask(request, "read proposals")
    vehicle = storable(request.GET.get("vehicle", ""))[:40]
    state = request.GET.get("state", "")
    rows = service.proposals_listed(vehicle, state if state in PROPOSAL_STATES else "")
    waiting = {SUBMITTED: 0, RETURNED: 1, APPROVED: 2, DRAFT: 3}
    listed = sorted(rows, key=lambda one: (waiting.get(one.state, 9), -one.number))
    page = Paginator(listed, PAGE).get_page(request.GET.get("page"))
    names = {
        one.key: one.full_name
        for one in Vehicle.objects.filter(key__in={one.vehicle for one in page.object_list})
    }
    context = {
        "page": page,
        "entries": [(one, names.get(one.vehicle, one.vehicle)) for one in page.object_list],
        "states": PROPOSAL_STATES,
        "state": state,
        "vehicle": vehicle,
        "today": timezone.localdate(),
        "crumbs": [("Vehicles", reverse("fleet")), ("Proposals", "")],
    }
    return render(request, "proposals/proposals.html", context)


def new_proposal(request: HttpRequest) -> HttpResponse:
    ask(request, "write proposals")
    faults: list[Fault] = []
    data = forms.typed(request.POST if request.method == "POST" else request.GET)
    if request.method == "POST":
        try:
            made = service.begin(
                vehicle_id=data.get("vehicle_id", ""),
                title=data.get("title", ""),
                user=asking(request),
                token=token_of(request),
            )
        except Refused as refused:
            faults = refused.faults
        else:
            return redirect("write-proposal", made.number, SECTIONS[0].key)
    vehicles = [(one.code, one.full_name) for one in Vehicle.objects.filter(in_fleet=True).order_by("key")]
    vehicle = forms.field(
        "vehicle_id", "Vehicle", data.get("vehicle_id", ""), options=("x",), needed=True, faults=faults
    )
    vehicle.options = (("", "Choose one"), *vehicles)
    fields = [
        vehicle,
        forms.field(
            "title",
            "What is proposed",
            data.get("title", ""),
            hint="in a few words",
            example="Axleboxes, all six",
            needed=True,
            faults=faults,
        ),
    ]
    context = {
        "fields": fields,
        "faults": faults,
        "general_errors": forms.unnamed(faults, fields),
        "token": secrets.token_urlsafe(24),
        "submit": "Begin",
        "cancel_url": reverse("proposals"),
        "heading": "New proposal",
        "crumbs": [("Proposals", reverse("proposals")), ("New", "")],
    }
    return render(request, "proposals/new.html", context, status=422 if faults else 200)


def proposal(request: HttpRequest, number: int) -> HttpResponse:
    """The case: what it is, what each alternative would do, what must still be answered, what happened to it."""
    ask(request, "read proposals")
    found = found_or_404(number)
    return case_page(request, found)


def case_page(
    request: HttpRequest, found: Proposal, faults: Sequence[Fault] = (), verb: str = ""
) -> HttpResponse:
    decided = papers.decision_of(found) is not None
    effects, gone = (None, "") if decided else effects_today(found)
    user = asking(request)
    alternatives = list(found.alternatives.all())
    checks = decision.checks_now(found, effects) if effects else papers.checks_kept(found)
    done = work.steps_done(found)
    context: dict[str, Any] = {
        "proposal": found,
        "gone": gone,
        "kept": papers.effect_kept(found) if decided else None,
        "vehicle": Vehicle.objects.filter(key=found.vehicle).first(),
        "policy": policy_of(found.vehicle),
        "sections": [
            (one, [(question, found.answers.get(question.name, "")) for question in one.questions])
            for one in SECTIONS
        ],
        "alternatives": [(one, [in_words(step) for step in one.steps]) for one in alternatives],
        "checks": checks,
        "unanswered": sum(not one.is_answered for one in checks),
        "lacking": decision.lacking(found) if found.may_be_changed else [],
        "acts": found.acts.select_related("user"),
        "done": done,
        "may_write": may(user, "write proposals"),
        "may_decide": may(user, "decide proposals"),
        "is_author": found.author_id == user.pk,
        "faults": faults,
        "general_errors": [fault.message for fault in faults],
        "summary_head": "This could not be done yet",
        "verb": verb,
        "token": secrets.token_urlsafe(24),
        "today": timezone.localdate(),
        "crumbs": [("Proposals", reverse("proposals")), (found.code, "")],
    }
    if effects:
        context |= comparison(effects, request.GET.get("reference", ""))
    return render(request, "proposals/proposal.html", context, status=422 if faults else 200)


def comparison(effects: Effects, label: str) -> dict[str, Any]:
    """What the page and the paper set side by side, against the reference asked for."""
    references = {one.label: one for one in effects.inputs.references}
    reference = references.get(label, effects.reference)
    label = reference.label
    outcomes = [one.figures[label] if one.stands else None for one in effects.outcomes]
    rows = compared(effects.figures[label], outcomes, effects.inputs)
    left = compared_survival(
        effects.survival.get(label), [one.survival.get(label) for one in effects.outcomes]
    )
    return {
        "rows": [*rows, *([left] if left else [])],
        "outcomes": effects.outcomes,
        "leaving": [effects.leaving(one) for one in effects.outcomes],
        "since": effects.since(effects.recommended)
        if effects.recommended and effects.recommended.stands
        else (),
        "recommended": effects.recommended,
        "reference": reference,
        "reference_words": reference_words(reference),
        "references": effects.inputs.references,
        "day": effects.day,
        "now": effects.figures[label]["mass"].whole,
    }


def write_proposal(request: HttpRequest, number: int, section: str) -> HttpResponse:
    """One section of the form. What is typed is kept with every step."""
    ask(request, "write proposals")
    found, shown = found_or_404(number), section_of(section)
    if shown is None:
        raise Http404
    names = [one.name for one in shown.questions]
    texts = forms.texts_of_fields(request.POST, names) if request.method == "POST" else None
    faults, stale = _try(
        request,
        lambda revision: service.write(found, texts or {}, user=asking(request), revision=revision),
    )
    if request.method == "POST" and not faults and not stale:
        later = after(section)
        if "stay" in request.POST or not later:
            return redirect("proposal", found.number)
        return redirect("write-proposal", found.number, later)
    fields = forms.section_fields(shown, found, texts, faults)
    place = [one.key for one in SECTIONS].index(section) + 1
    context = {
        "proposal": found,
        "section": shown,
        "place": place,
        "sections": SECTIONS,
        "fields": fields,
        "faults": faults,
        "stale": stale,
        "stored": [(one.label, found.answers.get(one.name, "")) for one in shown.questions] if stale else (),
        "general_errors": forms.unnamed(faults, fields),
        "heading": shown.title,
        "under": f"{found.code} {found.title}: part {place} of {len(SECTIONS)}",
        "crumbs": [
            ("Proposals", reverse("proposals")),
            (found.code, reverse("proposal", args=[number])),
            (shown.title, ""),
        ],
    }
    return render(request, "proposals/write.html", context, status=422 if faults else 409 if stale else 200)


def alternative(request: HttpRequest, number: int, letter: str) -> HttpResponse:
    """One way to go: its words and its steps. The letter ``new`` adds one."""
    ask(request, "write proposals")
    found = found_or_404(number)
    shown = found.alternatives.filter(letter=letter).first()
    if shown is None and letter != "new":
        raise Http404
    data, verb = request.POST, request.POST.get("do_what", "")
    texts = None
    faults: list[Fault] = []
    stale = False
    if request.method == "POST" and verb == "add step" and shown is not None:
        faults, stale = _try(
            request,
            lambda revision: service.add_step(
                found, letter, forms.typed(data), user=asking(request), revision=revision
            ),
        )
    elif request.method == "POST" and verb.startswith("drop ") and shown is not None:
        step = verb.removeprefix("drop ")
        faults, stale = _try(
            request,
            lambda revision: service.drop_step(
                found,
                letter,
                number_of(step, most=3) or 0,
                user=asking(request),
                revision=revision,
            ),
        )
    elif request.method == "POST":
        texts = forms.typed(data)
        kept: list[Any] = []
        faults, stale = _try(
            request,
            lambda revision: kept.append(
                service.put_alternative(
                    found,
                    "" if letter == "new" else letter,
                    forms.typed(data),
                    user=asking(request),
                    revision=revision,
                )
            ),
        )
        if kept:
            shown = kept[0]
    if request.method == "POST" and not faults and not stale:
        messages.success(request, "Kept.")
        return redirect("proposal-alternative", found.number, shown.letter if shown else letter)
    return _alternative_page(request, found, letter, texts, faults, stale)


def _alternative_page(
    request: HttpRequest,
    found: Proposal,
    letter: str,
    texts: dict[str, str] | None,
    faults: list[Fault],
    stale: bool,
) -> HttpResponse:
    shown = found.alternatives.filter(letter=letter).first()
    is_step = request.POST.get("do_what") == "add step"
    do = request.POST.get("do", "") if is_step else request.GET.get("do", "")
    fields = forms.alternative_fields(shown, texts, () if is_step else faults)
    steps = forms.step_fields(do, request.POST if is_step else request.GET, faults) if do in DO else []
    context = {
        "proposal": found,
        "alternative": shown,
        "letter": letter,
        "fields": fields,
        "steps": [in_words(one) for one in shown.steps] if shown else [],
        "do": do if do in DO else "",
        "kinds": tuple(DO),
        "step_fields": steps,
        "faults": faults,
        "stale": stale,
        "general_errors": forms.unnamed(faults, [*fields, *steps]),
        "step_errors": [one for one in steps if one.error],
        "heading": f"{letter}, {shown.title}" if shown else "Another alternative",
        "under": f"{found.code} {found.title}",
        "crumbs": [
            ("Proposals", reverse("proposals")),
            (found.code, reverse("proposal", args=[found.number])),
            ("Alternative", ""),
        ],
    }
    return render(
        request, "proposals/alternative.html", context, status=422 if faults else 409 if stale else 200
    )


def proposal_checks(request: HttpRequest, number: int) -> HttpResponse:
    """What must be answered in writing."""
    ask(request, "write proposals")
    found = found_or_404(number)
    effects, _ = effects_today(found)
    checks = decision.checks_now(found, effects) if effects else []
    faults: list[Fault] = []
    if request.method == "POST":
        said = forms.typed(request.POST)
        given = {one.key: said.get(f"check-{place}", "") for place, one in enumerate(checks, 1)}
        try:
            service.answer_checks(found, given, user=asking(request))
        except Refused as refused:
            faults = refused.faults
        else:
            messages.success(request, "Kept.")
            return redirect("proposal", found.number)
    fields = [
        forms.field(
            f"check-{place}",
            one.question,
            request.POST.get(f"check-{place}", one.answer),
            kind="area",
            hint=one.because,
        )
        for place, one in enumerate(checks, 1)
    ]
    context = {
        "proposal": found,
        "fields": fields,
        "faults": faults,
        "general_errors": [fault.message for fault in faults],
        "heading": "To be answered before it can be decided",
        "under": f"{found.code} {found.title}",
        "cancel_url": reverse("proposal", args=[number]),
        "crumbs": [
            ("Proposals", reverse("proposals")),
            (found.code, reverse("proposal", args=[number])),
            ("Answers", ""),
        ],
    }
    return render(request, "proposals/checks.html", context, status=422 if faults else 200)


def ask(request: HttpRequest, action: str) -> None:
    if not may(request.user, action):
        raise PermissionDenied("Proposals are for the workshop engineer and the heritage officer.")


def found_or_404(number: int) -> Proposal:
    found = service.proposal_numbered(number)
    if found is None:
        raise Http404
    return found


def effects_today(found: Proposal) -> tuple[Effects | None, str]:
    """The effects today, or why there are none."""
    try:
        return effects_of(found, date.today()), ""
    except NoSuch as gone:
        return None, str(gone)


def _try(request: HttpRequest, change: Callable[[int], Any]) -> tuple[list[Fault], bool]:
    """(faults, whether somebody else was quicker) of a change; nothing happens on a page that is only looked at."""
    if request.method != "POST":
        return [], False
    revision = request.POST.get("revision", "")
    try:
        known = number_of(revision, most=9)
        change(-1 if known is None else known)
    except Refused as refused:
        return refused.faults, False
    except Stale:
        return [], True
    return [], False
