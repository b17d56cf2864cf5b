"""The pieces of a figure in words: bounds, cells of a title block, rows of the tables beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from register.documents.figure_words import NBSP
from register.documents.palette import Mark
from register.fabric.rounding import shown, shown_high, shown_low


@dataclass(frozen=True, slots=True)
class BoundsView:
    """Bounds to be shown, with the best figure between them if it may be.

    low, high, best, likely: exact percentages, for a chart. no_best: what stands for a best figure that may
    not be shown. about: by what, against what, as at when.
    """

    label: str
    about: str
    low: Fraction
    high: Fraction
    best: Fraction | None = None
    likely: tuple[float, float] | None = None
    no_best: str = ""
    decimals: int = 1

    @property
    def low_text(self) -> str:
        return shown_low(self.low, self.decimals)

    @property
    def high_text(self) -> str:
        return shown_high(self.high, self.decimals)

    @property
    def range(self) -> str:
        """``43.9 to 59.1``"""
        return f"{self.low_text} to {self.high_text}"

    @property
    def words(self) -> str:
        """``43.9 to 59.1 %``"""
        return f"{self.range}{NBSP}%"

    @property
    def short(self) -> str:
        """``43.9–59.1``, for a column whose head holds the sign"""
        return f"{self.low_text}–{self.high_text}"

    @property
    def best_text(self) -> str:
        """``51.5``, or why there is none"""
        return self.no_best if self.best is None else shown(self.best, self.decimals)

    @property
    def best_words(self) -> str:
        """``51.5 %``, or why there is none"""
        return self.no_best if self.best is None else f"{self.best_text}{NBSP}%"

    @property
    def likely_words(self) -> str:
        """``likely 50.9–52.2, approximate``; "" where there is none"""
        if self.likely is None:
            return ""
        low, high = self.likely
        return f"likely {shown_low(low, self.decimals)}–{shown_high(high, self.decimals)}, approximate"

    @property
    def title(self) -> str:
        """Of a chart."""
        return f"{self.label}: {self.words}"

    @property
    def description(self) -> str:
        """Of a chart: by what, against what, as at when, and the best figure or why there is none."""
        best = f" Best: {self.best_words}." if self.best_words else ""
        likely = f" {self.likely_words.capitalize()}." if self.likely_words else ""
        return f"{self.about[:1].upper()}{self.about[1:]}.{best}{likely}"


class Cell(NamedTuple):
    """A cell of a title block. key: which it is, for a link beside it."""

    key: str
    label: str
    value: str
    note: str = ""


class CompositionRow(NamedTuple):
    """One of the seven categories; the texts are without units, which stand in the head of the table."""

    category: str
    mark: Mark
    words: str
    percent: Fraction
    percent_text: str
    weight_text: str


class VisibilityRow(NamedTuple):
    """What is seen in one way. bounds: None where nothing there has a weight. shares: percent by category."""

    visibility: str
    words: str
    bounds: BoundsView | None
    assessed_text: str
    parts: str
    weight_text: str
    shares: Mapping[str, Fraction | None]


class StatusCount(NamedTuple):
    """How many parts have a status."""

    status: str
    mark: Mark
    number: int
