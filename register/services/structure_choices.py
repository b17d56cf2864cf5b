"""What a form of structure suggests: a few rows of the register, nearest first, in a fixed number of queries."""

from __future__ import annotations

from typing import NamedTuple

from django.db.models import Case, IntegerField, Q, QuerySet, Value, When

from register.models import Installation, Part, Place, Position

MANY = 200
"""Suggestions at most: a list to choose from, not the register. Whatever is not in it can be typed."""

Choice = tuple[str, str]
"""(id, words)"""


class Standing(NamedTuple):
    """Where a part is fitted now, stand-ins aside, and what is on it: (id, name) of each, those higher up
    first. position: None where it is in none, or in several."""

    position: Position | None
    on_it: list[Choice]
    places: list[Choice]


def standing_of(part: Part) -> Standing:
    """places: the positions directly below that of the part."""
    open_ones = list(_fitted().filter(part=part).select_related("position__vehicle"))
    if len(open_ones) != 1:
        return Standing(None, [], [])
    position = open_ones[0].position
    tree = Position.objects.filter(vehicle=position.vehicle_id).order_by("key")
    children: dict[str | None, list[Position]] = {}
    for one in tree:
        children.setdefault(one.parent_id, []).append(one)
    parts: dict[str, list[Choice]] = {}
    for row in (
        _fitted().filter(position__vehicle=position.vehicle_id).select_related("part").order_by("part")
    ):
        parts.setdefault(row.position_id, []).append((row.part.code, row.part.name))
    found: list[Choice] = []
    level = [position.key]
    while level:
        level = [one.key for key in level for one in children.get(key, ())]
        found += [part for key in level for part in parts.get(key, ())]
    below = [(one.code, one.name) for one in children.get(position.key, ()) if one.key not in parts]
    return Standing(position, found, below)


def empty_positions(near: Position | None) -> list[Choice]:
    """Positions in which nothing is fitted, those of the same vehicle first."""
    rows = Position.objects.exclude(key__in=_fitted().values("position")).select_related("vehicle")
    vehicle = near.vehicle_id if near else ""
    rows = rows.order_by(_first(Q(vehicle=vehicle)), "key")[:MANY]
    return [(one.code, f"{one.name}, {one.vehicle.full_name}") for one in rows]


def fitted_parts(part: Part, near: Position | None) -> list[Choice]:
    """Other parts that are fitted, those of the same name or in positions of the same name first."""
    alike = Q(part__name__iexact=part.name) | Q(position__name__iexact=near.name if near else "")
    rows = _fitted().exclude(part=part).select_related("part", "position__vehicle")
    rows = rows.order_by(_first(alike), "part")[:MANY]
    return [
        (one.part.code, f"{one.part.name}, in {one.position.name}, {one.position.vehicle.full_name}")
        for one in rows
    ]


def loose_parts(part: Part) -> list[Choice]:
    """Parts in no position and not disposed of, those of the same name first."""
    rows = Part.objects.filter(disposal="none").exclude(key__in=_fitted().values("part")).exclude(pk=part.pk)
    return _parts(rows, Q(name__iexact=part.name))


def parts_alike(part: Part) -> list[Choice]:
    """Parts that could be the same one: of its name, its marks or its material, those of its name first."""
    alike = Q(name__iexact=part.name) | Q(name__icontains=part.name)
    if part.marks:
        alike |= Q(marks__iexact=part.marks)
    return _parts(Part.objects.exclude(pk=part.pk).filter(alike), Q(name__iexact=part.name))


def parts_lying_about(part: Part) -> list[Choice]:
    """Parts that have been taken to some place: something may lie with them."""
    rows = Part.objects.filter(movements__place__isnull=False).exclude(pk=part.pk).distinct()
    return [(one.code, one.name) for one in rows.order_by("key")[:MANY]]


def all_places() -> list[Choice]:
    return [(one.code, one.name) for one in Place.objects.order_by("key")]


def places_above(position: Position) -> list[Choice]:
    """The positions of its vehicle under which it could be put: all but itself and those below it."""
    rows = list(Position.objects.filter(vehicle=position.vehicle_id).order_by("key"))
    children: dict[str | None, list[str]] = {}
    for one in rows:
        children.setdefault(one.parent_id, []).append(one.key)
    below, level = {position.key}, [position.key]
    while level:
        level = [key for above in level for key in children.get(above, ())]
        below |= set(level)
    return [(one.code, one.name) for one in rows if one.key not in below]


def _fitted() -> QuerySet[Installation, Installation]:
    """The installations that nothing has ended, stand-ins aside."""
    return Installation.objects.filter(removed_edtf="", temporary=False)


def _first(which: Q) -> Case:
    return Case(When(which, then=Value(0)), default=Value(1), output_field=IntegerField())


def _parts(rows: QuerySet[Part, Part], first: Q) -> list[Choice]:
    return [(one.code, one.name) for one in rows.order_by(_first(first), "key")[:MANY]]
