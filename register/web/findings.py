"""What does not agree in the records of a vehicle, and what an officer says of it."""

from __future__ import annotations

import secrets
from collections import Counter
from datetime import date
from typing import Any, NamedTuple
from urllib.parse import urlencode

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Refused
from register.fabric.finding_facts import Finding, Form
from register.models import FindingNote, Vehicle
from register.models.finding_note import EXPLAINED, OPENED
from register.policy import may
from register.services.findings import Checked, check_vehicle, say_of
from register.services.inputs import NoSuch
from register.web.asking import asking, token_of
from register.web.record_form import FormField

PAGE = 50


class Shown(NamedTuple):
    """A finding as its page has it. url: of the form that puts it right, for those who may; else of what it is about."""

    number: int
    finding: Finding
    url: str
    action: str
    note: FindingNote | None = None


def findings(request: HttpRequest, key: str) -> HttpResponse:
    """Every open finding, of one kind if the address says so; the explained ones folded below."""
    checked = _checked(request, key)
    kinds = Counter(one.code for one in checked.open)
    kind = request.GET.get("kind", "")
    listed = [one for one in checked.open if one.code == kind] if kind in kinds else checked.open
    page = Paginator(listed, PAGE).get_page(request.GET.get("page"))
    may_change = may(request.user, "change the register")
    context = {
        "vehicle": checked.vehicle,
        "checked": checked,
        "kinds": sorted(kinds.items(), key=lambda pair: (-pair[1], pair[0])),
        "kind": kind if kind in kinds else "",
        "page": page,
        "shown": [_shown(one, number, may_change) for number, one in enumerate(page.object_list, page.start_index())],
        "explained": [_shown(one, 0, may_change, note) for one, note in checked.explained],
        "may_change": may_change,
        "crumbs": _crumbs(checked.vehicle, "What does not agree"),
    }
    return render(request, "vehicles/findings.html", context)


def explain(request: HttpRequest, key: str, fingerprint: str) -> HttpResponse:
    """Says why a finding is in order, or opens it again; asks for a reason either way."""
    if not may(request.user, "change the register"):
        raise PermissionDenied("Explaining a finding is for the heritage officer.")
    checked = _checked(request, key)
    notes = {one.fingerprint: note for one, note in checked.explained}
    every = [*checked.open, *(one for one, _ in checked.explained)]
    finding = next((one for one in every if one.fingerprint == fingerprint), None)
    if finding is None:
        return _gone(request, checked.vehicle)
    error = ""
    if request.method == "POST":
        verb = OPENED if request.POST.get("verb") == "open" else EXPLAINED
        try:
            say_of(
                finding,
                verb=verb,
                reason=request.POST.get("reason", ""),
                user=asking(request),
                token=token_of(request),
            )
        except Refused as refused:
            error = refused.faults[0].message
        else:
            messages.success(request, "Explained: it is no longer counted." if verb == EXPLAINED else "Open again.")
            return redirect("findings", checked.vehicle.key)
    context: dict[str, Any] = {
        "vehicle": checked.vehicle,
        "finding": finding,
        "note": notes.get(fingerprint),
        "fields": [_reason(request, error)],
        "has_errors": bool(error),
        "token": secrets.token_urlsafe(24),
        "heading": "Explain a finding",
        "under": checked.vehicle.full_name,
        "crumbs": [*_crumbs(checked.vehicle, "")[:-1], ("What does not agree", _address(checked.vehicle)), ("Explain", "")],
    }
    return render(request, "vehicles/explain.html", context, status=422 if error else 200)


def _gone(request: HttpRequest, vehicle: Vehicle) -> HttpResponse:
    """Its facts have changed since the page was loaded, or it has been put right."""
    messages.success(request, "That finding is no longer there as it was: its records have been changed. Look again.")
    return redirect("findings", vehicle.key)


def _reason(request: HttpRequest, error: str) -> FormField:
    hint = "kept for good, and shown with the finding; it opens again by itself when the facts that it rests on change"
    example = "The engine was six years in building; these are the dates of assembly."
    return FormField("reason", "Why", "area", request.POST.get("reason", ""), hint, example, True, error=error)


def _checked(request: HttpRequest, key: str) -> Checked:
    try:
        return check_vehicle(key, day=date.today(), may_read_all=may(request.user, "read what is restricted"))
    except NoSuch:
        raise Http404 from None


def _address(vehicle: Vehicle) -> str:
    return reverse("findings", args=[vehicle.key])


def _crumbs(vehicle: Vehicle, here: str) -> list[tuple[str, str]]:
    return [("Vehicles", reverse("fleet")), (vehicle.full_name, reverse("vehicle", args=[vehicle.key])), (here, "")]


def _shown(one: Finding, number: int, may_change: bool, note: FindingNote | None = None) -> Shown:
    if may_change:
        return Shown(number, one, _form_address(one.form), one.form.action, note)
    if one.part:
        return Shown(number, one, reverse("part", args=[one.part]), "Look at the part", note)
    return Shown(number, one, "", "", note)


def _form_address(form: Form) -> str:
    if form.table == "mass":
        return reverse("part-mass", args=[form.key])
    if form.key:
        return reverse("change-record", args=[form.table, form.key])
    return f"{reverse('new-record', args=[form.table])}?{urlencode(form.given)}"
