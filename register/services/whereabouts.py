"""Where parts are: the latest movement of each, what lies with what, what is due back, what has not been seen."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from register.fabric.dates import AS_BUILT, span_of
from register.models import (
    Assessment,
    Citation,
    Installation,
    Movement,
    Part,
    Photograph,
    Place,
    Position,
    Treatment,
)
from register.policy import may

Latest = Mapping[str, Movement]
"""The latest movement of each part that has one, by the part's key."""


def latest_movements() -> dict[str, Movement]:
    """In one query. By best day, then by the order of recording, as the rules of the register have it."""
    found: dict[str, Movement] = {}
    rows = Movement.objects.select_related("part", "place", "with_part")
    for row in sorted(rows, key=lambda one: (len(one.key), one.key)):
        known = found.get(row.part_id)
        if known is None or _best(row.moved_on_edtf) >= _best(known.moved_on_edtf):
            found[row.part_id] = row
    return found


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """movement: the part's own latest one. place_id: where that leads to through all that it lies with, "" if not known."""

    movement: Movement
    place_id: str
    place_name: str

    @property
    def is_known(self) -> bool:
        return bool(self.place_id or self.movement.with_part_id)


def whereabouts_of(part: str, latest: Latest) -> Whereabouts | None:
    """None where no movement of the part is recorded: it is where it belongs, as far as anybody wrote down."""
    own = latest.get(part)
    if own is None:
        return None
    end, passed = own, {part}
    while end.with_part_id and end.with_part_id in latest and end.with_part_id not in passed:
        passed.add(end.with_part_id)
        end = latest[end.with_part_id]
    return Whereabouts(own, end.place_id or "", end.place.name if end.place else "")


def parts_at(place: str, latest: Latest, user: Any) -> list[Whereabouts]:
    """What is in a place now, by itself or with something that is, as far as the person may know of it."""
    return parts_in([place], latest, user)


def parts_in(places: Sequence[str], latest: Latest, user: Any) -> list[Whereabouts]:
    """The same of several places, in their order, and of each by the parts' ids."""
    order = {place: number for number, place in enumerate(places)}
    found = [whereabouts_of(part, latest) for part in latest]
    here = [one for one in found if one is not None and one.place_id in order]
    return sorted(readable(here, user), key=lambda one: (order[one.place_id], one.movement.part_id))


def walk_of(place: Place) -> list[Place]:
    """The place and every place inside it, in the order in which somebody walks round: each before what is in it."""
    inside: dict[str | None, list[Place]] = defaultdict(list)
    for one in Place.objects.order_by("key"):
        inside[one.parent_id].append(one)
    found: list[Place] = []
    waiting = [place]
    while waiting:
        one = waiting.pop()
        found.append(one)
        waiting.extend(reversed(inside.pop(one.key, [])))
    return found


def readable(rows: Iterable[Whereabouts], user: Any) -> list[Whereabouts]:
    if may(user, "read what is restricted"):
        return list(rows)
    return [one for one in rows if one.movement.part.access == "public"]


def lying_with(part: str, latest: Latest) -> list[str]:
    """Parts that lie with it, directly or through another: they go wherever it goes."""
    on: dict[str, list[str]] = defaultdict(list)
    for key, row in latest.items():
        if row.with_part_id:
            on[row.with_part_id].append(key)
    found: list[str] = []
    waiting = [part]
    while waiting:
        for key in on.pop(waiting.pop(), ()):
            if key != part and key not in found:
                found.append(key)
                waiting.append(key)
    return found


def fitted_below(part: str) -> list[Part]:
    """Parts fitted in the positions under those that the part itself is fitted in: what is on a boiler."""
    own = Installation.objects.filter(part=part, removed_edtf="", temporary=False).select_related("position")
    tops = {row.position_id: row.position.vehicle_id for row in own}
    below: set[str] = set(tops)
    children: dict[str | None, list[str]] = defaultdict(list)
    for key, parent in Position.objects.filter(vehicle__in=set(tops.values())).values_list("key", "parent_id"):
        children[parent].append(key)
    waiting = list(tops)
    while waiting:
        for key in children.pop(waiting.pop(), ()):
            below.add(key)
            waiting.append(key)
    rows = Installation.objects.filter(position__in=below - set(tops), removed_edtf="").select_related("part")
    return sorted({row.part for row in rows if row.part_id != part}, key=lambda one: one.key)


