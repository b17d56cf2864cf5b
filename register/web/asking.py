"""Who asks: on every page that needs signing in, a person."""

from __future__ import annotations

import hashlib
import re
from typing import cast

from django.http import HttpRequest

from register.models import User
from register.services.deciding import refuse_if_too_long


def asking(request: HttpRequest) -> User:
    """The signed-in person. Only for pages that need signing in: nobody else gets that far."""
    return cast(User, request.user)


def token_of(request: HttpRequest) -> str | None:
    """What tells the form that was sent from every other: the same form sent twice gives the same token. None for what no
    form of ours has.

    The token on the page is bound to who sends it, where to, and what it says: a page gone back to and sent with other
    text is another form, and nobody's token is anybody else's.
    """
    token = str(request.POST.get("token", ""))
    if not 0 < len(token) <= 64 or not token.isprintable():
        return None
    said = sorted((name, request.POST.getlist(name)) for name in request.POST if name not in ("token", "csrfmiddlewaretoken"))
    sent = sorted((name, file.name, file.size) for name in request.FILES for file in request.FILES.getlist(name))
    whole = repr((token, getattr(request.user, "pk", None), request.path, said, sent))
    return hashlib.sha256(whole.encode("utf-8", "surrogatepass")).hexdigest()


def number_of(text: str, *, most: int = 17) -> int | None:
    """A whole number as a form of ours sends it; None for anything else ("²" is a digit to Python, and no number)."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= most else None


def why_of(request: HttpRequest) -> str:
    """Why a record is changed, as it was typed. Raises Refused where it is too long: it is never cut without a word."""
    text = storable(request.POST.get("why", ""))
    refuse_if_too_long(text)
    return text


_UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


def storable(text: str) -> str:
    """The text with what no database stores made visible, so that it can be kept whatever was typed."""
    return _UNSEEN.sub("\ufffd", text.replace("\r\n", "\n"))
