"""Before and after, in words: the figures of one vehicle on one basis, each to the printed digit, and the change worked
out before rounding."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from register.documents.figure_parts import BoundsView
from register.documents.figure_view import FigureView
from register.documents.palette import CATEGORIES
from register.fabric.rounding import NO_FIGURE, shown_change

Ends = tuple[Fraction | None, Fraction | None]


@dataclass(frozen=True, slots=True)
class EffectRow:
    """bounds: to draw, where the row is about bounds that there are."""

    label: str
    before: str
    after: str
    change: str
    before_bounds: BoundsView | None = None
    after_bounds: BoundsView | None = None


@dataclass(frozen=True, slots=True)
class EffectView:
    """asked: by what, against what, as at when. before, after: the views whose compositions are drawn."""

    basis: str
    asked: str
    rows: tuple[EffectRow, ...]
    before: FigureView | None
    after: FigureView | None
    composition_change: str
    counts: str


def effect_view(basis: str, before: FigureView | None, after: FigureView | None) -> EffectView:
    """One of the two may be None: a vehicle that is new, or that goes."""
    said = after or before
    assert said is not None
    return EffectView(
        basis,
        said.asked,
        tuple(_rows(before, after)),
        before,
        after,
        _composition(before, after),
        f"{said.unweighted} parts unweighted" if after is None else f"{after.unweighted} parts unweighted",
    )


def _rows(before: FigureView | None, after: FigureView | None) -> Iterator[EffectRow]:
    if (before and before.whole) or (after and after.whole):
        yield _bounds(
            "Bounds, whole vehicle", before.whole if before else None, after.whole if after else None
        )
    only = any(one and one.is_of_weighted_only for one in (before, after))
    yield _bounds(
        "Bounds, of the weighted parts only" if only else "Bounds",
        before.own if before else None,
        after.own if after else None,
    )
    figures = [one.figures if one else None for one in (before, after)]
    best = [one.own.best if one and one.own else None for one in (before, after)]
    assessed = [one.assessed_share if one else None for one in figures]
    yield EffectRow(
        "Best",
        before.best_text if before else NO_FIGURE,
        after.best_text if after else NO_FIGURE,
        _change(best[0], best[1]),
    )
    yield EffectRow(
        "Assessed share",
        before.assessed_text if before else NO_FIGURE,
        after.assessed_text if after else NO_FIGURE,
        _change(assessed[0], assessed[1]),
    )
    for number, seen in enumerate((after or before).visibility):  # type: ignore[union-attr]
        pair = [one.visibility[number].bounds if one else None for one in (before, after)]
        if any(pair):
            row = _bounds(f"Bounds, {seen.words.lower()}", *pair)
            yield EffectRow(row.label, row.before, row.after, row.change)
    for label, name in (("Parts", "items"), ("Unweighted", "unweighted"), ("Temporary", "temporary")):
        numbers = [getattr(one, name) if one else 0 for one in figures]
        if numbers[0] != numbers[1]:
            change = numbers[1] - numbers[0]
            sign = "+" if change > 0 else "−"
            yield EffectRow(label, f"{numbers[0]:,}", f"{numbers[1]:,}", f"{sign}{abs(change):,}")


def _bounds(label: str, before: BoundsView | None, after: BoundsView | None) -> EffectRow:
    ends: list[Ends] = [(one.low, one.high) if one else (None, None) for one in (before, after)]
    low, high = (_change(ends[0][number], ends[1][number]) for number in (0, 1))
    change = "none" if low == high == "0.0" else f"low {low}, high {high}"
    if NO_FIGURE in (low, high):
        change = NO_FIGURE
    return EffectRow(
        label,
        before.short if before else NO_FIGURE,
        after.short if after else NO_FIGURE,
        change,
        before,
        after,
    )


def _change(before: Fraction | None, after: Fraction | None) -> str:
    if before is None or after is None:
        return NO_FIGURE
    return shown_change(after - before)


def _composition(before: FigureView | None, after: FigureView | None) -> str:
    """``NA −2.1, NM +0.9``: the categories whose share changes in print."""
    if before is None or after is None:
        return ""
    found = []
    for category, mark in CATEGORIES.items():
        change = _change(before.shares.get(category), after.shares.get(category))
        if change not in ("0.0", NO_FIGURE):
            found.append(f"{mark.code} {change}")
    return ", ".join(found)
