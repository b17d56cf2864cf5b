"""Pictures as they come from a browser: several in one form, or one by one from the script, which is answered in JSON."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from django.http import HttpRequest, JsonResponse

from register.services.kept_pictures import Kept, Sent, keep_pictures
from register.services.photographs import MAX_BYTES

FIELDS = ("camera", "photos")


def has_pictures(request: HttpRequest) -> bool:
    return any(request.FILES.getlist(name) for name in FIELDS)


def is_script(request: HttpRequest) -> bool:
    """Whether the script asks, which wants to know of each picture what became of it, and no page."""
    return request.headers.get("Accept") == "application/json"


def keep_sent(request: HttpRequest) -> Kept:
    """Keep the pictures that came with the request."""
    with _set_down(request) as sent:
        return keep_pictures(sent, today=date.today())


@contextmanager
def _set_down(request: HttpRequest) -> Iterator[list[Sent]]:
    """The files in a folder of their own, under numbers: the name that a stranger gave is only ever text."""
    files = [file for name in FIELDS for file in request.FILES.getlist(name)]
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


def told(kept: Kept, refusal: str = "") -> JsonResponse:
    """What became of each picture. refusal: why none of them could be put where it belongs."""
    if refusal:
        failed = [(one["name"], refusal) for one in kept.pictures] + kept.failed
        return _answer([], failed)
    return _answer([one["name"] for one in kept.pictures], kept.failed)


def _answer(kept: list[str], failed: list[tuple[str, str]]) -> JsonResponse:
    return JsonResponse({"kept": kept, "failed": [{"name": name, "why": why} for name, why in failed]})
