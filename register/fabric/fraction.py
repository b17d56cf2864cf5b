"""How much of a part's fabric has survived, and how much of that is original (method, sections 4 and 5).

Fractions come in as whole millionths and are whole parts of ``ONE`` inside the core. Products and quotients
are taken exactly and rounded once, half up, so that they do not depend on the order of the treatments.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from register.fabric.dates import BEGINNING, Span
from register.fabric.inputs import Assessment, Reference, Treatment, Vehicle
from register.fabric.interval import MILLION, ONE, Interval

REFERENCE_FABRIC = "reference_fabric"
LATER_HISTORIC = "later_historic"
FROM_ELSEWHERE = "historic_from_elsewhere"
NEW_MATERIAL = "new_material"
NOT_ASSESSED = "not_assessed"
MADE_SINCE = {"replica": "replica", "modern substitute": "modern_substitute"}
"""Statuses of parts made since the vehicle has been looked after as heritage, and their category."""

COMPOSITION = (
    REFERENCE_FABRIC,
    LATER_HISTORIC,
    FROM_ELSEWHERE,
    NEW_MATERIAL,
    "replica",
    "modern_substitute",
    NOT_ASSESSED,
)
"""The seven categories, in the order in which they are printed."""

WHOLE = Interval.exactly(ONE)
NOTHING = Interval.exactly(0)
ANYTHING = Interval(0, None, ONE)
"""What is not assessed may be anything; it has no best value."""

_BEFORE_EVERYTHING = BEGINNING - 1
_MICRO = ONE // MILLION


class PartFabric(NamedTuple):
    """A part on a day, against a reference.

    status: as assessed, "" where not. category: one of ``COMPOSITION`` (never new material: that is the rest
    of a historic part). f: its original fraction; s: its surviving fraction, both in 1/ONE. straddles: f is
    an either/or, because ``original since`` straddles the end of the reference date.
    """

    status: str
    category: str
    f: Interval
    s: Interval
    straddles: bool
    disputed: bool
    strength: int


NEVER_ASSESSED = PartFabric("", NOT_ASSESSED, ANYTHING, ANYTHING, False, False, 0)


class _Share(NamedTuple):
    low: int
    best: int
    high: int


def surviving(assessment: Assessment | None, treatments: Sequence[Treatment], day: int) -> Interval:
    """s(p, t): the fraction of the part's own fabric that is left on ``day``."""
    if assessment is None:
        return ANYTHING
    given, assessed_on = _given(assessment)
    if day >= assessed_on:
        shares = _effective(treatments, assessed_on, day) if treatments else ()
        return _after(given, shares) if shares else given
    shares = _effective(treatments, _BEFORE_EVERYTHING, day) if treatments else ()
    return _before(given, shares)


def _after(given: Interval, shares: Sequence[_Share]) -> Interval:
    """Two repairs may fall on the same metal or on different metal: the ends allow both."""
    best = _product([known(given), *(ONE - share.best * _MICRO for share in shares)])
    low = max(0, given.low - _MICRO * sum(share.high for share in shares))
    return Interval(low, best, min(given.high, ONE - _MICRO * max(share.low for share in shares)))


def _before(given: Interval, shares: Sequence[_Share]) -> Interval:
    """Fabric once lost does not come back; a loss without a date may lie on any day until it was recorded."""
    if given is WHOLE:
        return WHOLE
    best = _product([ONE - share.best * _MICRO for share in shares])
    least_lost = max((share.low for share in shares), default=0)
    return Interval(given.low, max(known(given), best), max(given.high, ONE - _MICRO * least_lost))


def remaining(
    now: Interval,
    assessment: Assessment,
    treatments: Sequence[Treatment],
    since: Span,
    reference: Reference,
    day: int,
) -> Interval:
    """What is left on ``day`` of the part as it was on the last day of the reference date.

    ``now``: what survives of it on ``day``. ``since``: when it became part of the vehicle. Where the
    reference date does not begin after that, it is measured against its whole self: it came in the course of
    the date, or later.
    """
    last = reference.span.latest
    if day <= last:
        return WHOLE
    if reference.span.earliest <= since.latest:
        return now
    then = surviving(assessment, treatments, last)
    return Interval(now.low, _quotient(known(now), known(then)), _quotient(now.high, then.low))


