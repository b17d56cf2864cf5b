"""Add, edit and strike out: the same three pages for every table."""

from __future__ import annotations

import secrets
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render

from register.exchange.faults import Fault, Refused
from register.exchange.schema import ORDER, TABLES
from register.policy import may
from register.services.change_sets import Conflicted
from register.services.finds import readable_parts
from register.services.records import new_key, put_record, record_texts, strike_out
from register.services.waiting import HandedIn
from register.web.addresses import address_of
from register.web.asking import asking, number_of, token_of, why_of
from register.web.kept_text import kept_for
from register.web.record_form import form_fields, texts_from

SHOP_FLOOR = ("installations", "movements", "treatments")
"""The forms that are open to everybody who may record finds; what counts at once of them is for policy to say."""


def new_record(request: HttpRequest, table: str) -> HttpResponse:
    """An empty form, filled from the address where it says so (?vehicle_id=...)."""
    _ask(request, table, "new")
    if request.method == "POST":
        return _save(request, table, None)
    kept = kept_for(request)
    return _page(request, table, None, texts_from(table, kept or request.GET), [], kept=kept)


def edit_record(request: HttpRequest, table: str, key: str) -> HttpResponse:
    _ask(request, table, "change")
    key = record_key(table, key)
    found = record_texts(table, key)
    if found is None:
        raise Http404
    if request.method == "POST":
        return _save(request, table, key)
    texts, change_no = found
    if kept := kept_for(request):
        base = kept.get("base_no", "")
        return _page(
            request, table, key, texts | texts_from(table, kept), [], base_no=base or change_no, kept=kept
        )
    return _page(request, table, key, texts, [], base_no=change_no)


def strike_record(request: HttpRequest, table: str, key: str) -> HttpResponse:
    """Asks why; then the record leaves the tables and its history stays."""
    _ask(request, table, "strike out")
    key = record_key(table, key)
    found = record_texts(table, key)
    if found is None:
        raise Http404
    faults: list[Fault] = []
    if request.method == "POST":
        try:
            strike_out(
                table,
                key,
                user=asking(request),
                reason=request.POST.get("reason", ""),
                token=token_of(request),
            )
        except Refused as refused:
            faults = refused.faults
        else:
            messages.success(request, f"{TABLES[table].noun.capitalize()} struck out. Its history is kept.")
            return redirect("fleet")
    context = {
        "table": TABLES[table],
        "texts": [(name, text) for name, text in found[0].items() if text],
        "faults": faults,
        "reason": request.POST.get("reason", ""),
        "token": secrets.token_urlsafe(24),
        "back": address_of(table, key),
    }
    return render(request, "records/strike.html", context, status=422 if faults else 200)


def record_key(table: str, key: str) -> str:
    """Ids are compared without case; the key of a photograph is the name of its file, which has its case."""
    return key.lower() if TABLES[table].own_id or TABLES[table].row_id else key


def _ask(request: HttpRequest, table: str, verb: str) -> None:
    """verb: new, change or strike out. What happened to a part may be handed in by everybody who records."""
    if table not in ORDER:
        raise Http404
    if may(request.user, "change the register"):
        return
    handed = table in SHOP_FLOOR and may(request.user, "record finds")
    if not handed or verb == "strike out":
        raise PermissionDenied("Changing the register is for the heritage officer.")
    if verb == "change" and not may(request.user, "read what is restricted"):
        raise PermissionDenied("Say what was wrong in a find of your own; the officer corrects the record.")


def _save(request: HttpRequest, table: str, key: str | None) -> HttpResponse:
    texts = texts_from(table, request.POST)
    base = request.POST.get("base_no", "")
    try:
        _refuse_what_is_not_to_be_known(request, table, texts)
        handed = put_record(
            table,
            texts,
            key=key,
            user=asking(request),
            reason=why_of(request),
            token=token_of(request),
            base_no=number_of(base),
            keep="file" if request.POST.get("keep") == "mine" else "",
        )
    except Refused as refused:
        return _page(request, table, key, texts, refused.faults, base_no=base)
    except Conflicted as conflicted:
        return _page(request, table, key, texts, [], base_no=base, conflicts=conflicted.conflicts)
    stored = key or (handed.result and new_key(handed.result, table))
    messages.success(request, what_was_done(handed))
    return redirect(address_of(table, stored) if stored else "fleet")


def _refuse_what_is_not_to_be_known(request: HttpRequest, table: str, texts: dict[str, str]) -> None:
    """A part that the person may not know of is answered as one that is not there."""
    if may(request.user, "read what is restricted"):
        return
    for name in ("part_id", "with_part"):
        code = texts.get(name, "").strip().lower()
        if code and not readable_parts(asking(request)).filter(key=code).exists():
            raise Refused(
                [Fault(table, None, name, texts[name], "No part has that id, in the register or in this file.")]
            )


def what_was_done(handed: HandedIn) -> str:
    """One sentence on what a form that was sent brought about."""
    if handed.waiting is None:
        changed = handed.act is not None
        return "Recorded." if changed else "Nothing was changed."
    some = "Part of it is recorded and counts; the rest" if handed.act else "Handed in: it"
    return f"{some} waits for the heritage officer, and counts nowhere until it is accepted."


def _page(
    request: HttpRequest,
    table: str,
    key: str | None,
    texts: dict[str, str],
    faults: list[Fault],
    *,
    base_no: Any = "",
    conflicts: Any = (),
    kept: QueryDict | None = None,
) -> HttpResponse:
    fields = form_fields(table, texts, faults, editing=key is not None)
    known = {field.name for field in fields}
    context = {
        "table": TABLES[table],
        "key": key,
        "fields": fields,
        "general_errors": [fault.message for fault in faults if fault.column not in known],
        "faults": faults,
        "conflicts": conflicts,
        "base_no": base_no,
        "token": secrets.token_urlsafe(24),
        "why": (kept or request.POST).get("why", ""),
        "kept": kept is not None,
        "may_strike": key and may(request.user, "change the register"),
        "may_see_history": key and may(request.user, "read what is restricted"),
        "back": address_of(table, key) if key else "/",
        "heading": f"{'Change' if key else 'New'} {TABLES[table].noun}",
    }
    return render(request, "records/form.html", context, status=422 if faults else 409 if conflicts else 200)
