"""The short address of a tag: what a scan shows to somebody who signs in, and to a stranger."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import printable
from register.models import Part
from register.policy import may
from register.services.tags import Tagged, thing_tagged


@login_not_required
def tag(request: HttpRequest, text: str) -> HttpResponse:
    """Staff come to the part or vehicle; a stranger to the public page, or to the same answer for hidden and absent."""
    thing = thing_tagged(text)
    if request.user.is_authenticated:
        if thing is None or _may_not_know(request, thing):
            return _nothing_tagged(request, text)
        return redirect(_address(thing))
    if thing is not None and thing.open:
        return redirect("public-vehicle", thing.vehicle)
    signing_in = f"{reverse('sign-in')}?next={reverse('tag', args=[text])}"
    return render(request, "public/nothing.html", {"signing_in": signing_in}, status=404)


def _nothing_tagged(request: HttpRequest, text: str) -> HttpResponse:
    """The same for a slip, for what is absent and for what the reader may not know of."""
    context = {"typed": printable(text, 40), "may_record": may(request.user, "record finds")}
    return render(request, "parts/no_tag.html", context, status=404)


def _may_not_know(request: HttpRequest, thing: Tagged) -> bool:
    if not may(request.user, "read the register"):
        return True
    if not thing.part or may(request.user, "read what is restricted"):
        return False
    return Part.objects.filter(key=thing.part, access="restricted").exists()


def _address(thing: Tagged) -> str:
    if thing.part:
        return reverse("part", args=[thing.part])
    vehicle = reverse("vehicle", args=[thing.vehicle])
    return f"{vehicle}?in={thing.key}" if thing.table == "positions" else vehicle