def part_fabric(
    vehicle: Vehicle,
    reference: Reference,
    assessment: Assessment | None,
    treatments: Sequence[Treatment],
    *,
    day: int,
    evidence_floor: int = 0,
) -> PartFabric:
    """The status, category, original and surviving fraction of a part in ``vehicle`` on ``day``."""
    if assessment is None:
        return NEVER_ASSESSED
    status, disputed, strength = assessment.status, assessment.disputed, assessment.strength
    if strength < evidence_floor:
        return PartFabric(status, NOT_ASSESSED, ANYTHING, ANYTHING, False, disputed, strength)
    s = surviving(assessment, treatments, day)
    if status in MADE_SINCE:
        return PartFabric(status, MADE_SINCE[status], NOTHING, s, False, disputed, strength)
    category, f, straddles = _in_vehicle(vehicle, reference, assessment, treatments, day, s)
    return PartFabric(status, category, f, s, straddles, disputed, strength)


def _in_vehicle(
    vehicle: Vehicle,
    reference: Reference,
    assessment: Assessment,
    treatments: Sequence[Treatment],
    day: int,
    s: Interval,
) -> tuple[str, Interval, bool]:
    """(category, f, straddles) of a historic part; one that is original to no vehicle is from elsewhere."""
    if assessment.original_to != vehicle.key:
        return FROM_ELSEWHERE, NOTHING, False
    since = assessment.original_since or vehicle.built
    last = reference.span.latest
    if since.earliest > last:
        return LATER_HISTORIC, NOTHING, False
    f = remaining(s, assessment, treatments, since, reference, day)
    if since.latest <= last:
        return REFERENCE_FABRIC, f, False
    if since.best <= last:
        return REFERENCE_FABRIC, Interval(0, f.best, f.high), True
    return LATER_HISTORIC, Interval(0, 0, f.high), True


def known(interval: Interval) -> int:
    """The best value of an interval that must have one. ValueError where it has none."""
    if interval.best is None:
        raise ValueError("a fraction or replaced share needs a best value beside its low and its high")
    return interval.best


def _given(assessment: Assessment) -> tuple[Interval, int]:
    """F in 1/ONE, and the day from which it holds."""
    fraction = assessment.fraction
    if fraction is not None:
        best = known(fraction) * _MICRO
        return Interval(fraction.low * _MICRO, best, fraction.high * _MICRO), assessment.day
    return WHOLE, _BEFORE_EVERYTHING if assessment.status == "restored" else assessment.day


def _effective(treatments: Sequence[Treatment], after: int, until: int) -> list[_Share]:
    """The effective shares, in millionths, of the treatments over the stretch (after, until]."""
    shares = []
    for treatment in treatments:
        span, replaced = treatment.span, treatment.replaced
        if span.earliest > until or span.latest <= after:
            continue
        if span.earliest > after and span.latest <= until:
            shares.append(_Share(replaced.low, known(replaced), replaced.high))
        else:
            shares.append(_Share(0, known(replaced) if after < span.best <= until else 0, replaced.high))
    return shares


def _product(factors: list[int]) -> int:
    """The product of fractions in 1/ONE, exact until it is rounded."""
    product = 1
    for factor in factors:
        product *= factor
    if not factors:
        return ONE
    scale: int = ONE ** (len(factors) - 1)
    return (2 * product + scale) // (2 * scale)


def _quotient(part: int, whole: int) -> int:
    """part ÷ whole in 1/ONE, at most 1; a division by zero gives 1: nothing was there that could have been
    lost.
    """
    if part >= whole:
        return ONE
    return (2 * part * ONE + whole) // (2 * whole)
