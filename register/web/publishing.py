"""What visitors are shown of a vehicle: publish its statement, see first what would change, or take it back."""

from __future__ import annotations

from difflib import unified_diff

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from register.exchange.faults import Refused
from register.models import Vehicle
from register.policy import may
from register.services import publishing
from register.services.changes import compared, in_words, of_statement
from register.services.public_page import page_lines, statement_page
from register.web.asking import asking
from register.web.record_form import FormField


def publish(request: HttpRequest, key: str) -> HttpResponse:
    """The statement that may be published, what a visitor would read otherwise than now, and two buttons."""
    if not may(request.user, "issue statements"):
        raise PermissionDenied("What visitors are shown is published by the heritage officer.")
    vehicle = Vehicle.objects.filter(key=key.lower()).first() if key.isprintable() else None
    if vehicle is None:
        raise Http404
    error = ""
    if request.method == "POST":
        try:
            said = _done(request, vehicle.key)
        except Refused as refused:
            error = refused.faults[0].message
        else:
            messages.success(request, said)
            return redirect("publish", vehicle.key)
    context = {"vehicle": vehicle, "error": error, "has_errors": bool(error), **_page(request, vehicle, error)}
    return render(request, "statements/publish.html", context, status=422 if error else 200)


def _done(request: HttpRequest, key: str) -> str:
    if request.POST.get("do") == "take back":
        publishing.take_back(key, user=asking(request), reason=request.POST.get("reason", ""))
        return "Taken back. Its page says so to whoever comes."
    ready = publishing.to_publish(key)
    number = request.POST.get("number", "")
    if ready is None or number != ready.statement.number:
        raise publishing.refused("the statement that stands is another one by now: look at what would change, and decide again.")
    publishing.publish(number, user=asking(request))
    return f"Published: visitors read {number}."


def _page(request: HttpRequest, vehicle: Vehicle, error: str) -> dict[str, object]:
    state, ready = publishing.public_state(vehicle.key), publishing.to_publish(vehicle.key)
    shown = state.statement if state else None
    found: dict[str, object] = {
        "state": state.state if state else "",
        "shown": shown,
        "ready": ready,
        "is_new": ready is not None and (shown is None or shown.number != ready.statement.number),
        "field": FormField(
            "reason", "Why it is taken back", "area", request.POST.get("reason", ""),
            "kept with the record; visitors do not read it", "", required=True,
            error=error if request.POST.get("do") == "take back" else "",
        ),
        "crumbs": [("Vehicles", "/"), (vehicle.full_name, f"/vehicles/{vehicle.key}/"), ("Publish", "")],
        "heading": f"What visitors read of {vehicle.full_name}",
    }  # fmt: skip
    if ready is not None:
        after = page_lines(statement_page(ready.statement))
        before = page_lines(statement_page(shown)) if shown else []
        lines = [one for one in unified_diff(before, after, lineterm="", n=0) if not one.startswith(("---", "+++", "@@"))]
        found |= {
            "gone": [one[1:] for one in lines if one.startswith("-")],
            "come": [one[1:] for one in lines if one.startswith("+")],
        }
        if shown is not None and shown.number != ready.statement.number:
            sides = of_statement(shown.number), of_statement(ready.statement.number)
            found["told"] = in_words(*sides, compared(*sides), without_restricted=True)
    return found
