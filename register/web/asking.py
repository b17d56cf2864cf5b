"""Who asks: on every page that needs signing in, a person."""

from __future__ import annotations

import re
from typing import cast

from django.http import HttpRequest

from register.models import User


def asking(request: HttpRequest) -> User:
    """The signed-in person. Only for pages that need signing in: nobody else gets that far."""
    return cast(User, request.user)


def token_of(request: HttpRequest) -> str | None:
    """The token of the form that was sent; None for what no form of ours has, which a database may not even be asked
    for (PostgreSQL takes no NUL, and has sixty-four letters of room)."""
    token = str(request.POST.get("token", ""))
    return token if 0 < len(token) <= 64 and token.isprintable() else None


_UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


def storable(text: str) -> str:
    """The text with what no database stores made visible, so that it can be kept whatever was typed."""
    return _UNSEEN.sub("\ufffd", text.replace("\r\n", "\n"))
