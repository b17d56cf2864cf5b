"""The page of a request that could not be understood; the other error pages are templates alone."""

from __future__ import annotations

from django.conf import settings
from django.core.exceptions import TooManyFieldsSent, TooManyFilesSent
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

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
