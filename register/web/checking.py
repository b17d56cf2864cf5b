"""Whether a statement still stands, and whether a file is one that was issued: for anybody, without signing in."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from register.models.statement import WITHDRAWN
from register.services.issued import matches, standing_of, standings
from register.web.statements import file_answer

MOST = 60_000_000
"""Bytes of a file that is checked."""


@login_not_required
def check(request: HttpRequest) -> HttpResponse:
    """By number (GET), or by file (POST), of which nothing is kept."""
    context: dict[str, object] = {"number": request.GET.get("number", "").strip()[:20]}
    if request.method == "POST":
        upload = request.FILES.get("file")
        if upload is None or not upload.size:
            context["error"] = "Choose a file with something in it."
        elif upload.size > MOST:
            context["error"] = "The file is larger than 60 MB, and no file of a statement is."
        else:
            sha256, found = matches(upload.chunks())
            stands = {one.statement.pk: one for one in standings({one.pk: one for one, _ in found}.values())}
            context |= {"sha256": sha256, "found": [(stands[one.pk], name) for one, name in found]}
    elif context["number"]:
        standing = standing_of(str(context["number"]))
        if standing is not None:
            return redirect("public-statement", standing.statement.number)
        context["number_error"] = "No statement has that number. It is written like CS-0012."
    status = 422 if "error" in context or "number_error" in context else 200
    return render(request, "public/check.html", context, status=status)


@login_not_required
def public_statement(request: HttpRequest, number: str) -> HttpResponse:
    """How a statement stands, and the SHA-256 of its files. Its vehicle is named only where that is published."""
    standing = standing_of(number)
    if standing is None:
        raise Http404
    return render(request, "public/statement.html", {"standing": standing})


@login_not_required
def public_edition(request: HttpRequest, number: str) -> HttpResponse:
    """The public edition of a statement that is published; the same answer for any other and for none."""
    standing = standing_of(number)
    if standing is None or not (standing.shown and standing.public and standing.status != WITHDRAWN):
        raise Http404
    return file_answer(standing.statement.number, "public.pdf")
