"""Registers drawn at random for the laws: small, crowded in time, and as awkward as the rules of the tables allow.

Days are few, so that dates coincide, touch and overlap; some spans are open at an end; parts move about, into another
vehicle and back, and leave doubts. What the rules refuse (two definite installations of one position or one part
on a day, a removal before the fitting) is not drawn.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from register.fabric.dates import BEGINNING, END, Span
from register.fabric.inputs import (
    BASES,
    STATUSES,
    VISIBILITIES,
    Assessment,
    Installation,
    Part,
    Position,
    Reference,
    Treatment,
    Vehicle,
    VehicleInputs,
)
from register.fabric.interval import MILLION, Interval

FIRST = 700_000
LAST = FIRST + 40
"""The days between which everything happens."""

HERE, THERE = "here", "there"

days = st.integers(FIRST, LAST)
bases = st.sampled_from(BASES)


@st.composite
def spans(draw: st.DrawFn, *, ends: tuple[int, int] = (FIRST, LAST), open_ended: bool = True) -> Span:
    earliest = draw(st.integers(*ends))
    latest = min(earliest + draw(st.sampled_from([0, 0, 0, 1, 4, 15])), ends[1])
    kind = draw(st.sampled_from(["closed"] * 8 + ["before", "after"])) if open_ended else "closed"
    if kind == "before":
        return Span.between(BEGINNING, latest)
    return Span.between(earliest, END if kind == "after" else latest)


@st.composite
def intervals(draw: st.DrawFn, most: int, *, exact: bool | None = None) -> Interval:
    if exact or (exact is None and draw(st.booleans())):
        return Interval.exactly(draw(st.integers(0, most)))
    return Interval(*sorted(draw(st.tuples(*[st.integers(0, most)] * 3))))


masses = intervals(60)
fractions = st.builds(
    lambda one: Interval(one.low * MILLION // 20, one.best * MILLION // 20, one.high * MILLION // 20),
    intervals(20),
)


@st.composite
def registers(draw: st.DrawFn, *, positions: int = 5, parts: int = 7, stays: int = 12) -> VehicleInputs:
    built = draw(spans(ends=(FIRST, FIRST + 5), open_ended=False))
    here = [f"q{number}" for number in range(draw(st.integers(1, positions)))]
    part_keys = [f"p{number}" for number in range(draw(st.integers(1, parts)))]
    installations: list[Installation] = []
    for _ in range(draw(st.integers(0, stays))):
        drawn = draw(_installation(here, part_keys))
        if drawn is not None and all(_agree(drawn, other) for other in installations):
            installations.append(drawn)
    own = {one.part for one in installations if one.position in here}
    treatments = {
        part: tuple(
            draw(st.lists(st.builds(Treatment, st.just(part), spans(), fractions), min_size=1, max_size=3))
        )
        for part in sorted(own)
        if draw(st.booleans())
    }
    assessments = {part: draw(_assessment(part)) for part in sorted(own) if draw(st.integers(0, 3))}
    return VehicleInputs(
        vehicle=Vehicle(HERE, built, draw(st.none() | intervals(400).filter(lambda mass: mass.low > 0))),
        references=(
            Reference("as built", "", built, True),
            Reference("as rebuilt", "", draw(spans(ends=(built.latest, LAST), open_ended=False))),
        ),
        positions={key: draw(_position(key)) for key in here},
        parts={part: draw(_part(part)) for part in sorted(own)},
        installations=tuple(one for one in installations if one.part in own),
        assessments=assessments,
        treatments=treatments,
    )


@st.composite
def _installation(draw: st.DrawFn, here: list[str], parts: list[str]) -> Installation | None:
    fitted = draw(spans())
    removed = draw(st.none() | spans(ends=(min(max(fitted.earliest, FIRST), LAST), LAST)))
    if removed is not None and (removed.latest < fitted.earliest or removed.best < fitted.best):
        return None
    position = draw(st.sampled_from([*here, *here, "x0", "x1"]))
    temporary = draw(st.sampled_from([False] * 5 + [True]))
    seen = draw(st.sampled_from(["", "", *VISIBILITIES]))
    vehicle = THERE if position.startswith("x") else HERE
    return Installation(position, draw(st.sampled_from(parts)), vehicle, fitted, removed, temporary, seen)


def _agree(one: Installation, other: Installation) -> bool:
    """Not both definite, of one position or of one part, on any day."""
    if one.temporary or other.temporary or (one.position != other.position and one.part != other.part):
        return True
    begin = max(one.fitted.latest, other.fitted.latest)
    ends = [stay.removed.earliest for stay in (one, other) if stay.removed is not None]
    return begin >= min(ends, default=END)


@st.composite
def _position(draw: st.DrawFn, key: str) -> Position:
    return Position(
        key,
        HERE,
        draw(st.sampled_from(VISIBILITIES)),
        draw(st.none() | st.integers(0, 4)),
        draw(st.sampled_from([False] * 5 + [True])),
        draw(st.none() | masses),
    )


@st.composite
def _part(draw: st.DrawFn, key: str) -> Part:
    disposal = draw(st.sampled_from(["", "", "", "scrapped", "lost", "transferred"]))
    return Part(key, draw(st.none() | masses), disposal, draw(spans(open_ended=False)) if disposal else None)


@st.composite
def _assessment(draw: st.DrawFn, part: str) -> Assessment:
    return Assessment(
        part,
        draw(days),
        draw(st.sampled_from(("original", "restored", *STATUSES))),
        draw(st.sampled_from([HERE, HERE, HERE, THERE])),
        draw(st.none() | spans()),
        draw(st.none() | fractions),
        draw(st.integers(0, 3)),
        draw(st.booleans()),
    )


def shuffled(inputs: VehicleInputs, dice: Any) -> VehicleInputs:
    """The same register, its rows in another order."""

    def turned(mapping: Any) -> dict[str, Any]:
        rows = list(mapping.items())
        dice.shuffle(rows)
        return dict(rows)

    installations = list(inputs.installations)
    dice.shuffle(installations)
    treatments = {
        part: tuple(dice.sample(several, len(several))) for part, several in inputs.treatments.items()
    }
    return replace(
        inputs,
        positions=turned(inputs.positions),
        parts=turned(inputs.parts),
        installations=tuple(installations),
        assessments=turned(inputs.assessments),
        treatments=turned(treatments),
    )
