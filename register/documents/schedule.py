"""What a schedule of figures says: vehicles before, after the works proposed and after completion, by one method.

Plain values that page, paper, workbook and charts are made from alike, so that no two of them can differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from fractions import Fraction

from register.documents.comparison import change_words
from register.documents.figure_parts import BoundsView
from register.documents.figure_view import FigureView
from register.documents.figure_words import NBSP, figure
from register.fabric.dates import day_in_words
from register.fabric.inputs import BASES
from register.fabric.rounding import NO_FIGURE

BEFORE, PROPOSED, COMPLETED = "before", "after the proposed works", "after completion"
STATES = (BEFORE, PROPOSED, COMPLETED)
EVERY, WEIGHTED, WHOLE = "every part", "the weighted parts only", "the whole vehicle"
KEPT_BACK = "kept back"
NOT_CHOSEN = "No works were chosen."


@dataclass(frozen=True, slots=True)
class State:
    """A vehicle in one of ``STATES``. views: by basis; none where ``missing`` says why there are no figures.

    data_hash: SHA-256 of the inputs that the figures were computed from. notes: sentences that a reader must not miss.
    """

    name: str
    day: date | None = None
    views: Mapping[str, FigureView] = field(default_factory=dict)
    data_hash: str = ""
    missing: str = ""
    notes: tuple[str, ...] = ()

    @property
    def is_told(self) -> bool:
        """Whether anything can be said of it: not where no works were chosen."""
        return bool(self.views) or self.missing != NOT_CHOSEN

    @property
    def label(self) -> str:
        """``Before, as at 30 June 2024``"""
        words = self.name[:1].upper() + self.name[1:]
        return f"{words}, as at {day_in_words(self.day).replace(' ', NBSP)}" if self.day else words


@dataclass(frozen=True, slots=True)
class Entry:
    """One vehicle. reference: in words, with its date. works: what is proposed, a sentence a proposal. missing: why nothing
    can be said of it; then it has no states."""

    key: str
    vehicle_id: str
    name: str
    reference: str = ""
    reference_date: str = ""
    states: tuple[State, ...] = ()
    works: tuple[str, ...] = ()
    missing: str = ""

    def state(self, name: str) -> State | None:
        return next((one for one in self.states if one.name == name), None)

    @property
    def told(self) -> tuple[State, ...]:
        """The states of which something can be said."""
        return tuple(one for one in self.states if one.is_told)

    @property
    def drawn(self) -> tuple[State, ...]:
        """The states that have figures."""
        return tuple(one for one in self.states if one.views)


@dataclass(frozen=True, slots=True)
class Run:
    """By whom, when, on what and by which choices a schedule was made. address, command: what gives the same again.
    parameters: (name, value), as a workbook keeps them."""

    railway: str
    at: datetime
    by: str
    method_version: str
    software_version: str
    change_no: int
    register_id: str
    address: str
    command: str
    parameters: tuple[tuple[str, str], ...] = ()

    @property
    def minute(self) -> str:
        """``25 November 2026, 14:03``"""
        return f"{day_in_words(self.at.date())}, {self.at:%H:%M}"


@dataclass(frozen=True, slots=True)
class Schedule:
    """day: of ``before``. basis: of the headline. sentences: what was asked for and could not be had as asked."""

    run: Run
    day: date
    basis: str
    entries: tuple[Entry, ...]
    has_works: bool = False
    sentences: tuple[str, ...] = ()

    @property
    def bases(self) -> tuple[str, ...]:
        """The headline's first."""
        return (self.basis, *(one for one in BASES if one != self.basis))

    @property
    def names(self) -> str:
        """Of the vehicles; how many they are where they are several."""
        return self.entries[0].name if len(self.entries) == 1 else f"{len(self.entries)} vehicles"


