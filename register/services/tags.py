"""What a tag is stuck to."""

from __future__ import annotations

from typing import NamedTuple

from register.exchange.values import TAG
from register.models import Installation, Part, Position, Vehicle


class Tagged(NamedTuple):
    """table: vehicles, positions or parts. key: of the record; part: key of the part that is or hangs there, "" for
    none; vehicle: key of the vehicle it belongs to, "" for none. open: whether a visitor may know of it."""

    table: str
    key: str
    part: str
    vehicle: str
    open: bool


def thing_tagged(text: str) -> Tagged | None:
    """The thing with this tag, read without case, spaces or hyphens; None where there is none."""
    tag = "".join(letter for letter in text.upper() if letter.isalnum())
    if not TAG.fullmatch(tag):
        return None
    if vehicle := Vehicle.objects.filter(tag=tag).first():
        return Tagged("vehicles", vehicle.key, "", vehicle.key, vehicle.published)
    if part := Part.objects.filter(tag=tag).first():
        stay = _fitted(part=part.key)
        vehicle = stay.position.vehicle if stay else None
        public = part.access == "public" and vehicle is not None and vehicle.published
        return Tagged("parts", part.key, part.key, vehicle.key if vehicle else "", public)
    position = Position.objects.select_related("vehicle").filter(tag=tag).first()
    if position is None:
        return None
    stay = _fitted(position=position.key)
    hidden = stay is not None and stay.part.access == "restricted"
    return Tagged(
        "positions",
        position.key,
        stay.part_id if stay else "",
        position.vehicle_id,
        position.vehicle.published and not hidden,
    )


def _fitted(**of: str) -> Installation | None:
    """The installation that goes on: no stand-in where something belongs there."""
    rows = Installation.objects.filter(removed_edtf="", **of).select_related("position__vehicle", "part")
    return rows.order_by("temporary", "-key").first()
