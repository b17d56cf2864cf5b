"""Alternatives side by side: every figure as it is and as each alternative would leave it, for page and paper alike.

Changes are worked out on the exact figures and rounded after that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial

from register.documents.figure_parts import BoundsView
from register.documents.figure_view import FigureView, figure_view
from register.fabric.figures import VehicleFigures
from register.fabric.inputs import VehicleInputs
from register.fabric.rounding import NO_FIGURE, shown, shown_change
from register.fabric.survival import WITH_THIS, Survival

Answers = Mapping[str, VehicleFigures]
"""Figures by basis."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One figure under one alternative. bounds: to be drawn; shares: of a composition bar."""

    text: str
    change: str = ""
    bounds: BoundsView | None = None
    shares: Mapping[str, Fraction] | None = None


@dataclass(frozen=True, slots=True)
class ComparedRow:
    """label: what the figure is. cells: one an alternative, in their order; None where it cannot be worked out."""

    label: str
    cells: tuple[Compared | None, ...]


def change_words(before: Fraction | None, after: Fraction | None) -> str:
    """``−2.4``, ``+0.1``, ``no change``; ``under 0.1`` either way for what rounds to nothing; "" where there is none."""
    if before is None or after is None:
        return ""
    change = after - before
    if change == 0:
        return "no change"
    text = shown_change(change)
    return text if text != "0.0" else f"{'down' if change < 0 else 'up'} under 0.1"


def bounds_change(before: BoundsView | None, after: BoundsView | None) -> str:
    """``low −0.2, high −0.1``, or ``no change``"""
    if before is None or after is None:
        return ""
    low, high = change_words(before.low, after.low), change_words(before.high, after.high)
    return "no change" if low == high == "no change" else f"low {low}, high {high}"


def compared(
    now: Answers, outcomes: Sequence[Answers | None], inputs: VehicleInputs, *, guarded: bool = False
) -> list[ComparedRow]:
    """The rows against one reference: by mass in full, by count and significance in bounds. outcomes: figures by basis
    of each alternative, None for one that cannot be laid over the register. guarded: as ``figure_view`` has it."""
    before = _views(now, inputs, guarded)
    after = [None if one is None else _views(one, inputs, guarded) for one in outcomes]
    rows: list[ComparedRow] = []
    for basis, view in before.items():
        others = [None if one is None else one[basis] for one in after]
        if basis == "mass":
            rows += _in_full(view, others)
        else:
            rows.append(_each(f"Bounds, {basis}", others, partial(_lead_alone, view)))
    return rows


def compared_survival(now: Survival | None, outcomes: Sequence[Survival | None]) -> ComparedRow | None:
    """How much of the vehicle as it was is still with it, by mass; None where it cannot be counted yet."""
    if now is None:
        return None
    found = []
    for one in outcomes:
        share = one.shares[WITH_THIS] if one else None
        text = NO_FIGURE if share is None else shown(share)
        found.append(None if one is None else Compared(text, change_words(now.shares[WITH_THIS], share)))
    return ComparedRow("Still with the vehicle, mass", tuple(found))


def _views(answers: Answers, inputs: VehicleInputs, guarded: bool) -> dict[str, FigureView]:
    return {basis: figure_view(answer, inputs, guarded=guarded) for basis, answer in answers.items()}


def _in_full(before: FigureView, after: Sequence[FigureView | None]) -> Iterator[ComparedRow]:
    yield _each("Bounds, mass", after, partial(_lead, before))
    yield _each("Best, mass", after, partial(_best, before))
    for place, seen in enumerate(before.visibility):
        yield _each(f"{seen.words}, mass", after, partial(_seen, seen.bounds, place))
    yield _each("Composition", after, lambda one: Compared("", shares=one.shares))


def _each(
    label: str, after: Sequence[FigureView | None], cell: Callable[[FigureView], Compared]
) -> ComparedRow:
    return ComparedRow(label, tuple(None if one is None else cell(one) for one in after))


def _seen(before: BoundsView | None, place: int, one: FigureView) -> Compared:
    return _cell(before, one.visibility[place].bounds if one.visibility else None)


def _lead_alone(before: FigureView, one: FigureView) -> Compared:
    return _cell(before.lead, one.lead)


def _lead(before: FigureView, one: FigureView) -> Compared:
    if one.lead is None:
        return Compared(one.no_figure)
    return Compared(one.lead.short, bounds_change(before.lead, one.lead), bounds=one.lead)


def _best(before: FigureView, one: FigureView) -> Compared:
    change = change_words(before.own.best if before.own else None, one.own.best if one.own else None)
    return Compared(one.best_text, change)


def _cell(before: BoundsView | None, one: BoundsView | None) -> Compared:
    if one is None:
        return Compared(NO_FIGURE)
    best = "" if one.best is None else f", best {one.best_text}"
    return Compared(f"{one.short}{best}", bounds_change(before, one))
