"""What was typed into a form is kept when its writer was signed out meanwhile: in the session, until signing in leads
back to the form. Nothing is stored in the register before it is sent again."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, QueryDict

Handler = Callable[[HttpRequest], HttpResponse]
KEPT = "kept_text"
MOST = 200_000
"""Letters of one form that are kept. A session holds one form, and never one with a password in it."""
NEVER = ("csrfmiddlewaretoken", "keep")


class KeepTextMiddleware:
    """Stands before the login that is asked for; only forms of pages that ask for it are kept."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        asked_to_sign_in = response.status_code == 302 and "/sign-in/?next=" in response.get("Location", "")
        if asked_to_sign_in and request.method == "POST" and not request.user.is_authenticated:
            keep(request)
        return response


def keep(request: HttpRequest) -> bool:
    """Keep what was posted for the form at the same address. False where there is too much of it, or nothing."""
    data = request.POST.copy()
    if any("password" in name for name in data):
        return False
    for name in NEVER:
        data.pop(name, None)
    text = data.urlencode()
    if not text or len(text) > MOST:
        return False
    request.session[KEPT] = {"path": request.get_full_path(), "text": text}
    return True


def kept_for(request: HttpRequest) -> QueryDict | None:
    """What was typed into this very form before signing in; told once."""
    kept = request.session.get(KEPT)
    if request.method != "GET" or not kept or kept.get("path") != request.get_full_path():
        return None
    del request.session[KEPT]
    return QueryDict(kept["text"])
