"""Who asks: on every page that needs signing in, a person."""

from __future__ import annotations

from typing import cast

from django.http import HttpRequest

from register.models import User


def asking(request: HttpRequest) -> User:
    """The signed-in person. Only for pages that need signing in: nobody else gets that far."""
    return cast(User, request.user)
