"""Keeping the structure right: one page a verb. It asks, shows what would be recorded and what that does to the
figures, and does exactly that once the officer has said so."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Fault, Refused
from register.models import Act, Part, Position
from register.policy import may
from register.services.change_sets import Conflicted
from register.services.structure import Outdated, carry_out, preview
from register.services.structure_merge import part_merged_into
from register.services.structure_rows import Doubtful
from register.services.structure_words import what_is_recorded
from register.web.asking import asking, token_of
from register.web.structure_effects import effect_tables
from register.web.structure_fields import Field, Texts, put_errors
from register.web.structure_merge import MERGE, clashes_with
from register.web.structure_moves import EXCHANGE, MOVE, PLACE_UNDER, TAKE
from register.web.structure_pieces import BREAK_DOWN, JOIN, SPLIT, number_of_rows
from register.web.structure_replace import REPLACE
from register.web.structure_verbs import Subject, Verb
from register.web.withdrawn import gone

VERBS = {
    one.name: one for one in (BREAK_DOWN, JOIN, SPLIT, MOVE, TAKE, EXCHANGE, REPLACE, MERGE, PLACE_UNDER)
}
LISTS = ("children",)
"""Fields of several values, which are joined with ``;``."""
OF_THE_PAGE = {"csrfmiddlewaretoken", "step", "token", "looked_at"}


def structure(request: HttpRequest, key: str, verb: str) -> HttpResponse:
    """GET: the form. POST: the same with one more row (step ``more``), as typed (``change``), what it would do
    (``look``), or done (``do``)."""
    _ask(request)
    chosen, step = VERBS[verb], request.POST.get("step", "")
    token = token_of(request) or ""
    if step == "do" and token and Act.objects.filter(token=token).exists():
        return _done(request, chosen, key)
    subject = _subject(chosen.table, key)
    if subject is None:
        return gone(request, chosen.table, key)
    texts = _texts(request)
    if step == "do" and token:
        return _do(request, chosen, subject, texts, token)
    if step in ("look", "do"):
        return _look(request, chosen, subject, texts)
    return _form(request, chosen, subject, texts)


def position_structure(request: HttpRequest, key: str) -> HttpResponse:
    """What can be done about a position and what is in it."""
    _ask(request)
    position = _subject("positions", key)
    if position is None:
        return gone(request, "positions", key)
    fitted = position.installations.filter(removed_edtf="", temporary=False).select_related("part")
    context = {
        "position": position,
        "parts": [one.part for one in fitted.order_by("part")],
        "crumbs": _crumbs(position, "Structure"),
    }
    return render(request, "structure/position.html", context)


def _ask(request: HttpRequest) -> None:
    if not may(request.user, "change the register"):
        raise PermissionDenied("Changing the register is for the heritage officer.")


def _subject(table: str, key: str) -> Subject | None:
    if not key.isprintable():
        return None
    if table == "positions":
        return Position.objects.select_related("vehicle", "parent").filter(key=key.lower()).first()
    return Part.objects.filter(key=key.lower()).first()


def _texts(request: HttpRequest) -> dict[str, str]:
    """What was typed, or what the address says of an empty form."""
    data = request.POST if request.method == "POST" else request.GET
    return {
        name: ";".join(map(str, data.getlist(name))) if name in LISTS else str(data[name]).strip()
        for name in data
        if name not in OF_THE_PAGE or name == "step"
    }


def _look(
    request: HttpRequest, verb: Verb, subject: Subject, texts: Texts, *, outdated: bool = False
) -> HttpResponse:
    """What the plan would record and what it does to the figures; the form again where it is refused."""
    if verb is MERGE and texts.get("asked") != texts.get("into_id") and clashes_with(subject, texts):
        return _form(request, verb, subject, texts)  # the first time these are asked, nothing is wrong yet
    try:
        plan = verb.planned(subject, texts)
        shown = preview(plan, day=date.today())
        if shown.overlaid.faults:
            raise Refused(shown.overlaid.faults)
    except Refused as refused:
        return _form(request, verb, subject, texts, refused)
    if not shown.overlaid.changes_anything:
        nothing = Refused([Fault(verb.table, None, "", "", "Nothing would change.")])
        return _form(request, verb, subject, texts, nothing)
    fields = [one for section in verb.ask(subject, texts) for one in section.fields]
    context = _context(verb, subject) | {
        "told": what_is_recorded(plan.register, shown.overlaid),
        "vehicles": effect_tables(shown.effects),
        "notes": plan.notes,
        "read_as": [(one.label, one.read_as) for one in fields if one.read_as],
        "kept": [(name, text) for name, text in texts.items() if name not in OF_THE_PAGE],
        "token": secrets.token_urlsafe(24),
        "looked_at": plan.mark,
        "outdated": outdated,
    }
    return render(request, "structure/look.html", context, status=409 if outdated else 200)


def _do(request: HttpRequest, verb: Verb, subject: Subject, texts: Texts, token: str) -> HttpResponse:
    try:
        carry_out(
            lambda: verb.planned(subject, texts),
            user=asking(request),
            reason=texts.get("why", ""),
            token=token,
            looked_at=request.POST.get("looked_at", "") or "nothing",
        )
    except (Outdated, Conflicted):
        return _look(request, verb, subject, texts, outdated=True)
    except Refused as refused:
        return _form(request, verb, subject, texts, refused)
    return _done(request, verb, subject.key)


def _done(request: HttpRequest, verb: Verb, key: str) -> HttpResponse:
    """To the page of the record, or of the part that it is now."""
    messages.success(request, verb.done)
    if verb.table == "positions":
        return redirect("position-structure", key)
    return redirect("part", part_merged_into(part_id=key) or key)


def _form(
    request: HttpRequest, verb: Verb, subject: Subject, texts: Texts, refused: Refused | None = None
) -> HttpResponse:
    sections = verb.ask(subject, texts)
    if sections and (isinstance(refused, Doubtful) or texts.get("despite_doubt") == "yes"):
        options = (("yes", "Do it all the same"),)
        chosen = frozenset([texts.get("despite_doubt", "")])
        doubt = Field("despite_doubt", "Despite the doubt", "checks", "", "", "", False, options, chosen)
        sections[-1].fields.insert(-1, doubt)
    fields = [one for section in sections for one in section.fields]
    faults = refused.faults if refused else []
    where = {"reason": "why", "moved_on": "on", **verb.where}
    context = _context(verb, subject) | {
        "general_errors": put_errors(fields, faults, where, texts),
        "sections": sections,
        "fields": fields,
        "has_errors": bool(faults),
        "rows": number_of_rows(texts) if verb is BREAK_DOWN else 0,
    }
    return render(request, "structure/form.html", context, status=422 if faults else 200)


def _context(verb: Verb, subject: Subject) -> dict[str, Any]:
    return {
        "verb": verb,
        "subject": subject,
        "heading": verb.heading,
        "lead": verb.lead,
        "address": reverse(verb.name, args=[subject.key]),
        "back": reverse("part" if verb.table == "parts" else "position-structure", args=[subject.key]),
        "crumbs": _crumbs(subject, verb.heading),
    }


def _crumbs(subject: Subject, last: str) -> list[tuple[str, str]]:
    if isinstance(subject, Position):
        vehicle = subject.vehicle
        return [
            ("Vehicles", reverse("fleet")),
            (vehicle.full_name, reverse("vehicle", args=[vehicle.key])),
            (subject.name, reverse("position-structure", args=[subject.key])),
            (last, ""),
        ]
    address = reverse("part", args=[subject.key])
    return [("Parts", reverse("parts")), (f"{subject.code} {subject.name}", address), (last, "")]
