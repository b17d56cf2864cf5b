"""Sending photographs: what is written of all of them is kept first, each picture is kept as it arrives, and they are
recorded together when their sender says so. Without script all of it works as well, with several pictures in one request."""

from __future__ import annotations

import secrets
from collections import Counter
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Refused
from register.exchange.schema import TABLES
from register.models import PictureLot
from register.policy import may
from register.services.kept_pictures import Kept
from register.services.photograph_records import CAMERA_DATE, Added
from register.services.photographs import MAX_BYTES
from register.services.picture_lots import add_to_lot, lot_of, record_lot, take_out, write_of_lot
from register.services.picture_matching import Owner, owner_of
from register.web.addresses import address_of
from register.web.asking import asking, storable, token_of
from register.web.kept_text import kept_for
from register.web.picture_files import has_pictures, is_script, keep_sent, told
from register.web.record_form import form_fields, label_of, texts_from

OF = ("part", "vehicle", "source")
NOT_TYPED = frozenset({"file", "sha256", "vehicle_id", "part_id", "source_id"})
SHOWN = 12


def add(request: HttpRequest) -> HttpResponse:
    """Of one part, vehicle or source (``?part=FR-001``), or of whatever the names of the files say."""
    if not may(request.user, "record finds"):
        raise PermissionDenied("Adding photographs is for those who record: recorders, engineers and the heritage officer.")
    owner = _owner(request)
    if "write" in request.GET:
        return _write(request, owner)
    if request.method != "POST":
        return _page(request, owner, [])
    if sha256 := storable(request.POST.get("take_out", ""))[:64]:
        take_out(asking(request), owner, sha256)
        return redirect(request.get_full_path())
    return _send(request, owner)


def _owner(request: HttpRequest) -> Owner | None:
    """What the address says that the pictures are of. 404 for what the person may not know of."""
    for name in OF:
        if name in request.GET:
            owner = owner_of(request.GET[name], request.user)
            if owner is None:
                raise Http404
            return owner
    return None


def _send(request: HttpRequest, owner: Owner | None) -> HttpResponse:
    """The script sends one picture at a time and records nothing with it; a form records all that is here by then."""
    user, token = asking(request), token_of(request)
    kept = keep_sent(request) if has_pictures(request) else Kept()
    try:
        if kept.pictures:
            add_to_lot(user, owner, kept.pictures)
        if is_script(request):
            return told(kept)
        added, is_again = record_lot(user, owner, token=token)
    except Refused as refused:
        if is_script(request):
            return told(kept, refused.faults[0].message)
        return _page(request, owner, [fault.message for fault in refused.faults])
    if not added.recorded and not is_again:
        failed = [f"{name}: {why}" for name, why in kept.failed]
        return _page(request, owner, failed or ["Take or choose a photograph first."])
    _say(request, added, kept, owner)
    if owner:
        return redirect(f"{address_of(owner.table, owner.key)}#photographs")
    return redirect("add-photographs" if added.waits else "photograph-tray")


def _say(request: HttpRequest, added: Added, kept: Kept, owner: Owner | None) -> None:
    if not added.recorded:
        messages.success(request, "They were recorded already, once.")
        return
    words = f"{_photographs(len(added.recorded))} {'handed in, to be looked at by the officer' if added.waits else 'recorded'}"
    if owner is None:
        of = Counter(mine.words for _, _, mine in added.recorded if mine)
        listed = "; ".join(f"{name} ({count})" for name, count in of.most_common(SHOWN))
        words += f", {sum(of.values())} by the name of the file{f': {listed}' if listed else ''}; {added.in_tray} in the tray"
    messages.success(request, f"{words}.")
    for name, why in kept.failed[:SHOWN]:
        messages.warning(request, f"Not taken: {name}: {why}")
    if len(kept.failed) > SHOWN:
        messages.warning(request, f"Nor were {len(kept.failed) - SHOWN} more, for reasons of the same kinds.")


def _photographs(count: int) -> str:
    return f"{count} photograph{'' if count == 1 else 's'}"


def _page(request: HttpRequest, owner: Owner | None, errors: list[str]) -> HttpResponse:
    lot = lot_of(asking(request), owner)
    context = _heads(owner) | {
        "owner": owner,
        "pictures": lot.pictures,
        "written": _written(lot),
        "photo_errors": errors,
        "has_errors": bool(errors),
        "most_bytes": MAX_BYTES,
        "token": secrets.token_urlsafe(24),
        "kept": kept_for(request) is not None,
        "write": _address(request, owner, write=True),
    }
    return render(request, "photographs/add.html", context, status=422 if errors else 200)


def _write(request: HttpRequest, owner: Owner | None) -> HttpResponse:
    """What is to be written of all of them: a page of its own, so that no picture can take it down with it."""
    lot, faults = lot_of(asking(request), owner), []
    kept = kept_for(request)
    posted = request.POST if request.method == "POST" else kept
    texts = lot.texts
    if posted is not None:
        typed = {name: storable(text) for name, text in texts_from("photographs", posted).items() if name not in NOT_TYPED}
        texts = typed | {CAMERA_DATE: "yes" if CAMERA_DATE in posted else ""}
    if request.method == "POST":
        try:
            write_of_lot(asking(request), owner, texts)
        except Refused as refused:
            faults = refused.faults
        else:
            return redirect(_address(request, owner))
    texts_shown = {name: text for name, text in texts.items() if name != CAMERA_DATE}
    context = _heads(owner) | {
        "fields": form_fields("photographs", texts_shown, faults, editing=False, hidden=NOT_TYPED),
        "faults": faults,
        "kept": kept is not None,
        "camera_date": bool(texts.get(CAMERA_DATE)),
        "back": _address(request, owner),
    }
    return render(request, "photographs/write.html", context, status=422 if faults else 200)


def _heads(owner: Owner | None) -> dict[str, Any]:
    return {
        "back": address_of(owner.table, owner.key) if owner else reverse("fleet"),
        "heading": "Add photographs",
        "under": f"Of {owner.words}" if owner else "Of many things at once, by the names of the files",
    }


def _written(lot: PictureLot) -> list[tuple[str, str]]:
    """(label, text) of what is written of all of them; who may see them always."""
    table = TABLES["photographs"]
    named = [(column, lot.texts.get(column.name, "")) for column in table.columns]
    return [(label_of(table, column), text) for column, text in named if text.strip()]


def _address(request: HttpRequest, owner: Owner | None, *, write: bool = False) -> str:
    query = request.GET.copy()
    for name in list(query):
        if name not in OF:
            del query[name]
    if write:
        query["write"] = "yes"
    return f"{reverse('add-photographs')}?{query.urlencode()}" if query else reverse("add-photographs")
