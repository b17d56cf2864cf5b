"""What the commands print with ``--json``: typed ids, ISO days, six decimals (exchange format, Commands)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import singledispatch

from register.fabric.change import Change
from register.fabric.figures import Figures, VehicleFigures
from register.fabric.rounding import to_six
from register.fabric.survey import Survey
from register.fabric.survival import Survival
from register.fabric.timeline import Timeline

Json = dict[str, object]


@dataclass(frozen=True, slots=True)
class TypedIds:
    """Ids as they were typed, by key. Each table's are apart: a vehicle and a part may share a key."""

    vehicle: str
    positions: Mapping[str, str]
    parts: Mapping[str, str]


@singledispatch
def as_json(answer: object, ids: TypedIds) -> Json:
    """The object for an answer of the core, its keys in the documented order."""
    raise TypeError(f"no JSON is defined for {type(answer).__name__}")


@as_json.register
def _(answer: VehicleFigures, ids: TypedIds) -> Json:
    whole = answer.whole_vehicle
    return {
        **arguments(answer, ids),
        **_figures(answer.whole),
        "by_visibility": {visibility: _figures(seen) for visibility, seen in answer.by_visibility.items()},
        "whole_vehicle": None
        if whole is None
        else {
            "low": number(whole.low),
            "high": number(whole.high),
            "mass_accounted_for": number(whole.mass_accounted_for),
        },
    }


@as_json.register
def _(answer: Survival, ids: TypedIds) -> Json:
    return {
        "vehicle": ids.vehicle,
        "as_at": iso(answer.day),
        "reference": answer.reference.label,
        "basis": answer.basis,
        "include_wear": answer.include_wear,
        "inventory": answer.inventory,
        "unweighted": answer.unweighted,
        "weight": number(answer.weight),
        "low": number(answer.low),
        "high": number(answer.high),
        "shares": {share: number(value) for share, value in answer.shares.items()},
    }


@as_json.register
def _(answer: Timeline, ids: TypedIds) -> Json:
    return {
        "vehicle": ids.vehicle,
        "reference": answer.reference.label,
        "basis": answer.basis,
        "include_wear": answer.include_wear,
        "steps": [
            {
                "from": iso(step.start),
                "best": number(step.level.best),
                "low": number(step.level.low),
                "high": number(step.level.high),
                "assessed_share": number(step.level.assessed_share),
                "weight": number(step.level.weight),
                "recorded": step.recorded,
            }
            for step in answer.steps
        ],
    }


@as_json.register
def _(answer: Survey, ids: TypedIds) -> Json:
    return {
        **arguments(answer.answer, ids),
        "width": number(answer.width),
        "parts": [
            {
                "position_id": ids.positions[one.position],
                "part_id": None if one.part is None else ids.parts[one.part],
                "gain": number(one.gain),
                "why": one.why,
            }
            for one in answer.parts
        ],
    }


@as_json.register
def _(answer: Change, ids: TypedIds) -> Json:
    return {
        "vehicle": ids.vehicle,
        "from": iso(answer.before.day),
        "to": iso(answer.after.day),
        "basis": answer.basis,
        "total": number(answer.total),
        "work": number(answer.work),
        "knowledge": number(answer.knowledge),
        "parts": [
            {"part_id": ids.parts[one.part], "work": number(one.work), "knowledge": number(one.knowledge)}
            for one in answer.parts
        ],
    }


def arguments(answer: VehicleFigures, ids: TypedIds) -> Json:
    """The question that was asked."""
    return {
        "vehicle": ids.vehicle,
        "as_at": iso(answer.day),
        "reference": answer.reference.label,
        "reference_date": answer.reference.edtf,
        "basis": answer.basis,
        "evidence_floor": answer.evidence_floor,
        "visibility": answer.visibility,
        "include_wear": answer.include_wear,
    }


def number(value: Fraction | float | None) -> float | None:
    return None if value is None else to_six(value)


def iso(day: int) -> str:
    return date.fromordinal(day).isoformat()


def _figures(figures: Figures) -> Json:
    return {
        "best": number(figures.best),
        "low": number(figures.low),
        "high": number(figures.high),
        "likely_low": number(figures.likely_low),
        "likely_high": number(figures.likely_high),
        "assessed_share": number(figures.assessed_share),
        "items": figures.items,
        "wear": figures.wear,
        "temporary": figures.temporary,
        "unweighted": figures.unweighted,
        "assumed": figures.assumed,
        "no_best": figures.no_best,
        "weight": number(figures.weight),
        "composition": {category: number(share) for category, share in figures.composition.items()},
    }
