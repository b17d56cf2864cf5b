"""An examination that opened something up: the parts that could be seen then, and may not be again for ten years."""

from __future__ import annotations

from register.models import Event, Installation, Part, Position, User
from register.services.finds import MOST_PARTS, readable_parts


def parts_opened_by(event: Event, user: User) -> list[Part]:
    """The parts fitted under the position of the part that was examined; where none is named, those in hidden positions.
    In the order of their positions, in four queries."""
    positions = list(
        Position.objects.filter(vehicle=event.vehicle_id)
        .order_by("key")
        .values_list("key", "parent_id", "visibility")
    )
    wanted = {key for key, _, visibility in positions if visibility == "hidden"}
    if event.part_id:
        own = set(
            Installation.objects.filter(
                part=event.part_id, position__vehicle=event.vehicle_id, removed_edtf=""
            ).values_list("position", flat=True)
        )
        wanted = own | _under(own, {key: parent for key, parent, _ in positions})
    stays = dict(
        Installation.objects.filter(position__in=wanted, removed_edtf="", temporary=False).values_list(
            "position", "part"
        )
    )
    readable = readable_parts(user).in_bulk(list(stays.values()))
    found = [readable[stays[key]] for key, _, _ in positions if key in stays and stays[key] in readable]
    return found[:MOST_PARTS]


def _under(tops: set[str], parents: dict[str, str | None]) -> set[str]:
    found: set[str] = set()
    for key in parents:
        above, seen = parents[key], {key}
        while above and above not in seen:
            if above in tops:
                found.add(key)
                break
            seen.add(above)
            above = parents.get(above)
    return found
