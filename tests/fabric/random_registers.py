"""Registers drawn at random for the laws: small, crowded in time, and as awkward as the rules of the tables allow.

Days are few, so that dates coincide, touch and overlap; some spans are open at an end; parts move about, into another
vehicle and back, and leave doubts. What the rules refuse (two definite installations of one position or one part
on a day, a removal before the fitting) is not drawn. Each register is made by one seed: Hypothesis draws the seed,
since drawing every value of so many would take minutes.
"""

from __future__ import annotations

import random
from dataclasses import replace
from random import Random
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
dice = st.integers(0, 2**48).map(Random)
registers = dice.map(lambda one: register_of(one))


def register_of(dice: Random, *, positions: int = 5, parts: int = 9, stays: int = 30) -> VehicleInputs:
    built = span(dice, FIRST, FIRST + 5, open_ended=False)
    here = [f"q{number}" for number in range(dice.randint(1, positions))]
    part_keys = [f"p{number}" for number in range(dice.randint(2, parts))]
    stayed: list[Installation] = []
    for _ in range(dice.randint(2, stays)):
        drawn = _installation(dice, here, part_keys)
        if drawn is not None and all(agree(drawn, other) for other in stayed):
            stayed.append(drawn)
    own = sorted({one.part for one in stayed if one.position in here})
    return VehicleInputs(
        vehicle=Vehicle(HERE, built, _sometimes(dice, 0.6, interval(dice, 40, 300))),
        references=(
            Reference("as built", "", built, True),
            Reference("as rebuilt", "", span(dice, built.latest, LAST, open_ended=False)),
        ),
        positions={key: _position(dice, key) for key in here},
        parts={part: _part(dice, part) for part in own},
        installations=tuple(one for one in stayed if one.part in own),
        assessments={part: _assessment(dice, part) for part in own if dice.random() < 0.8},
        treatments={
            part: tuple(
                Treatment(part, span(dice, FIRST, LAST), fraction(dice)) for _ in range(dice.randint(1, 3))
            )
            for part in own
            if dice.random() < 0.5
        },
    )


def span(dice: Random, first: int, last: int, *, open_ended: bool = True) -> Span:
    earliest = dice.randint(first, last)
    latest = min(earliest + dice.choice([0, 0, 1, 4, 15, 30]), last)
    kind = dice.choice(["closed"] * 8 + ["before", "after"]) if open_ended else "closed"
    if kind == "before":
        return Span.between(BEGINNING, latest)
    return Span.between(earliest, END if kind == "after" else latest)


def interval(dice: Random, least: int, most: int) -> Interval:
    if dice.random() < 0.4:
        return Interval.exactly(dice.randint(least, most))
    return Interval(*sorted(dice.randint(least, most) for _ in range(3)))


def fraction(dice: Random) -> Interval:
    one = interval(dice, 0, 20)
    return Interval(*(end * MILLION // 20 for end in (one.low, one.best or 0, one.high)))


def agree(one: Installation, other: Installation) -> bool:
    """Not the same key, nor both definite, of one position or of one part, on any day."""
    if (one.position, one.part, one.fitted) == (other.position, other.part, other.fitted):
        return False
    if one.temporary or other.temporary or (one.position != other.position and one.part != other.part):
        return True
    begin = max(one.fitted.latest, other.fitted.latest)
    ends = [stay.removed.earliest for stay in (one, other) if stay.removed is not None]
    return begin >= min(ends, default=END)


def in_order(one: Installation) -> bool:
    """Not removed before it was fitted, by best days too."""
    removed, fitted = one.removed, one.fitted
    return removed is None or (removed.latest >= fitted.earliest and removed.best >= fitted.best)


def _installation(dice: Random, here: list[str], parts: list[str]) -> Installation | None:
    fitted = span(dice, FIRST, FIRST + 25)
    removed = None if dice.random() < 0.5 else span(dice, min(max(fitted.earliest, FIRST), LAST), LAST)
    position = dice.choice([*here, *here, "x0", "x1"])
    vehicle = THERE if position.startswith("x") else HERE
    seen = dice.choice(["", "", *VISIBILITIES])
    one = Installation(position, dice.choice(parts), vehicle, fitted, removed, dice.random() < 0.15, seen)
    return one if in_order(one) else None


def _position(dice: Random, key: str) -> Position:
    return Position(
        key,
        HERE,
        dice.choice(VISIBILITIES),
        dice.choice([None, 0, 1, 2, 3, 4]),
        dice.random() < 0.15,
        _sometimes(dice, 0.4, interval(dice, 0, 60)),
    )


def _part(dice: Random, key: str) -> Part:
    disposal = dice.choice(["", "", "", "scrapped", "lost", "transferred"])
    disposed = span(dice, FIRST, LAST, open_ended=False) if disposal else None
    return Part(key, _sometimes(dice, 0.8, interval(dice, 0, 60)), disposal, disposed)


def _assessment(dice: Random, part: str) -> Assessment:
    return Assessment(
        part,
        dice.randint(FIRST, LAST),
        dice.choice(("original", "restored", *STATUSES)),
        dice.choice([HERE, HERE, HERE, THERE]),
        _sometimes(dice, 0.5, span(dice, FIRST, LAST)),
        _sometimes(dice, 0.6, fraction(dice)),
        dice.randint(0, 3),
        dice.random() < 0.2,
    )


def _sometimes(dice: Random, chance: float, value: Any) -> Any:
    return value if dice.random() < chance else None


def shuffled(inputs: VehicleInputs, dice: random.Random) -> VehicleInputs:
    """The same register, its rows in another order."""

    def turned(mapping: Any) -> dict[str, Any]:
        return dict(dice.sample(list(mapping.items()), len(mapping)))

    return replace(
        inputs,
        positions=turned(inputs.positions),
        parts=turned(inputs.parts),
        installations=tuple(dice.sample(inputs.installations, len(inputs.installations))),
        assessments=turned(inputs.assessments),
        treatments={
            part: tuple(dice.sample(several, len(several)))
            for part, several in turned(inputs.treatments).items()
        },
    )
