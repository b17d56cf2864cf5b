"""What became of the reference vehicle, in words: its shares, their weights, and what stands beside them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from register.documents.figure_parts import BoundsView
from register.documents.figure_words import BASES, NBSP, count_of, figure, reference_words
from register.fabric.dates import day_in_words
from register.fabric.interval import ONE
from register.fabric.rounding import NO_FIGURE, shown_high, shown_low
from register.fabric.survival import SHARES, WITH_THIS, Survival, SurvivalRow


class LotRow(NamedTuple):
    """One of the seven lots; the texts are without units, which stand in the head of the table."""

    share: str
    percent: Fraction
    percent_text: str
    weight_text: str


@dataclass(frozen=True, slots=True)
class SurvivalView:
    """Made by ``survival_view``."""

    answer: Survival

    @property
    def day(self) -> str:
        return day_in_words(date.fromordinal(self.answer.day))

    @property
    def asked(self) -> str:
        answer = self.answer
        words = f"{BASES[answer.basis].words}, of the vehicle {reference_words(answer.reference)}, as at "
        return words + self.day.replace(" ", NBSP) + (", with wear parts" if answer.include_wear else "")

    @property
    def unit(self) -> str:
        return BASES[self.answer.basis].unit

    @property
    def bounds(self) -> BoundsView | None:
        """Of the share with this vehicle."""
        answer = self.answer
        if answer.low is None or answer.high is None:
            return None
        best = answer.shares[WITH_THIS]
        return BoundsView("Still with this vehicle, bounds", self.asked, answer.low, answer.high, best)

    @property
    def lots(self) -> tuple[LotRow, ...]:
        """In their order; none where nothing has a weight."""
        if not self.answer.weight:
            return ()
        decimals = BASES[self.answer.basis].decimals
        found = []
        for share in SHARES:
            percent = self.answer.shares[share] or Fraction(0)
            weight = percent * self.answer.weight / 100
            found.append(LotRow(share, percent, figure(percent), figure(weight, decimals)))
        return tuple(found)

    @property
    def total_text(self) -> str:
        return figure(self.answer.weight, BASES[self.answer.basis].decimals)

    @property
    def not_assessed(self) -> int:
        return sum(not row.status for row in self.answer.rows)

    @property
    def parts(self) -> tuple[SurvivalRow, ...]:
        """The heaviest first among those that are not with the vehicle; then those that are."""
        return tuple(sorted(self.answer.rows, key=_away_and_heavy_first))

    @property
    def made_since(self) -> str:
        """What tells this figure from the retained one, where replicas were in place already; "" where none were."""
        number = len(self.answer.made_since)
        if not number:
            return ""
        were = "was" if number == 1 else "were"
        return (
            f"{count_of(number, 'part')} {were} a replica or a modern substitute already in that state: surviving "
            "fabric of it here, and never retained original fabric."
        )

    def left_of(self, row: SurvivalRow) -> str:
        """``63 %``, ``60–80 %`` or "not known": how much of the part is left."""
        if row.s.best is None:
            return "not known"
        low, high = shown_low(Fraction(row.s.low * 100, ONE), 0), shown_high(Fraction(row.s.high * 100, ONE), 0)
        return f"{low}{NBSP}%" if low == high else f"{low}–{high}{NBSP}%"

    def weight_of(self, row: SurvivalRow) -> str:
        if row.weight is None or row.weight.best is None:
            return NO_FIGURE
        unit = 1000 if self.answer.basis == "mass" else 1
        return figure(Fraction(row.weight.best, unit), BASES[self.answer.basis].decimals)


def _away_and_heavy_first(row: SurvivalRow) -> tuple[bool, int, str]:
    return row.where == WITH_THIS, -(row.weight.best or 0) if row.weight else 0, row.position


def survival_view(answer: Survival) -> SurvivalView:
    """The answer in words."""
    return SurvivalView(answer)
