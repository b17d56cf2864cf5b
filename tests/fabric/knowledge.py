"""Registers that know everything, that have forgotten something, or that have learned one thing more."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from register.fabric.dates import Span
from register.fabric.inputs import Assessment, Installation, Treatment, VehicleInputs
from register.fabric.interval import MILLION, Interval
from tests.fabric.random_registers import FIRST, HERE, LAST, agree, in_order, register_of


def all_known(dice: Random) -> VehicleInputs:
    """Every date, mass, status and fraction exact; a treatment only where it alone gives the fraction."""
    inputs = register_of(dice)
    stays: list[Installation] = []
    for one in inputs.installations:
        exact = replace(one, fitted=_exactly(one.fitted), removed=one.removed and _exactly(one.removed))
        if in_order(exact) and all(agree(exact, other) for other in stays):
            stays.append(exact)
    assessments = {
        key: _known_exactly(inputs.assessments.get(key, Assessment(key, FIRST, "original", HERE)), inputs)
        for key in inputs.parts
    }
    treatments = {
        key: tuple(
            replace(one, span=_exactly(one.span), replaced=_point(one.replaced)) for one in several[:1]
        )
        for key, several in inputs.treatments.items()
    }
    return replace(
        inputs,
        installations=tuple(stays),
        treatments=treatments,
        assessments=assessments,
        parts={
            key: replace(one, mass=_point(one.mass or Interval.exactly(7)))
            for key, one in inputs.parts.items()
        },
        positions={key: replace(one, grade=one.grade or 2) for key, one in inputs.positions.items()},
    )


def _exactly(span: Span) -> Span:
    return Span(span.best, span.best, span.best)


def _point(one: Interval) -> Interval:
    return Interval.exactly(one.best or 0)


def _known_exactly(one: Assessment, inputs: VehicleInputs) -> Assessment:
    fraction = None if one.part in inputs.treatments or one.fraction is None else _point(one.fraction)
    return replace(one, day=FIRST, original_since=None, fraction=fraction)


def forgotten(inputs: VehicleInputs, dice: Random) -> VehicleInputs:
    """The register with some of its knowledge taken away: each value it had is among those still possible."""

    def longer(one: Span) -> Span:
        if dice.random() < 0.5:
            return one
        return Span.between(one.earliest - dice.randint(0, 9), one.latest + dice.randint(0, 9))

    def wider(one: Interval, most: int) -> Interval:
        down, up = (dice.randint(0, 5) * most // 40 for _ in range(2))
        low, high = max(0, one.low - down), min(most, one.high + up)
        return Interval(low, (low + high) // 2, high)

    return replace(
        inputs,
        installations=tuple(
            replace(one, fitted=longer(one.fitted), removed=one.removed and longer(one.removed))
            for one in inputs.installations
        ),
        assessments={
            key: replace(one, fraction=one.fraction and wider(one.fraction, MILLION))
            for key, one in inputs.assessments.items()
            if dice.random() < 0.7
        },
        parts={key: replace(one, mass=one.mass and wider(one.mass, 60)) for key, one in inputs.parts.items()},
        treatments={
            key: tuple(
                replace(one, span=longer(one.span), replaced=wider(one.replaced, MILLION)) for one in several
            )
            for key, several in inputs.treatments.items()
        },
    )


def settled(inputs: VehicleInputs, dice: Random) -> VehicleInputs | None:
    """The register with one thing known better: a mass, a fraction, a share replaced, a status, a date. None where
    there is no such thing in it, or where the rules would refuse it."""
    kind = dice.choice(["mass", "fraction", "replaced", "treated", "status", "fitted", "removed"])
    if kind in ("fitted", "removed"):
        return _dated(inputs, dice, kind)
    key = dice.choice(list(inputs.parts)) if inputs.parts else ""
    if kind in ("replaced", "treated"):
        return _treated(inputs, dice, key, kind)
    part, known = inputs.parts.get(key), inputs.assessments.get(key)
    if kind == "mass" and part is not None and part.mass is not None:
        return replace(inputs, parts=dict(inputs.parts) | {key: replace(part, mass=within(part.mass, dice))})
    if kind == "fraction" and known is not None and known.fraction is not None:
        known = replace(known, fraction=within(known.fraction, dice))
    elif kind == "status" and part is not None and known is None:
        known = Assessment(key, dice.randint(FIRST, LAST), dice.choice(["original", "replica"]), HERE)
    else:
        return None
    return replace(inputs, assessments=dict(inputs.assessments) | {key: known})


def _treated(inputs: VehicleInputs, dice: Random, key: str, kind: str) -> VehicleInputs | None:
    if key not in inputs.treatments:
        return None
    first, *rest = inputs.treatments[key]
    better: Treatment = (
        replace(first, replaced=within(first.replaced, dice))
        if kind == "replaced"
        else replace(first, span=shorter(first.span, dice))
    )
    return replace(inputs, treatments=dict(inputs.treatments) | {key: (better, *rest)})


def _dated(inputs: VehicleInputs, dice: Random, kind: str) -> VehicleInputs | None:
    if not inputs.installations:
        return None
    chosen = dice.choice(inputs.installations)
    span = chosen.fitted if kind == "fitted" else chosen.removed
    if span is None:
        return None
    better = replace(chosen, **{kind: shorter(span, dice)})
    others = tuple(one for one in inputs.installations if one is not chosen)
    if not in_order(better) or not all(agree(better, other) for other in others):
        return None
    return replace(inputs, installations=(*others, better))


def shorter(one: Span, dice: Random) -> Span:
    earliest, latest = sorted(
        dice.randint(max(one.earliest, FIRST - 5), min(one.latest, LAST + 5)) for _ in range(2)
    )
    return Span.between(earliest, latest)


def within(one: Interval, dice: Random) -> Interval:
    return Interval(*sorted(dice.randint(one.low, one.high) for _ in range(3)))