# --- lists ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Away:
    where: Whereabouts
    is_overdue: bool


def due_back(latest: Latest, today: int, user: Any) -> list[Away]:
    """What is to come back, the longest overdue first. Overdue: the last day that "due back" can mean is past."""
    found = [whereabouts_of(part, latest) for part, row in latest.items() if row.due_back_edtf]
    away = [
        Away(one, span_of(one.movement.due_back_edtf).latest < today)
        for one in readable([one for one in found if one], user)
    ]
    return sorted(away, key=lambda one: (span_of(one.where.movement.due_back_edtf), one.where.movement.part_id))


@dataclass(frozen=True, slots=True)
class StandIn:
    """An installation marked temporary, and the part whose place it keeps (None: the position has no other)."""

    installation: Installation
    keeps_place_of: Part | None
    where: Whereabouts | None


def stand_ins(latest: Latest, user: Any) -> list[StandIn]:
    """Every stand-in that is still fitted."""
    rows = Installation.objects.filter(temporary=True, removed_edtf="").select_related("position__vehicle", "part")
    if not may(user, "read what is restricted"):
        rows = rows.filter(part__access="public")
    belongs: dict[str, Part] = {}
    positions = [row.position_id for row in rows]
    others = Installation.objects.filter(position__in=positions, temporary=False, removed_edtf="")
    for row in others.select_related("part"):
        if row.part.access == "public" or may(user, "read what is restricted"):
            belongs[row.position_id] = row.part
    return sorted(
        (
            StandIn(row, part, whereabouts_of(part.key, latest) if part else None)
            for row in rows
            for part in (belongs.get(row.position_id),)
        ),
        key=lambda one: (one.installation.position.vehicle_id, one.installation.position_id),
    )


@dataclass(frozen=True, slots=True)
class NotSeen:
    """day: the last day on which the records show that somebody had it before them, None for never. how: what they did."""

    part: Part
    day: int | None
    how: str


def not_seen_since(day: int, today: int, user: Any) -> list[NotSeen]:
    """Parts, disposed ones aside, that nobody is recorded to have seen on or after the day; the longest unseen first.

    Seen: moved, found at a stocktake, seen in place, fitted, taken out, photographed, a mark on it read, assessed, worked on. In a fixed number of
    queries; dates by their best day.
    """
    last: dict[str, tuple[int, str]] = {}
    for part, edtf, how in _sightings():
        best = _best(edtf)
        if best <= today and best > last.get(part, (-1, ""))[0]:
            last[part] = best, how
    parts = Part.objects.filter(disposal="none").order_by("key")
    if not may(user, "read what is restricted"):
        parts = parts.filter(access="public")
    found = [NotSeen(part, *last.get(part.key, (None, ""))) for part in parts]
    return sorted(
        (one for one in found if one.day is None or one.day < day), key=lambda one: (one.day or 0, one.part.key)
    )


def _sightings() -> Iterable[tuple[str, str, str]]:
    for part, edtf in Movement.objects.filter(Q(place__isnull=False) | Q(with_part__isnull=False)).values_list(
        "part_id", "moved_on_edtf"
    ):
        yield part, edtf, "moved or found"
    for part, *edtfs in Installation.objects.values_list("part_id", "seen_on_edtf", "fitted_edtf", "removed_edtf"):
        for edtf, how in zip(edtfs, ("seen in place", "fitted", "taken out"), strict=True):
            if edtf and edtf != AS_BUILT:
                yield part, edtf, how
    for part, edtf in Photograph.objects.exclude(part=None).exclude(taken_edtf="").values_list("part_id", "taken_edtf"):
        yield part, edtf, "photographed"
    read = Citation.objects.filter(source__kind="mark", supports=True).exclude(source__date_edtf="")
    for part, edtf in read.values_list("part_id", "source__date_edtf"):
        yield part, edtf, "a mark on it read"
    for part, edtf in Assessment.objects.values_list("part_id", "assessed_on_edtf"):
        yield part, edtf, "assessed"
    for part, edtf in Treatment.objects.values_list("part_id", "date_edtf"):
        if edtf != AS_BUILT:
            yield part, edtf, "worked on"


def _best(edtf: str) -> int:
    return span_of(edtf).best
