"""Where a record is shown: its own page, or the page of what it belongs to."""

from __future__ import annotations

from django.urls import reverse

from register.services.tables import MODELS

PAGES = {"vehicles": "vehicle", "parts": "part", "sources": "source", "places": "place"}
BELONGS_TO = {
    "reference_periods": ("vehicle_id", "vehicle"),
    "positions": ("vehicle_id", "vehicle"),
    "events": ("vehicle_id", "vehicle"),
    "installations": ("part_id", "part"),
    "assessments": ("part_id", "part"),
    "treatments": ("part_id", "part"),
    "citations": ("part_id", "part"),
    "movements": ("part_id", "part"),
}


def address_of(table: str, key: str) -> str:
    """The page that shows the record."""
    if table in PAGES:
        return reverse(PAGES[table], args=[key])
    if table in BELONGS_TO:
        attribute, page = BELONGS_TO[table]
        owner = MODELS[table]._default_manager.filter(key=key).values_list(attribute, flat=True).first()
        if owner:
            return reverse(page, args=[owner])
    if table == "photographs":
        owners = (
            MODELS[table]
            ._default_manager.filter(key=key)
            .values_list("part_id", "vehicle_id", "source_id")
            .first()
            or ()
        )
        for owner, page in zip(owners, ("part", "vehicle", "source"), strict=False):
            if owner:
                return reverse(page, args=[owner])
        return reverse("photograph-tray")
    return reverse("people") if table == "people" else reverse("fleet")
