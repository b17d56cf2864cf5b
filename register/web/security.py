"""Headers. The content policy is named as Django 6 names its own, which replaces this when Django 5.2 is left."""

from __future__ import annotations

import codecs
import re
from collections.abc import Callable
from ipaddress import ip_address
from typing import Any

from django.conf import settings
from django.core.exceptions import BadRequest
from django.http import Http404, HttpRequest, HttpResponse

Handler = Callable[[HttpRequest], HttpResponse]
Application = Callable[[dict[str, Any], Any], Any]


class ContentSecurityPolicyMiddleware:
    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response
        self.policy = "; ".join(
            f"{name} {' '.join(sources)}" for name, sources in settings.SECURE_CSP.items()
        )

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", self.policy)
        response.headers.setdefault("Permissions-Policy", "camera=(self), geolocation=(), microphone=()")
        return response


class AddressesCanBeWrittenMiddleware:
    """Nothing stands at an address that holds a character nobody can write, and PostgreSQL may not even be asked."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.path.isprintable():
            raise Http404
        return self.get_response(request)


class NotUtf8(BadRequest):
    """What was sent is in letters that no form of ours is sent in."""


_CHARSET = re.compile(r"(charset *= *\"?)([^\"; ]*)", re.IGNORECASE)
UTF_8, OTHER = "utf-8", "other"


def text_is_utf_8(application: Application) -> Application:
    """Stands before Django, which reads an address in whatever letters the request names: some of Python's give halves of
    characters, which can be neither stored nor shown, and some no text at all."""

    def answer(environ: dict[str, Any], start_response: Any) -> Any:
        environ["CONTENT_TYPE"] = _CHARSET.sub(_named, environ.get("CONTENT_TYPE") or "")
        return application(environ, start_response)

    return answer


def _named(found: re.Match[str]) -> str:
    try:
        is_ours = codecs.lookup(found[2]).name in (UTF_8, "ascii")
    except (LookupError, ValueError):
        is_ours = False
    return f"{found[1]}{UTF_8 if is_ours else OTHER}"


class OtherLettersAreRefusedMiddleware:
    """What is to be written, and is not UTF-8 as every page of ours is, would be garbled."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if (request.content_params or {}).get("charset") == OTHER and request.method not in ("GET", "HEAD"):
            raise NotUtf8
        return self.get_response(request)


class PrivatePagesAreNotStoredMiddleware:
    """What a signed-in person saw is not to be found with the back button after signing out."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if request.user.is_authenticated:
            response.headers.setdefault("Cache-Control", "no-store, private")
        return response


def client_address(request: HttpRequest) -> str | None:
    """From where a request comes. What the browser itself says of it is not believed: behind a proxy the last address
    of X-Forwarded-For, which is the proxy's own word; else the other end of the connection."""
    said = request.META.get("REMOTE_ADDR", "")
    if settings.BEHIND_PROXY:
        said = request.META.get("HTTP_X_FORWARDED_FOR", "").rpartition(",")[2].strip() or said
    try:
        return str(ip_address(said))
    except ValueError:
        return None
