"""What a conservation statement says of its evidence, its losses and its sums, as frozen plain values."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from register.documents.figure_view import FigureView
from register.fabric.interval import Interval


@dataclass(frozen=True, slots=True)
class Loss:
    """A part of the reference vehicle that is no longer with this one. fate: a share of survival, in words.
    left: when, in words. mass in grams."""

    position: str
    part: str
    part_id: str
    fate: str
    left: str = ""
    mass: Interval | None = None


@dataclass(frozen=True, slots=True)
class StrengthRow:
    """strength: 0 to 3, None: not assessed. grams: best mass of its weighted parts."""

    strength: int | None
    parts: int
    grams: int


@dataclass(frozen=True, slots=True)
class Evidence:
    """floors: the headline's question asked of attributed, corroborated and documented claims alone.
    assessors: who made the assessments, with how many, as may be read; ``days``: from when to when."""

    rows: tuple[StrengthRow, ...]
    floors: tuple[FigureView, ...] = ()
    assessors: tuple[str, ...] = ()
    days: str = ""


@dataclass(frozen=True, slots=True)
class FromElsewhere:
    """A historic part that belonged to another vehicle first. vehicle: its name, as may be read."""

    position: str
    part: str
    part_id: str
    status: str
    vehicle: str
    fitted: str
    mass: Interval | None = None


@dataclass(frozen=True, slots=True)
class WithElsewhere:
    """The figure by mass if fabric from elsewhere counted as original too: exact percentages."""

    low: Fraction
    best: Fraction | None
    high: Fraction


@dataclass(frozen=True, slots=True)
class MassKnown:
    """How many parts are weighed, calculated and so on, and their best mass in grams. basis: as recorded."""

    basis: str
    parts: int
    grams: int


@dataclass(frozen=True, slots=True)
class Masses:
    """empty: the empty mass in grams, None: not known. accounted: per cent of it that the parts add up to,
    wear parts too; None where it may not be said."""

    rows: tuple[MassKnown, ...]
    empty: Interval | None = None
    accounted: Fraction | None = None


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """What would narrow the bounds most. gain: percentage points. why: what is not known of it."""

    position: str
    part: str
    part_id: str
    gain: Fraction
    why: str
    is_disputed: bool = False


@dataclass(frozen=True, slots=True)
class WorkedItem:
    """weight: in the unit of the basis. f: original fraction, from 0 to 1; best None where there is none."""

    position: str
    part: str
    part_id: str
    weight: Fraction
    low: Fraction
    best: Fraction | None
    high: Fraction


@dataclass(frozen=True, slots=True)
class Quotient:
    """above ÷ below, in the unit of the basis; 100 times it is the percentage."""

    above: Fraction
    below: Fraction

    @property
    def percent(self) -> Fraction:
        return 100 * self.above / self.below


@dataclass(frozen=True, slots=True)
class Worked:
    """The sums of one figure of this vehicle. items: its heaviest. others: how many are not shown, and what
    they add to the sums of the best figure."""

    basis: str
    unit: str
    items: tuple[WorkedItem, ...]
    others: int
    assessed: int
    others_best: Quotient | None
    best: Quotient | None
    low: Quotient
    high: Quotient
