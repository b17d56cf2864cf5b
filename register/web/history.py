"""The history of any record, and taking a change back."""

from __future__ import annotations

import secrets
from datetime import date

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from register.exchange.faults import Fault, Refused
from register.exchange.schema import ORDER, TABLES
from register.policy import history_for, may
from register.services.effects import effect_of
from register.services.records import history_of
from register.services.reverting import NoEntry, revert, reverting
from register.web.addresses import address_of
from register.web.asking import asking, storable, token_of
from register.web.kept_text import kept_for
from register.web.records import record_key
from register.web.review import effect_context


def history(request: HttpRequest, table: str, key: str) -> HttpResponse:
    """Who, when, why, and the difference in words. Notes and restricted records are in it, so it is for those who may
    read these; persons' records for those who may read their names."""
    needed = "read persons' names" if table == "people" else "read what is restricted"
    if not may(request.user, needed):
        raise PermissionDenied("The history of single records is for those who may read what is restricted.")
    key = record_key(table, storable(key)) if table in ORDER else ""
    entries = history_of(table, key) if key else []
    if not entries:
        raise Http404
    context = {
        "table": TABLES[table],
        "history": history_for(request.user, table, entries),
        "show_all": True,
        "back": address_of(table, key),
        "may_change": may(request.user, "change the register"),
        "heading": f"History of this {TABLES[table].noun}",
    }
    return render(request, "records/history.html", context)


def take_back(request: HttpRequest, table: str, key: str, change_no: int) -> HttpResponse:
    """What it would do, as a preview; then, with a reason, done."""
    if not may(request.user, "change the register"):
        raise PermissionDenied("Changing the register is for the heritage officer.")
    if table not in ORDER:
        raise Http404
    key = record_key(table, storable(key))
    faults: list[Fault] = []
    changes = []
    posted = request.POST if request.method == "POST" else kept_for(request)
    try:
        changes = reverting(table, key, change_no)
        if request.method == "POST":
            act = revert(
                table,
                key,
                change_no,
                user=asking(request),
                reason=storable(request.POST.get("reason", "")),
                token=token_of(request),
            )
            messages.success(
                request,
                f"Change {change_no} was taken back, as change {act.change_no}."
                if act
                else "There was nothing left to take back.",
            )
            return redirect(address_of(table, key))
    except NoEntry:
        raise Http404 from None
    except Refused as refused:
        faults = refused.faults
    entry = next(one for one in history_of(table, key) if one["act"] and one["act"].change_no == change_no)
    context = {
        "table": TABLES[table],
        "entry": entry,
        "faults": faults,
        "general_errors": [fault.message for fault in faults],
        "possible": bool(changes),
        "reason": posted.get("reason", "") if posted else "",
        "token": secrets.token_urlsafe(24),
        "back": address_of(table, key),
    }
    if changes:
        context |= effect_context(effect_of(changes, day=date.today()), request.user)
    return render(request, "records/take_back.html", context, status=422 if faults else 200)
