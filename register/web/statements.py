"""The draft conservation statement as a PDF."""

from __future__ import annotations

from datetime import date

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse

from register.policy import may
from register.services.inputs import NoSuch
from register.services.statements import draft_statement
from register.web.asking import asking
from register.web.controls import controls_from


def draft(request: HttpRequest, key: str) -> HttpResponse:
    if not may(request.user, "read draft statements"):
        raise PermissionDenied("Draft statements are for the workshop engineer and the heritage officer.")
    controls = controls_from(request, date.today())
    try:
        data = draft_statement(
            key, day=controls.question.day, reference=controls.question.reference, written_by=asking(request)
        )
    except NoSuch:
        raise Http404 from None
    name = "".join(letter if letter.isalnum() or letter in "-_" else "-" for letter in key)
    return HttpResponse(
        data,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}-draft-{controls.question.day}.pdf"'},
    )
