"""What a statement says of its evidence, its losses and its sums, gathered from an account."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from functools import cached_property

from register.documents.figure_view import STRENGTHS, FigureView, figure_view
from register.documents.statement_evidence_content import (
    Evidence,
    FromElsewhere,
    Loss,
    Masses,
    MassKnown,
    OpenQuestion,
    Quotient,
    StrengthRow,
    WithElsewhere,
    Worked,
    WorkedItem,
)
from register.documents.statement_words import SURVIVAL_SHARES
from register.fabric.account import Row
from register.fabric.bounds import WeightedRange
from register.fabric.dates import in_words, span_of
from register.fabric.elsewhere import with_elsewhere
from register.fabric.figures import VehicleFigures, figures, mass_percentage_withheld
from register.fabric.fraction import FROM_ELSEWHERE
from register.fabric.interval import ONE
from register.fabric.survey import survey
from register.fabric.survival import IN_STORE, LOST, TRANSFERRED, WITH_ANOTHER, Survival
from register.fabric.weights import UNIT
from register.models import Assessment, Part, Vehicle
from register.services.vehicle_page import Account

MOST = 5
"""Losses and open questions on the summary, and items of the worked sum."""

GONE = (LOST, TRANSFERRED, WITH_ANOTHER, IN_STORE)
UNIT_WORDS = {"mass": "kg", "count": "parts", "significance": "points"}


class Beside:
    """What stands beside the figures of one account. parts: those of the account, by key. assessments: their accepted
    ones, the oldest first."""

    def __init__(
        self, account: Account, parts: Mapping[str, Part], assessments: Iterable[Assessment]
    ) -> None:
        self.account, self.parts = account, parts
        self.mass = account.figures["mass"]
        self.is_withheld = mass_percentage_withheld(self.mass, account.inputs)
        self.latest = {one.part_id: one for one in assessments}

    def reasons(self) -> dict[str, str]:
        """Why each part is held to be what it is, of its latest accepted assessment."""
        return {key: str(one.reason) for key, one in self.latest.items()}

    # --- evidence -------------------------------------------------------------------------------------------------

    @cached_property
    def evidence(self) -> Evidence:
        counted: Counter[int | None] = Counter()
        grams: Counter[int | None] = Counter()
        for row in self.mass.rows:
            strength = row.strength if row.status else None
            counted[strength] += 1
            grams[strength] += _best(row)
        order = [*range(len(STRENGTHS) - 1, -1, -1), None]
        rows = tuple(StrengthRow(one, counted[one], grams[one]) for one in order if counted[one])
        here = [self.latest[row.part] for row in self.mass.rows if row.part in self.latest and row.part]
        return Evidence(rows, tuple(self._floors()), tuple(_assessors(here)), _days(here))

    def _floors(self) -> Iterator[FigureView]:
        account = self.account
        for floor in range(1, len(STRENGTHS)):
            found = figures(
                account.inputs,
                day=account.question.day.toordinal(),
                reference=account.reference,
                basis="mass",
                evidence_floor=floor,
            )
            yield figure_view(found, account.inputs, guarded=True)

    # --- fabric from elsewhere ------------------------------------------------------------------------------------

    def from_elsewhere(self, fitted: Mapping[str, str]) -> Iterator[FromElsewhere]:
        """fitted: when, in words, by position."""
        for row in self.mass.rows:
            if row.category != FROM_ELSEWHERE or row.part not in self.parts:
                continue
            said = self.latest.get(row.part or "")
            vehicle = said.original_to if said else None
            yield FromElsewhere(
                *self._named(row.position, row.part),
                row.status,
                _vehicle_name(vehicle),
                fitted.get(row.position, ""),
                row.weight,
            )

    def with_elsewhere(self) -> WithElsewhere | None:
        if self.is_withheld:
            return None
        found = with_elsewhere(self.mass.rows)
        return None if found is None else WithElsewhere(*found)

    # --- losses and open questions --------------------------------------------------------------------------------

    def losses(self, survival: Survival | None, left: Mapping[str, str]) -> Iterator[Loss]:
        """The heaviest parts of the reference vehicle that are not with this one. left: when, by part."""
        gone = [row for row in survival.rows if row.where in GONE] if survival else []
        gone.sort(key=lambda row: (-(row.weight.best or 0) if row.weight else 0, row.position, row.part))
        for row in gone[:MOST]:
            yield Loss(
                *self._named(row.position, row.part),
                SURVIVAL_SHARES[row.where],
                left.get(row.part, ""),
                row.weight,
            )

    def open_questions(self) -> Iterator[OpenQuestion]:
        """What would narrow the bounds most, of the basis that the statement gives a percentage on."""
        answer = self._answer()
        rows = {(row.position, row.part): row for row in answer.rows}
        for one in survey(answer).parts[:MOST]:
            if one.gain is not None and one.gain > 0:
                row = rows[one.position, one.part]
                yield OpenQuestion(*self._named(one.position, one.part), one.gain, one.why, row.disputed)

    def _answer(self) -> VehicleFigures:
        return self.account.figures["count" if self.is_withheld else "mass"]

    # --- sums -----------------------------------------------------------------------------------------------------

    def masses(self) -> Masses:
        counted: Counter[str] = Counter()
        grams: Counter[str] = Counter()
        for row in (*self.mass.rows, *self.mass.wear_rows):
            part = self.parts.get(row.part or "")
            basis = "by the drawing" if row.assumed else part.mass_basis if part and row.weight else ""
            if row.weight is None:
                basis = "not known"
            counted[basis or "basis not stated"] += 1
            grams[basis or "basis not stated"] += _best(row)
        order = ("weighed", "calculated", "estimated", "by the drawing", "basis not stated", "not known")
        rows = tuple(MassKnown(one, counted[one], grams[one]) for one in order if counted[one])
        whole = self.mass.whole_vehicle
        accounted = whole.mass_accounted_for if whole and not self.is_withheld else None
        return Masses(rows, self.account.inputs.vehicle.empty_mass, accounted)

    def worked(self) -> Worked | None:
        """The sums of the headline, or of the figure by count where none by mass may be given."""
        answer = self._answer()
        weighed = [row for row in answer.rows if row.weight is not None]
        bounds = WeightedRange(
            (row.weight.low, row.weight.high, row.f.low, row.f.high) for row in weighed if row.weight
        )
        low, high = bounds.least(), bounds.greatest()
        if low is None or high is None:
            return None
        unit = UNIT[answer.basis]
        ranked = sorted((row for row in weighed if row.counts_in_best), key=lambda row: -_best(row))
        shown, rest = ranked[:MOST], ranked[MOST:]
        items = tuple(
            WorkedItem(
                *self._named(row.position, row.part),
                Fraction(_best(row), unit),
                Fraction(row.f.low, ONE),
                None if row.f.best is None else Fraction(row.f.best, ONE),
                Fraction(row.f.high, ONE),
            )
            for row in shown
        )
        return Worked(
            answer.basis,
            UNIT_WORDS[answer.basis],
            items,
            len(rest),
            len(ranked),
            _best_sum(rest, unit),
            _best_sum(ranked, unit),
            _least(weighed, low, unit),
            _greatest(weighed, high, unit),
        )

    def _named(self, position: str, part: str | None) -> tuple[str, str, str]:
        """(position, part, part id) as typed."""
        found = self.parts.get(part or "")
        label = self.account.labels.positions.get(position)
        return label.name if label else "", found.name if found else "", found.code if found else ""


def _best(row: Row) -> int:
    return row.weight.best or 0 if row.weight else 0


def _best_sum(rows: Iterable[Row], unit: int) -> Quotient | None:
    above = below = 0
    for row in rows:
        above += _best(row) * (row.f.best or 0)
        below += _best(row)
    return Quotient(Fraction(above, ONE * unit), Fraction(below, unit)) if below else None


def _least(rows: Iterable[Row], answer: Fraction, unit: int) -> Quotient:
    """Each fraction at its low end; the weight at its high end where that is not above the answer, so that the
    sum below is never nothing."""
    above = below = 0
    for row in rows:
        if row.weight:
            weight = row.weight.high if row.f.low <= answer else row.weight.low
            above, below = above + weight * row.f.low, below + weight
    return Quotient(Fraction(above, ONE * unit), Fraction(below, unit))


def _greatest(rows: Iterable[Row], answer: Fraction, unit: int) -> Quotient:
    above = below = 0
    for row in rows:
        if row.weight:
            weight = row.weight.high if row.f.high >= answer else row.weight.low
            above, below = above + weight * row.f.high, below + weight
    return Quotient(Fraction(above, ONE * unit), Fraction(below, unit))


def _assessors(assessments: Iterable[Assessment]) -> Iterator[str]:
    """``heritage officer (120 parts)``, the busiest first; those without a public name together, last."""
    names = Counter((one.assessor.public_as if one.assessor else "") for one in assessments)
    unnamed = names.pop("", 0)
    for name, number in names.most_common():
        yield f"{name} ({number:,} {'part' if number == 1 else 'parts'})"
    if unnamed:
        yield f"somebody not named here ({unnamed:,} {'part' if unnamed == 1 else 'parts'})"


def _days(assessments: Iterable[Assessment]) -> str:
    """``18 October 2022 to 4 March 2023``"""
    dates = sorted((one.assessed_on_edtf for one in assessments), key=lambda one: span_of(one).best)
    if not dates:
        return ""
    first, last = in_words(dates[0]), in_words(dates[-1])
    return first if first == last else f"{first} to {last}"


def _vehicle_name(vehicle: Vehicle | None) -> str:
    return vehicle.full_name if vehicle else ""
