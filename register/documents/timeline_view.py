"""The timeline of a vehicle as its page tells it: a row of words for each step, and the steps that the chart draws.

Row and step come from the same figures, so the table beside the chart says what the chart shows.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from register.documents.figure_words import BASES, NBSP, NOT_ENOUGH, figure, reference_words
from register.documents.step_band import Event, Step
from register.fabric.dates import day_in_words
from register.fabric.rounding import NO_FIGURE, shown, shown_high, shown_low
from register.fabric.timeline import Level, Timeline

HALF = 50
DRAWN = 360
"""Steps that a chart draws at the most; a table lists all of them."""


@dataclass(frozen=True, slots=True)
class StepRow:
    """A step as printed. iso: its day, for an address. step: the same step as the chart has it."""

    iso: str
    day: str
    bounds: str
    best: str
    assessed: str
    weight: str
    recorded: bool
    step: Step


@dataclass(frozen=True, slots=True)
class TimelineView:
    """rows: oldest first. until: the day on which the chart ends. about: by what and against what."""

    rows: tuple[StepRow, ...]
    until: int
    about: str
    unit: str

    @property
    def steps(self) -> tuple[Step, ...]:
        return tuple(row.step for row in self.rows)

    @property
    def drawn(self) -> tuple[Step, ...]:
        """What the chart draws: the steps, or, of very many, one for each stretch that can be told apart."""
        return thinned(self.steps, self.until)

    @property
    def is_thinned(self) -> bool:
        return len(self.drawn) < len(self.rows)

    def on(self, day: int) -> StepRow | None:
        """The step that holds on a day; None before the first."""
        found = [row for row in self.rows if row.step.day <= day]
        return found[-1] if found else None


def timeline_view(found: Timeline, until: int) -> TimelineView:
    """The steps up to ``until``, a day number."""
    basis = BASES[found.basis]
    about = f"{basis.words}, against {reference_words(found.reference)}"
    about += ", with wear parts" if found.include_wear else ""
    rows = tuple(
        _row(step.start, step.level, step.recorded, basis.decimals)
        for step in found.steps
        if step.start <= until
    )
    return TimelineView(rows, until, about, basis.unit)


def events_within(view: TimelineView, events: list[Event]) -> list[Event]:
    """Those that the chart has room for: from its first step to its end."""
    start = view.rows[0].step.day if view.rows else view.until
    return [one for one in events if start <= one.day <= view.until]


def thinned(steps: tuple[Step, ...], until: int, most: int = DRAWN) -> tuple[Step, ...]:
    """At most about ``most`` steps: of those in one stretch the last, with the least and the most of all of them.

    Nothing is left out of the bounds, so a chart of very many steps shows them no narrower than they are.
    """
    if len(steps) <= most:
        return steps
    start = steps[0].day
    width = max(1, -(-(until - start) // most))
    kept: list[Step] = []
    for step in steps:
        if not kept or (step.day - start) // width != (kept[-1].day - start) // width:
            kept.append(step)
            continue
        last = kept[-1]
        lows = [low for low in (last.low, step.low) if low is not None]
        highs = [high for high in (last.high, step.high) if high is not None]
        recorded = last.recorded and step.recorded
        kept[-1] = Step(
            last.day, min(lows, default=None), max(highs, default=None), step.best, recorded
        )
    return tuple(kept)


def _row(start: int, level: Level, recorded: bool, decimals: int) -> StepRow:
    enough = level.assessed_share is not None and level.assessed_share >= HALF
    best = level.best if enough else None
    bounds = NO_FIGURE if level.low is None else f"{shown_low(level.low)}–{shown_high(level.high)}"
    day = date.fromordinal(start)
    return StepRow(
        day.isoformat(),
        day_in_words(day).replace(" ", NBSP),
        bounds,
        shown(best) if best is not None or level.low is None else NOT_ENOUGH,
        figure(level.assessed_share),
        figure(level.weight, decimals),
        recorded,
        Step(start, level.low, level.high, best, recorded),
    )
