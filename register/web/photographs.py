"""Photographs: sent many at once from a telephone or a folder, assigned from the tray, described one by one."""

from __future__ import annotations

import secrets
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.files.uploadedfile import UploadedFile
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Fault, Refused
from register.policy import may
from register.services.change_sets import Conflicted
from register.services.photograph_records import Added, Sent, add_photographs, assign, photographs_of, tray
from register.services.photographs import MAX_BYTES
from register.services.picture_matching import Owner, owner_of
from register.services.records import put_record, record_texts
from register.web.addresses import address_of
from register.web.asking import asking, number_of, token_of
from register.web.record_form import form_fields, texts_from

OF = ("part", "vehicle", "source")
NOT_TYPED = frozenset({"file", "sha256", "vehicle_id", "part_id", "source_id"})
SHOWN = 12
READING = ("GET", "HEAD", "OPTIONS")


def add(request: HttpRequest) -> HttpResponse:
    """Of one part, vehicle or source (``?part=FR-001``), or of whatever the names of the files say."""
    _ask(request)
    owner = _owner(request)
    if request.method != "POST":
        return _form(request, owner, {"access": "restricted"}, [])
    texts = {name: text for name, text in texts_from("photographs", request.POST).items() if name not in NOT_TYPED}
    files = [*request.FILES.getlist("camera"), *request.FILES.getlist("photos")]
    if not files:
        return _form(request, owner, texts, [Fault("", None, "photos", "", "Take or choose a photograph first.")])
    try:
        with _set_down(files) as sent:
            added = add_photographs(
                sent,
                owner,
                texts,
                user=asking(request),
                today=date.today(),
                token=token_of(request),
                by_name=owner is None,
                camera_dates="camera_date" in request.POST,
            )
    except Refused as refused:
        return _form(request, owner, texts, refused.faults)
    if not added.recorded:
        return _form(request, owner, texts, [Fault("", None, "photos", "", f"{name}: {why}") for name, why in added.failed])
    _say(request, added, owner)
    if owner:
        return redirect(f"{address_of(owner.table, owner.key)}#photographs")
    return redirect("add-photographs" if added.waits else "photograph-tray")


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
                messages.success(request, f"{_photographs(count)} assigned to {owner.words}.")
                return redirect("photograph-tray")
    context = {
        "page": Paginator(tray(request.user), 60).get_page(request.GET.get("page")),
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
                reason=request.POST.get("why", "")[:2000],
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


def _ask(request: HttpRequest) -> None:
    if not may(request.user, "record finds"):
        raise PermissionDenied("Adding photographs is for those who record: recorders, engineers and the heritage officer.")


def _owner(request: HttpRequest) -> Owner | None:
    """What the address says that the pictures are of. 404 for what the person may not know of."""
    for name in OF:
        if name in request.GET:
            owner = owner_of(request.GET[name], request.user)
            if owner is None:
                raise Http404
            return owner
    return None


def _no_owner(text: str) -> str:
    if not text.strip():
        return "Say what they are of: a tag, or the id of a part, a vehicle or a source."
    return "Nothing in this register has that tag or id. Look it up by its name, and type what stands beside Tag."


@contextmanager
def _set_down(files: Iterable[UploadedFile[Any]]) -> Iterator[list[Sent]]:
    """The files in a folder of their own, under numbers: the name that a stranger gave is only ever text."""
    with tempfile.TemporaryDirectory(prefix="pictures-") as folder:
        sent = []
        for number, file in enumerate(files):
            path = Path(folder) / str(number)
            with path.open("wb") as target:
                for chunk in file.chunks():
                    target.write(chunk)
                    if target.tell() > MAX_BYTES:
                        break  # told as too large by whoever reads it
            sent.append(Sent(str(file.name or "a picture without a name"), path))
        yield sent


def _say(request: HttpRequest, added: Added, owner: Owner | None) -> None:
    words = f"{_photographs(len(added.recorded))} {'handed in, to be looked at by the officer' if added.waits else 'recorded'}"
    if owner is None:
        of = Counter(mine.words for _, _, mine in added.recorded if mine)
        listed = "; ".join(f"{name} ({count})" for name, count in of.most_common(SHOWN))
        words += f", {sum(of.values())} by the name of the file{f': {listed}' if listed else ''}; {added.in_tray} in the tray"
    messages.success(request, f"{words}.")
    for name, why in added.failed[:SHOWN]:
        messages.warning(request, f"Not taken: {name}: {why}")
    if len(added.failed) > SHOWN:
        messages.warning(request, f"Nor were {len(added.failed) - SHOWN} more, for reasons of the same kinds.")


def _photographs(count: int) -> str:
    return f"{count} photograph{'' if count == 1 else 's'}"


def _form(request: HttpRequest, owner: Owner | None, texts: dict[str, str], faults: list[Fault]) -> HttpResponse:
    fields = form_fields("photographs", texts, faults, editing=False, hidden=NOT_TYPED)
    context = {
        "owner": owner,
        "fields": fields,
        "photo_errors": [fault.message for fault in faults if fault.column == "photos"],
        "has_errors": bool(faults),
        "general_errors": [],
        "camera_date": request.method != "POST" or "camera_date" in request.POST,
        "most": settings.DATA_UPLOAD_MAX_NUMBER_FILES,
        "token": token_of(request) or secrets.token_urlsafe(24),
        "back": address_of(owner.table, owner.key) if owner else reverse("fleet"),
        "heading": "Add photographs",
        "under": f"Of {owner.words}" if owner else "Of many things at once, by the names of the files",
    }
    return render(request, "photographs/add.html", context, status=422 if faults else 200)
