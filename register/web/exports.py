"""Workbooks to take away, and the copies of photographs."""

from __future__ import annotations

import re
import tempfile
from functools import partial
from pathlib import Path

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, Http404, HttpRequest, HttpResponse

from register.policy import may
from register.services.export_register import export_blank, export_register
from register.services.photographs import SIZES
from register.services.picture_access import picture_may_be_seen
from register.services.picture_state import copy_of
from register.services.public_page import photograph_is_public

WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def workbook(request: HttpRequest) -> HttpResponse:
    if not may(request.user, "export"):
        raise PermissionDenied("The whole register is exported by the heritage officer.")
    return _written(partial(export_register, pictures=False), "register.xlsx")


def blank(request: HttpRequest) -> HttpResponse:
    return _written(export_blank, "blank-register.xlsx")


def _written(write: object, name: str) -> HttpResponse:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        write(path)  # type: ignore[operator]
        data = path.read_bytes()
    return HttpResponse(
        data, content_type=WORKBOOK, headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


@login_not_required
def photograph(request: HttpRequest, sha256: str, size: str) -> HttpResponse | FileResponse:
    """A copy of a photograph; the original is never served. The same answer for hidden and for absent."""
    if not re.fullmatch(r"[0-9a-f]{64}", sha256) or size not in SIZES:
        raise Http404
    may_be_seen = picture_may_be_seen(request.user, sha256) or photograph_is_public(sha256)
    path = copy_of(sha256, size) if may_be_seen else None
    if path is None:
        raise Http404
    return FileResponse(
        path.open("rb"), content_type="image/webp", headers={"X-Content-Type-Options": "nosniff"}
    )
