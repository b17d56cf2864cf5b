"""What a visitor reads, without signing in. Everything shown comes through ``public_register``: nothing private can
reach a template here."""

from __future__ import annotations

from datetime import date

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from register.documents.figure_view import figure_view
from register.services.drawings import drawing_of
from register.services.public_page import TakenBack, public_vehicle_page, public_vehicles
from register.web.withdrawn import gone_from_the_public

TAKEN_BACK = "What was published here was taken back by the railway. The address is not used for anything else."


@login_not_required
def public_list(request: HttpRequest) -> HttpResponse:
    """Published vehicles."""
    return render(request, "public/vehicles.html", {"vehicles": public_vehicles()})


@login_not_required
def public_vehicle(request: HttpRequest, key: str) -> HttpResponse:
    """How much of her is original, and how we know. The same answer for hidden and for absent."""
    try:
        page = public_vehicle_page(key.lower(), date.today())
    except TakenBack:
        return render(request, "410.html", {"sentence": TAKEN_BACK}, status=410)
    if page is None:
        return gone_from_the_public(request, key)
    view = figure_view(page.figures, page.inputs, public=True)
    return render(
        request,
        "public/vehicle.html",
        {"page": page, "view": view, "drawing": drawing_of(page.vehicle.key, page.figures.rows)},
    )
