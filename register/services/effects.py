"""What a change set would do to the figures: the same computation over the register as it is and as it would be.

A preview equals its result because both are ``inputs_from`` an overlay that is what ``apply`` writes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.db.models import Q

from register.documents.figure_view import FigureView, figure_view
from register.exchange.faults import Fault
from register.exchange.overlay import Conflict, Overlaid, overlay
from register.exchange.records import Change, Register
from register.fabric.figures import VehicleFigures, figures_on
from register.fabric.inputs import BASES, Reference, VehicleInputs
from register.models import Citation, Installation
from register.services.inputs import inputs_from, reference_named
from register.services.loading import Scope, load_register, scope_of


@dataclass(frozen=True, slots=True)
class Effect:
    """On one vehicle. before: figures by basis, None where the vehicle is new; after likewise, None where it goes."""

    key: str
    name: str
    day: date
    reference: Reference
    before: Mapping[str, VehicleFigures] | None
    after: Mapping[str, VehicleFigures] | None

    def views(self, basis: str) -> tuple[FigureView | None, FigureView | None]:
        """The figures in words, before and after."""
        return (
            figure_view(self.before[basis]) if self.before else None,
            figure_view(self.after[basis]) if self.after else None,
        )

    @property
    def narrowing(self) -> Fraction | None:
        """By how many points the mass bounds draw together: the whole vehicle's where she has them. None where there
        are none to compare."""
        if not self.before or not self.after:
            return None
        ends = [
            (one.whole_vehicle.low, one.whole_vehicle.high)
            if one.whole_vehicle
            else (one.whole.low, one.whole.high)
            for one in (self.before["mass"], self.after["mass"])
        ]
        widths = [high - low for low, high in ends if low is not None and high is not None]
        return widths[0] - widths[1] if len(widths) == 2 else None


@dataclass(frozen=True, slots=True)
class Effects:
    """vehicles: those whose figures rest on something that changes. result: the overlay, with its faults; what is in
    ``conflicts`` was changed since the author saw it, and the figures are those with the change set's own values."""

    result: Overlaid
    before: Register
    vehicles: tuple[Effect, ...]
    conflicts: tuple[Conflict, ...] = ()

    @property
    def faults(self) -> list[Fault]:
        return self.result.faults

    @property
    def narrowing(self) -> Fraction | None:
        found = [one.narrowing for one in self.vehicles if one.narrowing is not None]
        return max(found, key=abs) if found else None


@dataclass(frozen=True, slots=True)
class Question:
    """A change set to be looked at. base_no: the change_no that its author saw."""

    changes: Sequence[Change]
    base_no: int | None = None


def effect_of(changes: Sequence[Change], *, day: date, base_no: int | None = None) -> Effects:
    """What applying the changes now would do. Writes nothing."""
    return effects_of([Question(changes, base_no)], day=day)[0]


def effects_of(questions: Sequence[Question], *, day: date) -> list[Effects]:
    """Each by itself over the same register, read once: as many queries for fifty as for one."""
    scope = Scope()
    for question in questions:
        _add(scope, scope_of(question.changes))
    _to_whole_vehicles(scope)
    register = load_register(scope)
    known: dict[str, VehicleInputs] = {}
    return [_effect(register, question, day, scope.vehicles, known) for question in questions]


def _add(scope: Scope, other: Scope) -> None:
    scope.vehicles |= other.vehicles
    scope.parts |= other.parts
    for name, keys in other.keys.items():
        scope.keys[name] = scope.keys.get(name, set()) | keys


def _to_whole_vehicles(scope: Scope) -> None:
    """Everything that a figure of a concerned vehicle rests on: all that was ever in it, and wherever that has been."""
    if scope.keys.get("sources"):
        scope.parts |= set(
            Citation.objects.filter(source__in=scope.keys["sources"]).values_list("part", flat=True)
        )
    stays = Installation.objects.filter(Q(part__in=scope.parts) | Q(position__vehicle__in=scope.vehicles))
    scope.vehicles |= set(stays.values_list("position__vehicle", flat=True))
    here = Installation.objects.filter(position__vehicle__in=scope.vehicles).values("part")
    scope.vehicles |= set(
        Installation.objects.filter(part__in=here).values_list("position__vehicle", flat=True)
    )


def _effect(
    register: Register, question: Question, day: date, concerned: set[str], known: dict[str, VehicleInputs]
) -> Effects:
    result = overlay(register, question.changes, base_no=question.base_no, keep="file")
    conflicts = (
        overlay(register, question.changes, base_no=question.base_no).conflicts
        if question.base_no is not None
        else ()
    )
    vehicles = [] if result.faults else list(_changed(register, result, concerned, known))
    return Effects(
        result,
        register,
        tuple(_on(result.register, key, before, after, day) for key, before, after in vehicles),
        tuple(conflicts),
    )


def _changed(
    register: Register, result: Overlaid, concerned: set[str], known: dict[str, VehicleInputs]
) -> Iterator[tuple[str, VehicleInputs | None, VehicleInputs | None]]:
    for key in sorted({*concerned, *result.created.get("vehicles", ())}):
        here = key in register.tables["vehicles"]
        if here and key not in known:
            known[key] = inputs_from(register, key)
        before = known.get(key) if here else None
        after = inputs_from(result.register, key) if key in result.register.tables["vehicles"] else None
        if before != after:
            yield key, before, after


def _on(
    register: Register, key: str, before: VehicleInputs | None, after: VehicleInputs | None, day: date
) -> Effect:
    either = after or before
    assert either is not None
    reference = reference_named(either, None)
    row = register.tables["vehicles"].get(key)
    return Effect(
        key,
        str(row["name"]) if row else key,
        day,
        reference,
        _figures(before, reference, day),
        _figures(after, reference, day),
    )


def _figures(
    inputs: VehicleInputs | None, reference: Reference, day: date
) -> Mapping[str, VehicleFigures] | None:
    if inputs is None:
        return None
    own = next((one for one in inputs.references if one.label == reference.label), None)
    if own is None:
        own = reference_named(inputs, None)
    return figures_on(inputs, day=day.toordinal(), reference=own, bases=BASES)
