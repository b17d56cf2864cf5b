"""Headers. The content policy is named as Django 6 names its own, which replaces this when Django 5.2 is left."""

from __future__ import annotations

from collections.abc import Callable
from ipaddress import ip_address

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse

Handler = Callable[[HttpRequest], HttpResponse]


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
