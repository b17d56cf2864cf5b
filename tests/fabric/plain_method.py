"""The method once more, sections 3 to 7, as plainly as its page says it: exact fractions, every corner, no sharing.

An oracle for the real thing, which is fast; nothing of the fabric package is called but its values. Masses are in
grams, fractions of 1. Surviving and original fractions are rounded to 1/10¹⁸ where the method divides or multiplies,
as the package documents it.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import floor, prod
from typing import Any, NamedTuple

from register.fabric.dates import Span
from register.fabric.inputs import Assessment, Installation, Reference, Treatment, VehicleInputs

ONE = 10**18
Triple = tuple[Fraction, Fraction | None, Fraction]
WHOLE: Triple = (Fraction(1), Fraction(1), Fraction(1))
ANYTHING: Triple = (Fraction(0), None, Fraction(1))


class Item(NamedTuple):
    position: str
    category: str
    weight: tuple[int, int | None, int] | None
    f: Triple
    s: Triple
    either_or: bool
    visibility: str
    assumed: bool
    wear: bool


def items(
    inputs: VehicleInputs, day: int, reference: Reference, basis: str, evidence_floor: int
) -> list[Item]:
    found = []
    for key in inputs.positions:
        possible = [one for one in inputs.installations if one.position == key and _possible(one, day)]
        possible = [one for one in possible if not _struck_out(inputs, one, day)]
        if possible:
            found.append(_item(inputs, key, possible, day, reference, basis, evidence_floor))
    return found


def _possible(one: Installation, day: int) -> bool:
    return (
        not one.temporary and one.fitted.earliest <= day and (one.removed is None or day < one.removed.latest)
    )


def _definite(one: Installation, day: int) -> bool:
    return (
        not one.temporary and one.fitted.latest <= day and (one.removed is None or day < one.removed.earliest)
    )


def _struck_out(inputs: VehicleInputs, one: Installation, day: int) -> bool:
    return any(
        other is not one
        and _definite(other, day)
        and (other.position == one.position or other.part == one.part)
        for other in inputs.installations
    )


def _item(
    inputs: VehicleInputs,
    key: str,
    possible: list[Installation],
    day: int,
    reference: Reference,
    basis: str,
    evidence_floor: int,
) -> Item:
    position = inputs.positions[key]
    best_ones = [
        one for one in possible if one.fitted.best <= day and (one.removed is None or day < one.removed.best)
    ]
    # Of two stays of one part that are alike so far, the earlier begun: the method is silent, the order must not tell.
    best = min(best_ones, key=lambda one: (-one.fitted.best, one.part, one.fitted)) if best_ones else None
    fabric = {one.part: _fabric(inputs, one.part, day, reference, evidence_floor) for one in possible}
    weight = {one.part: _weight(inputs, key, one.part, basis) for one in possible}
    certain = len(possible) == 1 and _definite(possible[0], day)
    seen = (best.visibility if best else "") or position.visibility
    assumed = basis == "mass" and any(
        inputs.parts[one.part].mass is None and weight[one.part] for one in possible
    )
    if certain:
        part = possible[0].part
        category, f, s, straddles = fabric[part]
        return Item(key, category, weight[part], f, s, straddles, seen, assumed, position.wear)
    weighed = {part: w for part, w in weight.items() if w is not None}
    if not weighed:
        return Item(key, "", None, ANYTHING, ANYTHING, True, seen, False, position.wear)
    with_best = best is not None and best.part in weighed
    category, f, s, _ = fabric[best.part] if with_best else ("", ANYTHING, ANYTHING, True)
    hull = (min(fabric[part][1][0] for part in weighed), f[1], max(fabric[part][1][2] for part in weighed))
    w = (0, weighed[best.part][1] if with_best else None, max(w[2] for w in weighed.values()))
    return Item(key, category, w, hull, s, True, seen, assumed, position.wear)


def _weight(inputs: VehicleInputs, key: str, part: str, basis: str) -> tuple[int, int | None, int] | None:
    position = inputs.positions[key]
    if basis == "count":
        return (1, 1, 1)
    if basis == "significance":
        return None if position.grade is None else (position.grade,) * 3
    mass = inputs.parts[part].mass or position.design_mass
    return None if mass is None else (mass.low, mass.best, mass.high)


def _shares(treatments: tuple[Treatment, ...], after: float, until: int) -> list[Triple]:
    shares = []
    for one in treatments:
        low, best, high = (
            Fraction(end or 0, 10**6) for end in (one.replaced.low, one.replaced.best, one.replaced.high)
        )
        if after < one.span.earliest and one.span.latest <= until:
            shares.append((low, best, high))
        elif one.span.earliest <= until and one.span.latest > after:
            shares.append((Fraction(0), best if after < one.span.best <= until else Fraction(0), high))
    return shares


def surviving(assessment: Assessment | None, treatments: tuple[Treatment, ...], day: int) -> Triple:
    if assessment is None:
        return ANYTHING
    given, since = WHOLE, float(assessment.day)
    if assessment.fraction is not None:
        given = tuple(
            Fraction(end or 0, 10**6)
            for end in (assessment.fraction.low, assessment.fraction.best, assessment.fraction.high)
        )
    elif assessment.status == "restored":
        since = float("-inf")
    if day >= since:
        shares = _shares(treatments, since, day)
        low = max(Fraction(0), given[0] - sum(share[2] for share in shares))
        best = _rounded(given[1] * prod(1 - share[1] for share in shares))
        return low, best, min(given[2], 1 - max((share[0] for share in shares), default=Fraction(0)))
    shares = _shares(treatments, float("-inf"), day)
    best = max(given[1], _rounded(prod((1 - share[1] for share in shares), start=Fraction(1))))
    return given[0], best, max(given[2], 1 - max((share[0] for share in shares), default=Fraction(0)))


def _fabric(
    inputs: VehicleInputs, part: str, day: int, reference: Reference, evidence_floor: int
) -> tuple[str, Triple, Triple, bool]:
    assessment, treatments = inputs.assessments.get(part), inputs.treatments.get(part, ())
    if assessment is None or assessment.strength < evidence_floor:
        return "not_assessed", ANYTHING, ANYTHING, False
    s, zero, last = surviving(assessment, treatments, day), (Fraction(0),) * 3, reference.span.latest
    if assessment.status in ("replica", "modern substitute"):
        return assessment.status.replace(" ", "_"), zero, s, False
    if assessment.original_to != inputs.vehicle.key:
        return "historic_from_elsewhere", zero, s, False
    since: Span = assessment.original_since or inputs.vehicle.built
    if since.earliest > last:
        return "later_historic", zero, s, False
    then = WHOLE if not reference.span.earliest > since.latest else surviving(assessment, treatments, last)
    f: Any = (s[0], _ratio(s[1], then[1]), _ratio(s[2], then[0])) if day > last else WHOLE
    if since.latest <= last:
        return "reference_fabric", f, s, False
    if since.best <= last:
        return "reference_fabric", (Fraction(0), f[1], f[2]), s, True
    return "later_historic", (Fraction(0), Fraction(0), f[2]), s, True


def _rounded(value: Fraction) -> Fraction:
    return Fraction(floor(value * ONE + Fraction(1, 2)), ONE)


def _ratio(part: Fraction, whole: Fraction) -> Fraction:
    return Fraction(1) if whole == 0 else min(Fraction(1), _rounded(part / whole))


def bounds(some: list[Item]) -> tuple[Fraction | None, Fraction | None]:
    """Every corner of the weights, f at its ends."""
    low: list[Fraction] = []
    high: list[Fraction] = []
    for weights in product(*({one.weight[0], one.weight[2]} for one in some if one.weight)):
        if total := sum(weights):
            low.append(sum((w * one.f[0] for w, one in zip(weights, some, strict=True)), Fraction(0)) / total)
            high.append(
                sum((w * one.f[2] for w, one in zip(weights, some, strict=True)), Fraction(0)) / total
            )
    return (100 * min(low), 100 * max(high)) if low else (None, None)


def figures(some: list[Item]) -> dict[str, Any]:
    """Of the items of one vehicle, or of one visibility of it, wear parts left out by the caller."""
    weighed = [one for one in some if one.weight is not None]
    with_best = [one for one in weighed if one.weight[1] is not None]
    assessed = [one for one in with_best if one.f[1] is not None]
    total, known = sum(one.weight[1] for one in with_best), sum(one.weight[1] for one in assessed)
    low, high = bounds(weighed)
    composition = dict.fromkeys(
        (
            "reference_fabric",
            "later_historic",
            "historic_from_elsewhere",
            "new_material",
            "replica",
            "modern_substitute",
            "not_assessed",
        ),
        Fraction(0),
    )
    for one in with_best:
        share = Fraction(100 * one.weight[1], total) if total else Fraction(0)
        kept = {
            "reference_fabric": one.f[1],
            "later_historic": one.s[1],
            "historic_from_elsewhere": one.s[1],
        }.get(one.category)
        if one.f[1] is None or kept is None:
            composition[one.category] += share
        else:
            composition[one.category] += share * kept
            composition["new_material"] += share * (1 - kept)
    return {
        "best": 100 * sum(one.weight[1] * one.f[1] for one in assessed) / Fraction(known) if known else None,
        "low": low,
        "high": high,
        "assessed_share": Fraction(100 * known, total) if total else None,
        "items": len(some),
        "unweighted": len(some) - len(weighed),
        "assumed": sum(one.assumed for one in weighed),
        "no_best": len(weighed) - len(with_best),
        "composition": composition if total else dict.fromkeys(composition),
    }
