"""What a statement reads of the register: each table once, whatever the size, and what there is one of in the query of its
vehicle. The inputs of the figures are made of the same rows, so that a figure and what stands beside it cannot differ."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import Any

from django.db.models import F, OuterRef, QuerySet, Subquery

from register.fabric.inputs import VehicleInputs
from register.models import (
    Act,
    Assessment,
    Citation,
    Drawing,
    Event,
    Installation,
    Movement,
    Part,
    Position,
    ReferencePeriod,
    Treatment,
    User,
    Vehicle,
    VehiclePolicy,
)
from register.services.inputs import Labels, PartLabel, Period, PositionLabel, build
from register.services.vehicle_policies import LABELS as POLICY

DRAWING = ("name", "title", "svg", "regions")
BY = ("id", "username", "first_name", "last_name")
LAID_DOWN = {**{name: name for name in (*POLICY, "at")}, **{f"by_{name}": f"by__{name}" for name in BY}, "by_public": "by__person__public_as"}
"""What is read of a policy: by the name that the vehicle has it under, the column."""


def with_what_there_is_one_of(vehicles: QuerySet[Vehicle]) -> QuerySet[Vehicle]:
    """Vehicles with the number of the last change, their first drawing and their policy: ``change_no_of``, ``drawing_of``,
    ``policy_of``."""
    drawings = Drawing.objects.filter(vehicle=OuterRef("key")).order_by("name")
    policies = VehiclePolicy.objects.filter(vehicle=OuterRef("key")).order_by("-pk")
    return vehicles.annotate(
        last_change_no=Subquery(Act.objects.order_by("-change_no").values("change_no")[:1]),
        **{f"drawing_{name}": Subquery(drawings.values(name)[:1]) for name in DRAWING},
        **{f"policy_{name}": Subquery(policies.values(column)[:1]) for name, column in LAID_DOWN.items()},
    )


def change_no_of(vehicle: Vehicle) -> int:
    """Of the last act of the register."""
    return int(getattr(vehicle, "last_change_no", None) or 0)


def drawing_of(vehicle: Vehicle) -> Drawing | None:
    """The first drawing; not stored anew."""
    told = {name: getattr(vehicle, f"drawing_{name}", None) for name in DRAWING}
    return Drawing(vehicle=vehicle, **told) if told["name"] else None


def policy_of(vehicle: Vehicle) -> VehiclePolicy | None:
    """The policy that counts, with who laid it down (``said_by``: as he or she may be called); not stored anew."""
    told = {name: getattr(vehicle, f"policy_{name}", None) for name in LAID_DOWN}
    if told["at"] is None:
        return None
    by = User(**{name: told[f"by_{name}"] for name in BY})
    found = VehiclePolicy(vehicle=vehicle.key, by=by, at=told["at"], **{name: told[name] for name in POLICY})
    found.said_by = told["by_public"] or ""  # type: ignore[attr-defined]
    return found


class StatementRows:
    """The rows about one vehicle (its key), read when they are first asked for."""

    def __init__(self, vehicle: str) -> None:
        self.vehicle = vehicle
        self._here = Installation.objects.filter(position__vehicle=vehicle).values("part")

    @cached_property
    def periods(self) -> list[ReferencePeriod]:
        return list(ReferencePeriod.objects.filter(vehicle=self.vehicle))

    @cached_property
    def positions(self) -> dict[str, Position]:
        """Of the vehicle, by key."""
        return {one.key: one for one in Position.objects.filter(vehicle=self.vehicle)}

    @cached_property
    def all_stays(self) -> list[Installation]:
        """Every installation in a position in which a part of the vehicle has ever been, with its part. Each knows
        ``of_vehicle`` and ``of_built``: the vehicle of its position, and when that was built."""
        places = Installation.objects.filter(part__in=self._here).values("position")
        found = Installation.objects.filter(position__in=places).select_related("part")
        return list(
            found.annotate(of_vehicle=F("position__vehicle_id"), of_built=F("position__vehicle__built_edtf"))
        )

    @cached_property
    def stays(self) -> list[Installation]:
        """In positions of the vehicle."""
        return [one for one in self.all_stays if one.of_vehicle == self.vehicle]  # type: ignore[attr-defined]

    @cached_property
    def parts(self) -> dict[str, Part]:
        """That were ever in the vehicle, by key."""
        return {one.part_id: one.part for one in self.stays}

    @cached_property
    def assessments(self) -> list[Assessment]:
        """Accepted ones, the oldest first."""
        found = Assessment.objects.filter(part__in=self._here, state="accepted")
        return list(found.select_related("assessor", "original_to").order_by("assessed_on_edtf"))

    @cached_property
    def treatments(self) -> list[Treatment]:
        return list(Treatment.objects.filter(part__in=self._here))

    @cached_property
    def citations(self) -> list[Citation]:
        return list(Citation.objects.filter(part__in=self._here).select_related("source"))

    @cached_property
    def events(self) -> list[Event]:
        return list(Event.objects.filter(vehicle=self.vehicle).select_related("source", "holder"))

    @cached_property
    def movements(self) -> dict[str, list[Movement]]:
        """By part."""
        found: dict[str, list[Movement]] = {}
        for one in Movement.objects.filter(part__in=self._here).select_related("place"):
            found.setdefault(one.part_id, []).append(one)
        return found

    def inputs(self, vehicle: Vehicle) -> tuple[VehicleInputs, Labels]:
        """As ``inputs_of_all`` gives them with rivals, in two queries more than the statement needs anyway."""
        periods = [Period(one.key, one.label, one.date_edtf, one.default, one.reason) for one in self.periods]
        labels = Labels(
            {one.key: PositionLabel(one.code, one.name, one.parent_id, one.safety) for one in self.positions.values()},
            {
                one.key: PartLabel(one.code, one.name, one.quantity, one.access, one.hazards)
                for one in self.parts.values()
            },
            periods,
        )
        inputs = build(
            (
                self.vehicle,
                vehicle.built_edtf,
                vehicle.empty_mass_low,
                vehicle.empty_mass_best,
                vehicle.empty_mass_high,
            ),
            [(one.label, one.date_edtf, one.default) for one in periods],
            [_position(one) for one in self.positions.values()],
            [_part(one) for one in self.parts.values()],
            self._installations(),
            [_assessment(one) for one in self.assessments],
            [_treatment(one) for one in self.treatments],
            [_citation(one) for one in self.citations],
        )
        return inputs, labels

    def _installations(self) -> Iterator[tuple[Any, ...]]:
        """Of the vehicle's parts, and of the others that have been in the same positions elsewhere, stand-ins aside."""
        for one in self.all_stays:
            if one.part_id in self.parts or not one.temporary:
                yield (
                    one.position_id,
                    one.part_id,
                    one.of_vehicle,  # type: ignore[attr-defined]
                    one.of_built,  # type: ignore[attr-defined]
                    one.fitted_edtf,
                    one.seen_on_edtf,
                    one.removed_edtf,
                    one.temporary,
                    one.visibility,
                )


def _position(one: Position) -> tuple[Any, ...]:
    ends = one.design_mass_low, one.design_mass, one.design_mass_high
    return (one.key, one.visibility, one.significance, one.wear_part, *ends)


def _part(one: Part) -> tuple[Any, ...]:
    return one.key, one.mass_low, one.mass, one.mass_high, one.disposal, one.disposal_date_edtf


def _assessment(one: Assessment) -> tuple[Any, ...]:
    ends = one.fraction_low, one.fraction, one.fraction_high
    return (one.part_id, one.assessed_on_edtf, one.status, one.original_to_id, one.original_since_edtf, *ends)


def _treatment(one: Treatment) -> tuple[Any, ...]:
    return one.part_id, one.date_edtf, one.replaced_low, one.replaced, one.replaced_high


def _citation(one: Citation) -> tuple[Any, ...]:
    source = one.source
    return one.part_id, one.source_id, one.supports, one.assessed_on_edtf, source.kind, source.date_edtf
