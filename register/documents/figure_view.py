"""The figures of a vehicle in words, as a page, a paper and a terminal say them alike.

What may be shown, and in what order, is method section 7; how it is rounded is section 13. Nothing here
computes a figure: exact percentages come in, and stay beside their words for the charts.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cached_property

from register.documents.figure_parts import BoundsView, Cell, CompositionRow, StatusCount, VisibilityRow
from register.documents.figure_words import (
    BASES,
    NBSP,
    NO_BEST_AT_FLOOR,
    NOT_ENOUGH,
    STRENGTHS,
    Basis,
    count_of,
    figure,
    lacking,
    notes,
    percent,
    reference_words,
    since_words,
    withheld_words,
)
from register.documents.palette import CATEGORIES, NO_STATUS, STATUSES
from register.fabric.dates import day_in_words
from register.fabric.figures import (
    Figures,
    VehicleFigures,
    best_may_be_shown,
    mass_percentage_withheld,
    whole_vehicle_first,
)
from register.fabric.fraction import NOT_ASSESSED
from register.fabric.inputs import VehicleInputs
from register.fabric.rounding import NO_FIGURE, shown_high, shown_low

__all__ = ["STRENGTHS", "BoundsView", "Cell", "CompositionRow", "FigureView", "StatusCount", "VisibilityRow",
           "command_lines", "figure_view"]  # fmt: skip


@dataclass(frozen=True)
class FigureView:
    """What is said of one vehicle, day, reference and basis. Made by ``figure_view``."""

    answer: VehicleFigures
    decimals: int
    public: bool
    is_withheld: bool

    @property
    def figures(self) -> Figures:
        return self.answer.whole

    @property
    def basis(self) -> Basis:
        return BASES[self.answer.basis]

    @property
    def basis_words(self) -> str:
        """``by mass``; for visitors ``by weight``"""
        return self.basis.plain if self.public else self.basis.words

    @property
    def unit(self) -> str:
        """Of the weights: kg, parts or points."""
        return self.basis.unit

    @property
    def reference(self) -> str:
        """``as built (1894)``"""
        return reference_words(self.answer.reference)

    @property
    def day(self) -> str:
        """``25 November 2026``"""
        return day_in_words(date.fromordinal(self.answer.day))

    @cached_property
    def asked(self) -> str:
        """The question: ``by mass, against as built (1894), as at 25 November 2026`` and whatever else was
        asked."""
        answer = self.answer
        parts = [self.basis_words, f"against {self.reference}", f"as at {self.day.replace(' ', NBSP)}"]
        if answer.visibility:
            parts.append(f"{answer.visibility} alone")
        if answer.evidence_floor:
            better = " or better" if answer.evidence_floor < len(STRENGTHS) - 1 else ""
            parts.append(f"on {STRENGTHS[answer.evidence_floor]} evidence{better}")
        if answer.include_wear:
            parts.append("with wear parts")
        return ", ".join(parts)

    @property
    def caption(self) -> str:
        """The question with the counts no figure goes without."""
        assessed = self.not_assessed if self.is_withheld else f"assessed {self.assessed}"
        return f"{self.asked}; {assessed}; {self.unweighted} unweighted"

    @property
    def whole_first(self) -> bool:
        """Whether the whole vehicle's bounds stand first: they do where the others leave something out."""
        return self.whole is not None and (whole_vehicle_first(self.answer) or self.is_withheld)

    @property
    def is_of_weighted_only(self) -> bool:
        return whole_vehicle_first(self.answer)

    @cached_property
    def whole(self) -> BoundsView | None:
        """The bounds that count what the register does not list; None where there are none."""
        found = self.answer.whole_vehicle
        if found is None or found.low is None or found.high is None:
            return None
        return BoundsView("Whole vehicle, bounds", self.asked, found.low, found.high, decimals=self.decimals)

    @cached_property
    def own(self) -> BoundsView | None:
        """The bounds over the weighted parts; None where they may not be shown or there are none."""
        if self.is_withheld:
            return None
        only = ", of the weighted parts only" if self.is_of_weighted_only else ""
        return self._bounds(f"Retained original fabric{only}, bounds", self.figures)

    @property
    def lead(self) -> BoundsView | None:
        """What stands first and largest; None: there is no percentage to show, and ``no_figure`` says why."""
        return self.whole if self.whole_first else self.own

    @property
    def no_figure(self) -> str:
        """Why there is no percentage over the weighted parts; "" where there is one."""
        if self.is_withheld:
            return withheld_words(self.answer, has_whole=self.whole is not None)
        return "" if self.own else self.basis.nothing

    def _bounds(self, label: str, found: Figures) -> BoundsView | None:
        if found.low is None or found.high is None:
            return None
        best = found.best if best_may_be_shown(found) else None
        likely = None
        if best is not None and found.likely_low is not None and found.likely_high is not None:
            likely = found.likely_low, found.likely_high
        enough = found.assessed_share is not None and found.assessed_share >= 50
        no_best = NO_BEST_AT_FLOOR if self.answer.evidence_floor and enough else NOT_ENOUGH
        return BoundsView(label, self.asked, found.low, found.high, best, likely, no_best, self.decimals)

    @property
    def best_text(self) -> str:
        return self.own.best_text if self.own else NO_FIGURE

    @property
    def assessed(self) -> str:
        """``94.5 %``"""
        return percent(self.figures.assessed_share, self.decimals)

    @property
    def assessed_text(self) -> str:
        """``94.5``"""
        return figure(self.figures.assessed_share, self.decimals)

    @property
    def not_assessed(self) -> str:
        """``14 of 229 not assessed``"""
        number = sum(row.category == NOT_ASSESSED for row in self.answer.rows_asked_for)
        return f"{number:,} of {self.figures.items:,} not assessed"

    @property
    def unweighted(self) -> str:
        """``3 of 229``"""
        return f"{self.figures.unweighted:,} of {self.figures.items:,}"

    @property
    def accounted(self) -> str:
        """``96.1 % accounted for``: how much of the empty mass the parts add up to"""
        found = self.answer.whole_vehicle
        if self.is_withheld or found is None or found.mass_accounted_for is None:
            return ""
        return f"{percent(found.mass_accounted_for, self.decimals)} accounted for"

    @cached_property
    def cells(self) -> tuple[Cell, ...]:
        """What stands under the bounds: the best figure, then the counts beside it, then the whole
        vehicle."""
        own = self.own
        unweighted = Cell("unweighted", "Unweighted", self.unweighted, lacking(self.answer))
        if self.is_withheld:  # then the assessed share, a percentage by mass, is kept back too
            return Cell("assessed", "Parts", f"{self.figures.items:,}", self.not_assessed), unweighted
        cells = [
            Cell("best", "Best", own.best_words if own else NO_FIGURE, own.likely_words if own else ""),
            Cell("assessed", "Assessed share", self.assessed, self.not_assessed),
            unweighted,
        ]
        if self.answer.basis == "mass" and not self.answer.visibility and not self.whole_first:
            words = (
                (self.whole.words, self.accounted) if self.whole else ("not known", "empty mass not known")
            )
            cells.append(Cell("whole", "Whole vehicle", *words))
        return tuple(cells)

    @cached_property
    def composition(self) -> tuple[CompositionRow, ...]:
        """The seven categories in their order; none where nothing has a weight or the percentages are kept
        back."""
        if self.is_withheld or not self.figures.weight:
            return ()
        since = since_words(self.answer.reference)
        found = []
        for category, mark in CATEGORIES.items():
            share = self.figures.composition[category] or Fraction(0)
            words = mark.plain.format(since=since) if self.public else mark.words
            weight = share * self.figures.weight / 100
            texts = figure(share, self.decimals), figure(weight, self.basis.decimals)
            found.append(CompositionRow(category, mark, words, share, *texts))
        return tuple(found)

    @property
    def shares(self) -> dict[str, Fraction]:
        """Percentages by category, for a composition bar; empty where they are not shown."""
        return {row.category: row.percent for row in self.composition}

    @property
    def total_text(self) -> str:
        """The weight of all the composition."""
        return figure(self.figures.weight, self.basis.decimals)

    @cached_property
    def visibility(self) -> tuple[VisibilityRow, ...]:
        """In view, close inspection, hidden: of the whole vehicle; none where the percentages are kept
        back."""
        if self.is_withheld:
            return ()
        return tuple(self._seen(visibility, found) for visibility, found in self.answer.by_visibility.items())

    def _seen(self, visibility: str, found: Figures) -> VisibilityRow:
        words = visibility.capitalize()
        return VisibilityRow(
            visibility,
            words,
            self._bounds(f"{words}, bounds", found),
            figure(found.assessed_share, self.decimals),
            count_of(found.items, "part")
            + (f", {found.unweighted:,} unweighted" if found.unweighted else ""),
            figure(found.weight, self.basis.decimals),
            found.composition,
        )

    @cached_property
    def statuses(self) -> tuple[StatusCount, ...]:
        """How many parts have each status: what is left to say where no percentage may be said."""
        found = [row.status or NO_STATUS for row in self.answer.rows_asked_for]
        return tuple(StatusCount(status, mark, found.count(status)) for status, mark in STATUSES.items())

    @cached_property
    def notes(self) -> tuple[str, ...]:
        """Sentences that stand beside the figure."""
        return tuple(notes(self.answer))

    @property
    def plain(self) -> str:
        """One sentence for a visitor, in whole numbers rounded outwards."""
        lead = self.lead
        if lead is None:
            return f"How much is original {self.basis.plain} cannot be said yet."
        low, high = shown_low(lead.low, 0), shown_high(lead.high, 0)
        amount = f"at least {low} and at most {high} parts in every hundred"
        if low == high:
            amount = f"{low} parts in every hundred"
        return f"{self.basis.plain.capitalize()}, {amount} are original, measured against {self.reference}."


