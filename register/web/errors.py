"""The pages of a request that could not be understood, of a form that came from an old page, and of what goes wrong under
the register; the other error pages are templates alone."""

from __future__ import annotations

import logging
import shutil
import sys

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.http.multipartparser import MultiPartParserError
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.utils.http import url_has_allowed_host_and_scheme

from register.services.trouble import FULL, Trouble, in_a_sentence, room_for, trouble_of
from register.web.kept_text import keep
from register.web.security import NotUtf8

RETRY_AFTER = 60
"""Seconds."""
log = logging.getLogger(__name__)

BROKEN_OFF = "What was sent broke off on the way, or came in pieces that do not fit together. Go back and send it once more."

NOT_UTF8 = "What was sent is not said to be UTF-8, which is how this register reads and writes text. Load the page again and send it from there."


def limit_met(exception: Exception) -> str:
    """Which limit a request met, and what to do; "" for another fault."""
    if isinstance(exception, TooManyFilesSent):
        most = settings.DATA_UPLOAD_MAX_NUMBER_FILES
        return f"More than {most:,} files were sent at once, which is the most. Go back and send them in several lots."
    if isinstance(exception, TooManyFieldsSent):
        most = settings.DATA_UPLOAD_MAX_NUMBER_FIELDS
        return (
            f"More than {most:,} fields were sent at once, which is the most. Go back and do it in parts: fewer rows, parts or"
            " vehicles at a time."
        )
    if isinstance(exception, RequestDataTooBig):
        megabytes = settings.DATA_UPLOAD_MAX_MEMORY_SIZE / 1_000_000
        return (
            f"The text that was sent is longer than {megabytes:.1f} MB, which is the most for one form (a file that is chosen does not"
            " count). Go back and shorten it, or keep the long text as a file and say where it is."
        )
    if isinstance(exception, NotUtf8):
        return NOT_UTF8
    return BROKEN_OFF if isinstance(exception, MultiPartParserError) else ""


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Says which limit was met, where it was one. The script that sends pictures gets the sentence alone."""
    said = limit_met(exception)
    if said and request.headers.get("Accept") == "application/json":
        return JsonResponse({"said": said}, status=400)
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


def server_error(request: HttpRequest) -> HttpResponse:
    """Trouble under the register gets a page that names it; any other error is a fault of the program. Called while the
    error is being handled, wherever it came from; asks the database nothing."""
    trouble = trouble_of(sys.exc_info()[1])
    if trouble is None:
        return HttpResponse(render_to_string("500.html"), status=500)
    _log(trouble)
    room = room_for(_size(request))
    response = _page(request, trouble, room)
    response.headers["Cache-Control"] = "no-store"
    if trouble.is_passing:
        response.headers["Retry-After"] = str(RETRY_AFTER)
    return response


def _page(request: HttpRequest, trouble: Trouble, room: str) -> HttpResponse:
    """A page; the script that sends pictures, which shows what is said beside each, gets a sentence."""
    if request.headers.get("Accept") == "application/json":
        return JsonResponse({"said": in_a_sentence(trouble, room=room)}, status=trouble.status)
    sends = request.method not in ("GET", "HEAD", "OPTIONS")
    context = {
        "trouble": trouble,
        "remedy": trouble.remedy.format(room=room),
        "sends": sends,
        "again": _again(request) if sends else [],
        "address": request.get_full_path(),
        "site_name": settings.SITE_NAME,
    }
    return HttpResponse(render_to_string("trouble.html", context), status=trouble.status)


def _log(trouble: Trouble) -> None:
    """What the page does not tell everybody: where."""
    free = ""
    if trouble.kind == FULL:
        try:
            free = f" {shutil.disk_usage(settings.DATA).free // 1_000_000:,} MB are free there."
        except OSError:
            free = ""
    log.error("%s. The data folder is %s.%s %s", trouble.heading, settings.DATA, free, trouble.remedy.format(room=room_for()))


def _size(request: HttpRequest) -> int:
    said = request.META.get("CONTENT_LENGTH") or ""
    return int(said) if said.isascii() and said.isdigit() and len(said) < 13 else 0


def _again(request: HttpRequest) -> list[tuple[str, str]]:
    """What was sent, to be sent again from the page itself: the browser does not keep what was typed into a page that may
    not be stored. With the same token, so that nothing is done twice, and never with a new one, which a form from
    another site would be given too."""
    try:
        sent = [(name, str(value)) for name, values in request.POST.lists() for value in values]
    except Exception:  # it could not be read the first time either
        return []
    names = {name for name, _ in sent}
    return sent if "csrfmiddlewaretoken" in names and not any("password" in name for name in names) else []
