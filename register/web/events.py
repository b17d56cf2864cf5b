"""A vehicle's events, as the reader may see them."""

from __future__ import annotations

from django.http import HttpRequest

from register.fabric.dates import AS_BUILT, Span, span_of
from register.models import Event, Vehicle
from register.policy import may


def days_of(event: Event, vehicle: Vehicle) -> Span:
    """The days on which it may have been; "as built" is the vehicle's built date."""
    return span_of(vehicle.built_edtf if event.date_edtf == AS_BUILT else event.date_edtf)


def events_for(request: HttpRequest, vehicle: Vehicle) -> list[Event]:
    """The vehicle's events in their order; restricted ones, and references to restricted sources, for those who may."""
    rows = Event.objects.filter(vehicle=vehicle).select_related("source", "part")
    events = sorted(rows, key=lambda one: days_of(one, vehicle))
    if may(request.user, "read what is restricted"):
        return events
    shown = [one for one in events if one.access == "public"]
    for one in shown:
        if one.source and one.source.access == "restricted":
            one.source, one.reference = None, ""
        if one.part and one.part.access == "restricted":
            one.part = None
    return shown
