"""Photographs: assigned from the tray, described one by one. They are sent in ``add_photographs``."""

from __future__ import annotations

import secrets

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from register.exchange.faults import Fault, Refused
from register.policy import may
from register.services.change_sets import Conflicted
from register.services.photograph_records import assign, photographs_of, tray, with_files
from register.services.picture_matching import owner_of
from register.services.picture_state import what_is_wrong
from register.services.records import put_record, record_texts
from register.web.asking import asking, number_of, token_of, why_of
from register.web.record_form import form_fields, texts_from

READING = ("GET", "HEAD", "OPTIONS")


def tray_page(request: HttpRequest) -> HttpResponse:
    """Pictures that are of nothing yet: tick some, say what they are of."""
    if not may(request.user, "change the register"):
        raise PermissionDenied("The tray of pictures is for the heritage officer.")
    ticked, text, faults = request.POST.getlist("picture")[:500], request.POST.get("owner", ""), []
    if request.method == "POST":
        owner = owner_of(text, request.user)
        if not ticked:
            faults.append(Fault("", None, "picture", "", "Tick the pictures that belong together first."))
        if owner is None:
            faults.append(Fault("", None, "owner", text, _no_owner(text)))
        if owner and ticked:
            try:
                count = assign(ticked, owner, user=asking(request), token=token_of(request))
            except Refused as refused:
                faults += [Fault("", None, "picture", "", fault.message) for fault in refused.faults]
            else:
                messages.success(request, f"{count} photograph{'' if count == 1 else 's'} assigned to {owner.words}.")
                return redirect("photograph-tray")
    page = Paginator(tray(request.user), 60).get_page(request.GET.get("page"))
    page.object_list = with_files(page.object_list)
    context = {
        "page": page,
        "ticked": ticked,
        "owner": text,
        "errors": {fault.column: fault.message for fault in faults},
        "has_errors": bool(faults),
        "token": secrets.token_urlsafe(24),
        "heading": "Pictures not yet assigned",
        "under": "Nobody has said yet what these are of. They are shown to nobody outside.",
    }
    return render(request, "photographs/tray.html", context, status=422 if faults else 200)


def photograph_page(request: HttpRequest, key: str) -> HttpResponse:
    """One photograph: what it shows, whose it is, when it was taken; changed by those who may."""
    found = next(iter(photographs_of(request.user, key=key)), None) if key.isprintable() else None
    texts_now = record_texts("photographs", key) if found else None
    if found is None or texts_now is None:
        raise Http404
    texts, base_no = texts_now
    faults: list[Fault] = []
    conflicts: list[object] = []
    if request.method not in READING and not may(request.user, "change the register"):
        raise PermissionDenied("Changing the register is for the heritage officer.")
    if request.method == "POST":
        typed = texts_from("photographs", request.POST)
        texts |= {name: text for name, text in typed.items() if name not in ("file", "sha256")}
        base = request.POST.get("base_no", "")
        try:
            handed = put_record(
                "photographs",
                texts,
                key=key,
                user=asking(request),
                reason=why_of(request),
                token=token_of(request),
                base_no=number_of(base),
                keep="file" if request.POST.get("keep") == "mine" else "",
            )
        except Refused as refused:
            faults = refused.faults
        except Conflicted as conflicted:
            conflicts = list(conflicted.conflicts)
        else:
            messages.success(request, "Recorded." if handed.act else "Nothing was changed.")
            return redirect("photograph-page", key=key)
    fields = form_fields("photographs", texts, faults, editing=True, hidden=frozenset({"file", "sha256"}))
    known = {field.name for field in fields}
    context = {
        "photograph": found,
        "wrong": what_is_wrong(found.sha256),
        "fields": fields,
        "general_errors": [fault.message for fault in faults if fault.column not in known],
        "faults": faults,
        "conflicts": conflicts,
        "base_no": base_no,
        "token": secrets.token_urlsafe(24),
        "why": request.POST.get("why", ""),
        "may_change": may(request.user, "change the register"),
    }
    status = 422 if faults else 409 if conflicts else 200
    return render(request, "photographs/photograph.html", context, status=status)


def _no_owner(text: str) -> str:
    if not text.strip():
        return "Say what they are of: a tag, or the id of a part, a vehicle or a source."
    return "Nothing in this register has that tag or id. Look it up by its name, and type what stands beside Tag."
