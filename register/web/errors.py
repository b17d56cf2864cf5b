"""The pages of a request that could not be understood and of a form that came from an old page; the other error pages
are templates alone."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import TooManyFieldsSent, TooManyFilesSent
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme

from register.web.kept_text import keep

TOO_MANY = (
    (
        TooManyFilesSent,
        f"At most {settings.DATA_UPLOAD_MAX_NUMBER_FILES} files can be sent at once. Go back and send them in several lots.",
    ),
    (TooManyFieldsSent, "The page has more fields than can be sent at once. Go back and do it in several steps."),
)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Says which limit was met, where it was one of numbers."""
    said = next((words for kind, words in TOO_MANY if isinstance(exception, kind)), "")
    return render(request, "400.html", {"said": said}, status=400)


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form from a page that was opened before its writer signed in again: what was typed is put back into the form,
    and nothing is done with it. A form from another site gets the page that refuses it."""
    origin = request.headers.get("Origin", "")
    own = not origin or url_has_allowed_host_and_scheme(origin, {request.get_host()})
    same = request.headers.get("Sec-Fetch-Site", "same-origin") == "same-origin"
    user = getattr(request, "user", None)
    if own and same and user is not None and user.is_authenticated and keep(request):
        messages.warning(
            request,
            "This page was opened before you signed in. What you typed is kept in it, and nothing was stored yet: look at it and send it again.",
        )
        return redirect(request.get_full_path())
    return render(request, "403_csrf.html", status=403)