def figure_view(
    answer: VehicleFigures,
    inputs: VehicleInputs | None = None,
    *,
    public: bool = False,
    guarded: bool = False,
) -> FigureView:
    """The figures in words.

    public: a visitor's page, in whole numbers. guarded: a statement or an application. Both keep the mass
    percentage of a vehicle back where too much of it is unweighted, which is judged on ``inputs``. TypeError
    without them.
    """
    withheld = False
    if public or guarded:
        if inputs is None:
            raise TypeError("whether a percentage may be shown in public is judged on the inputs")
        withheld = mass_percentage_withheld(answer, inputs)
    return FigureView(answer, 0 if public else 1, public, withheld)


def command_lines(answer: VehicleFigures, vehicle: str) -> list[str]:
    """The figures for a terminal, bounds first. vehicle: its id as typed."""
    view = figure_view(answer)
    lines = [f"{vehicle}: retained original fabric {view.asked}"]
    if view.whole_first and view.whole:
        lines += [f"Whole vehicle: {view.whole.words}, {view.accounted or 'mass accounted for not known'}"]
    if view.own:
        lines += [
            f"{'Of the weighted parts only: ' if view.is_of_weighted_only else 'Bounds: '}{view.own.words}"
        ]
    else:
        lines += [view.no_figure]
    lines += [f"{cell.label}: {cell.value}{f' ({cell.note})' if cell.note else ''}" for cell in view.cells]
    if view.composition:
        lines += ["", f"Composition, {view.unit} and %, adding up to {view.total_text} {view.unit}"]
        lines += [
            f"  {row.mark.code}  {row.words:<34}{row.weight_text:>12}{row.percent_text:>11}"
            for row in view.composition
        ]
    lines += ["", "By visibility"]
    for seen in view.visibility:
        bounds = f"{seen.bounds.words}, best {seen.bounds.best_words}" if seen.bounds else "nothing weighted"
        lines += [f"  {seen.words}: {bounds}, assessed {seen.assessed_text}{NBSP}%, {seen.parts}"]
    return [*lines, "", *view.notes]
