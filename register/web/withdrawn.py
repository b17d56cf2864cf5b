"""The address of a record that is no longer there: it leads to the part it was merged into, or says what became of it."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse, HttpResponsePermanentRedirect
from django.shortcuts import render
from django.urls import reverse

from register.models import Part, RetiredId
from register.policy import may
from register.services.retired import withdrawn

BELOW_A_VEHICLE = "vehicles/<str:key>/"


class StruckOutVehiclesMiddleware:
    """Every page below a vehicle's address answers 404 where there is no such vehicle; for one that was struck out it
    is told what became of it, as on the vehicle's own page."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """None leaves the 404 as it is."""
        match = request.resolver_match
        if not isinstance(exception, Http404) or match is None or not match.route.startswith(BELOW_A_VEHICLE):
            return None
        try:
            return gone(request, "vehicles", match.kwargs["key"])
        except Http404:
            return None


def gone(request: HttpRequest, table: str, key: str) -> HttpResponse:
    """301 to the part that a merged id leads to; 410 for what was struck out. Raises Http404 for what never
    was, and for what the reader may not know of."""
    found = withdrawn(table, key)
    restricted = may(request.user, "read what is restricted")
    if found is None or (found.restricted and not restricted):
        raise Http404
    if found.into is None:
        return render(request, "410.html", {"retired": found.retired}, status=410)
    if found.into.access == "restricted" and not restricted:
        raise Http404
    address = reverse("part", args=[found.into.key])
    return HttpResponsePermanentRedirect(f"{address}?{urlencode({'merged': found.retired.code})}")


def gone_from_the_public(request: HttpRequest, key: str) -> HttpResponse:
    """410 for a vehicle that had a public page and was struck out, with nothing of who and why; Http404 else."""
    found = withdrawn("vehicles", key)
    if found is None or not found.published:
        raise Http404
    return render(request, "410.html", status=410)


def merged_here(request: HttpRequest, part: Part) -> RetiredId | None:
    """The id under which the reader looked for this part, where that was merged into it."""
    code = request.GET.get("merged", "")
    found = withdrawn("parts", code) if 0 < len(code) <= 40 and code.isprintable() else None
    return found.retired if found and found.into == part else None