@dataclass(frozen=True, slots=True)
class Line:
    """One figure of one state. of: which parts it is of. bounds: None where ``why`` says why there are none. leads: it
    stands first on its basis. change_…: in points against the same figure before, worked out before rounding."""

    state: State
    basis: str
    of: str
    leads: bool
    view: FigureView
    bounds: BoundsView | None
    why: str = ""
    change_low: Fraction | None = None
    change_best: Fraction | None = None
    change_high: Fraction | None = None

    @property
    def best_text(self) -> str:
        """``51.5``, or why there is none"""
        return self.bounds.best_text or NO_FIGURE if self.bounds else NO_FIGURE

    @property
    def assessed_text(self) -> str:
        """``92.0``; a share by mass is kept back with the percentages it would stand beside."""
        return KEPT_BACK if self.view.is_withheld else self.view.assessed_text

    @property
    def parts(self) -> str:
        return f"{self.view.figures.items:,}"

    @property
    def weight_text(self) -> str:
        if self.view.is_withheld:
            return KEPT_BACK
        return figure(self.view.figures.weight, self.view.basis.decimals)

    @property
    def change(self) -> str:
        """``low −0.2, best −0.1, high −0.3``; "" for the state that the others are compared with"""
        if self.change_low is None or self.change_high is None:
            return ""
        nothing = Fraction(0)
        ends = [("low", self.change_low), ("best", self.change_best), ("high", self.change_high)]
        if all(value in (nothing, None) for _, value in ends):
            return "no change"
        return ", ".join(f"{end} {change_words(nothing, value)}" for end, value in ends if value is not None)


def lines_of(entry: Entry, basis: str) -> list[Line]:
    """Every figure of the vehicle on one basis, those of the same parts together, in the order of the states; what leads
    first. A state without figures has no line."""
    found: list[Line] = []
    for state in entry.drawn:
        found += _lines(state, basis, entry.state(BEFORE))
    leading = found[0].of if found else ""
    return sorted(found, key=lambda one: (_group(one.of) != _group(leading), STATES.index(one.state.name)))


def _group(of: str) -> bool:
    """Every part and the weighted parts are the same figure; the whole vehicle's is another."""
    return of == WHOLE


def _lines(state: State, basis: str, before: State | None) -> Iterator[Line]:
    view = state.views[basis]
    then = before.views.get(basis) if before and state.name != BEFORE else None
    own_of = WEIGHTED if view.figures.unweighted else EVERY
    own = _line(state, view, own_of, view.own, then.own if then else None)
    whole = _line(state, view, WHOLE, view.whole, then.whole if then else None)
    if view.own is None and view.whole is None:
        yield own
        return
    for line in (whole, own) if view.whole_first else (own, whole):
        if line.bounds is not None:
            yield line


def _line(
    state: State, view: FigureView, of: str, bounds: BoundsView | None, then: BoundsView | None
) -> Line:
    is_kept_back = view.is_withheld or bounds is None
    line = Line(
        state, view.answer.basis, of, bounds is view.lead, view, bounds, view.no_figure if is_kept_back else ""
    )
    if then is None or bounds is None:
        return line
    best = bounds.best - then.best if bounds.best is not None and then.best is not None else None
    return replace(
        line, change_low=bounds.low - then.low, change_best=best, change_high=bounds.high - then.high
    )


def headline(state: State, basis: str) -> BoundsView | None:
    """What stands first of a state on the basis; None where there is no percentage to show."""
    view = state.views.get(basis)
    return view.lead if view else None


@dataclass(frozen=True, slots=True)
class Summary:
    """The headline of one vehicle in a line. bounds: one a state, ``–`` where there are none."""

    entry: Entry
    bounds: tuple[str, ...]
    assessed: str
    unweighted: str


def summary_of(entry: Entry, basis: str) -> Summary:
    """The bounds that stand first in every state, with what no figure goes without."""
    before = entry.state(BEFORE)
    view = before.views.get(basis) if before else None
    if view is None:
        return Summary(entry, ("not given", *[NO_FIGURE] * (len(STATES) - 1)), NO_FIGURE, NO_FIGURE)
    bounds = tuple(_short(one, basis) for one in entry.states)
    return Summary(entry, bounds, KEPT_BACK if view.is_withheld else view.assessed_text, view.unweighted)


def _short(state: State, basis: str) -> str:
    lead = headline(state, basis)
    if lead is None:
        return "not given" if state.views else NO_FIGURE
    return lead.short
