"""Which vehicles an act concerns, and so which of what was worked out before still holds.

A vehicle is concerned by every change of her own records, of those of the parts that were ever in her, of the sources
of both, and of any vehicle with which she has shared a part: what was in the same place elsewhere, and when that
vehicle was built, bear on when the part was where. People and places are named everywhere: they concern every vehicle.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Iterator

from django.db.models import OuterRef, QuerySet, Subquery

from register.exchange.overlay import Overlaid
from register.exchange.records import Register, Row
from register.exchange.schema import ORDER
from register.models import Citation, Event, Installation, Photograph, Position, Vehicle, VehicleVersion

EVERY = ""
MANY = 500
"""Changed rows from which on every vehicle is taken to be concerned, rather than going through them."""

OF_VEHICLE = ("reference_periods", "positions", "events", "photographs")
OF_PART = ("installations", "assessments", "treatments", "citations", "movements", "events", "photographs")
OF_ALL = ("people", "places")

Version = tuple[uuid.UUID, uuid.UUID | None]


def with_version(vehicles: QuerySet[Vehicle]) -> QuerySet[Vehicle]:
    """Vehicles that know, from the same query, which version of their records is the present one: ``version_of``."""
    versions = VehicleVersion.objects.values("version")
    return vehicles.annotate(
        version_of_all=Subquery(versions.filter(vehicle=EVERY)),
        version_of_own=Subquery(versions.filter(vehicle=OuterRef("key"))),
    )


def version_of(vehicle: Vehicle) -> Version | None:
    """Of one of ``with_version``; None where nothing may be kept, since nothing says when it would be stale."""
    every: uuid.UUID | None = getattr(vehicle, "version_of_all", None)
    return None if every is None else (every, getattr(vehicle, "version_of_own", None))


def renew_versions(result: Overlaid, before: Register) -> None:
    """After the rows of an act are written, and before anybody can read them."""
    changed = list(_changed(result, before))
    everywhere = len(changed) > MANY or any(name in OF_ALL for name, _ in changed)
    concerned = {EVERY} if everywhere else _concerned(changed)
    if concerned:
        VehicleVersion.objects.bulk_create(
            [VehicleVersion(vehicle=key) for key in sorted(concerned)],
            update_conflicts=True,
            unique_fields=["vehicle"],
            update_fields=["version"],
        )
        VehicleVersion.objects.bulk_create([VehicleVersion(vehicle=EVERY)], ignore_conflicts=True)


def _changed(result: Overlaid, before: Register) -> Iterator[tuple[str, Row]]:
    """Every row that is new, changed or struck out; a changed one as it was, too."""
    after = result.register
    for name in ORDER:
        for keys, register in (
            (result.created.get(name, ()), after),
            (result.updated.get(name, ()), after),
            (result.updated.get(name, ()), before),
            (result.struck.get(name, ()), before),
        ):
            for key in keys:
                yield name, register.tables[name][key]


def _concerned(changed: Iterable[tuple[str, Row]]) -> set[str]:
    vehicles: set[str] = set()
    parts: set[str] = set()
    positions: set[str] = set()
    sources: set[str] = set()
    for name, row in changed:
        if name in OF_VEHICLE and row["vehicle_id"]:
            vehicles.add(row["vehicle_id"])
        if name in OF_PART and row["part_id"]:
            parts.add(row["part_id"])
        if name == "installations":
            positions.add(row["position_id"])
        if name in ("vehicles", "parts", "sources"):
            {"vehicles": vehicles, "parts": parts, "sources": sources}[name].add(row["_key"])
    if sources:
        parts |= set(Citation.objects.filter(source__in=sources).values_list("part", flat=True))
        for model in (Event, Photograph):
            for vehicle, part in model.objects.filter(source__in=sources).values_list("vehicle", "part"):
                vehicles |= {vehicle} if vehicle else set()
                parts |= {part} if part else set()
    if positions:
        vehicles |= set(Position.objects.filter(key__in=positions).values_list("vehicle", flat=True))
    if parts:
        vehicles |= set(
            Installation.objects.filter(part__in=parts).values_list("position__vehicle", flat=True)
        )
    if vehicles:
        shared = Installation.objects.filter(position__vehicle__in=vehicles).values("part")
        met = Installation.objects.filter(part__in=shared).values_list("position__vehicle", flat=True)
        vehicles |= set(met.distinct())
    return vehicles
