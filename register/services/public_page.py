"""What a visitor reads of a vehicle."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.db.models import Q

from register.exchange.records import Register, Row
from register.fabric.dates import AS_BUILT, span_of
from register.fabric.figures import VehicleFigures, figures
from register.fabric.inputs import VehicleInputs
from register.models import ChangeSet, Photograph, Vehicle
from register.models.change_set import OPEN
from register.policy import may
from register.services.inputs import inputs_of, reference_named
from register.services.loading import Scope, load_register
from register.services.public import NOT_PUBLISHED, public_register


@dataclass(frozen=True, slots=True)
class Told:
    """A part that a visitor may read of."""

    name: str
    status: str
    material: str
    made: str
    note: str
    visibility: str
    more: int = 0


@dataclass(frozen=True, slots=True)
class PublicPage:
    vehicle: Vehicle
    inputs: VehicleInputs
    figures: VehicleFigures
    told: list[Told]
    modern: list[Told]
    events: list[Row]
    photographs: list[Row]
    day: date


def public_vehicles() -> list[Vehicle]:
    return sorted(Vehicle.objects.filter(published=True), key=lambda one: one.key)


def public_vehicle_page(key: str, day: date) -> PublicPage | None:
    """The page of a published vehicle; None for any other. The figures are those of the whole vehicle, its restricted
    parts included: they say how much, never which."""
    vehicle = Vehicle.objects.filter(key=key, published=True).first()
    if vehicle is None:
        return None
    inputs = inputs_of(key)
    found = figures(inputs, day=day.toordinal(), reference=reference_named(inputs, None), basis="mass")
    public = public_register(load_register(Scope({key}, set())))
    told = [_told(public, row) for row in sorted(found.rows, key=lambda one: one.position)]
    shown = _grouped([one for one in told if one is not None])
    return PublicPage(
        vehicle,
        inputs,
        found,
        [one for one in shown if one.note and one.status != "modern substitute"],
        [one for one in shown if one.status == "modern substitute"],
        sorted(
            (row for row in public.tables["events"].values() if row["vehicle_id"] == key),
            key=lambda row: _best_day(row, vehicle),
        ),
        [
            row | {"original": row["_sha256"]}
            for row in public.tables["photographs"].values()
            if row["vehicle_id"] == key
        ],
        day,
    )


def _grouped(told: list[Told]) -> list[Told]:
    """Parts of which the same is told, as one entry each: the first one's name, and how many more."""
    groups: dict[tuple[str, str, str], list[Told]] = {}
    for number, one in enumerate(told):
        groups.setdefault((one.status, one.visibility, one.note or str(number)), []).append(one)
    return [replace(group[0], more=len(group) - 1) for group in groups.values()]


def _best_day(row: Row, vehicle: Vehicle) -> int:
    edtf = row["date"].edtf
    return span_of(vehicle.built_edtf if edtf == AS_BUILT else edtf).best


def _told(public: Register, row: Any) -> Told | None:
    part = public.tables["parts"].get(row.part or "")
    if part is None or part["name"] == NOT_PUBLISHED:
        return None
    return Told(
        part["name"],
        row.status,
        part["material"] or "",
        part["made"].text if part["made"] else "",
        part["public_note"] or "",
        row.visibility,
    )


def photograph_is_public(sha256: str) -> bool:
    """Whether some photograph with these bytes is of a published vehicle, of a public part in one, or of a public
    source, and is itself public."""
    of_vehicle = Q(vehicle__isnull=True) | Q(vehicle__published=True)
    of_part = Q(part__isnull=True) | Q(
        part__access="public", part__installations__position__vehicle__published=True
    )
    of_source = Q(source__isnull=True) | Q(source__access="public")
    of_something = Q(vehicle__isnull=False) | Q(part__isnull=False) | Q(source__isnull=False)
    return Photograph.objects.filter(
        of_vehicle, of_part, of_source, of_something, sha256=sha256, access="public"
    ).exists()


def photograph_may_be_seen(user: Any, sha256: str) -> bool:
    """Whether a signed-in person may see a photograph: restricted ones, and those of restricted parts and sources, only
    where he or she may read what is restricted; those that wait for review, whoever handed them in or reviews."""
    if not may(user, "read the register"):
        return False
    waiting = ChangeSet.objects.filter(state__in=OPEN, changes__icontains=sha256)
    if (waiting if may(user, "review") else waiting.filter(author=user)).exists():
        return True
    if may(user, "read what is restricted"):
        return Photograph.objects.filter(sha256=sha256).exists()
    of_part = Q(part__isnull=True) | Q(part__access="public")
    of_source = Q(source__isnull=True) | Q(source__access="public")
    return Photograph.objects.filter(of_part, of_source, sha256=sha256, access="public").exists()
