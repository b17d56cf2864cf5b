"""A period: two days and all between them; and how a date that may be uncertain lies to it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from register.fabric.dates import Span, day_in_words

LONGEST = 25
"""Years in a period at most: the timeline of a vehicle tells more (our own rule)."""

QUARTER = 3
MONTHS = 12


@dataclass(frozen=True, slots=True)
class Period:
    """first, last: day numbers; both belong to the period."""

    first: int
    last: int

    def __post_init__(self) -> None:
        if self.first > self.last:
            raise ValueError(f"a period from day {self.first} to day {self.last} runs backwards")

    @property
    def eve(self) -> int:
        """The day before it begins: the figures of that day are those that it begins with."""
        return self.first - 1

    def has(self, day: int) -> bool:
        return self.first <= day <= self.last

    def is_of(self, span: Span) -> bool:
        """Whether what lies somewhere in the span is taken to have happened in the period: by its best day, as in
        the figures."""
        return self.has(span.best)

    def may_be_of(self, span: Span) -> bool:
        """Whether it may have."""
        return span.earliest <= self.last and self.first <= span.latest

    def doubt(self, span: Span) -> str:
        """What has to be said beside an uncertain date: "" where it is certain; else a sentence without a stop."""
        before, after = span.earliest < self.first, span.latest > self.last
        first, last = (day_in_words(date.fromordinal(day)) for day in (self.first, self.last))
        if not self.may_be_of(span) or not (before or after):
            return ""
        if not self.is_of(span):
            return f"taken as {'before' if span.best < self.first else 'after'} the period, and may have been in it"
        if before and after:
            return f"may have been before {first}, or after {last}"
        return f"may have been before {first}" if before else f"may have been after {last}"


def offered(today: date) -> Iterator[tuple[str, date, date]]:
    """(name, first, last) of the periods that are asked for most, the usual one first; none of them ends after today."""
    yield "The year up to today", _years_before(today, 1) + timedelta(days=1), today
    start = date(today.year, today.month - (today.month - 1) % QUARTER, 1)
    end = start - timedelta(days=1)
    yield "The last full quarter", date(end.year, end.month - QUARTER + 1, 1), end
    yield "The last full year", date(today.year - 1, 1, 1), date(today.year - 1, MONTHS, 31)
    yield "This year so far", date(today.year, 1, 1), today


def is_too_long(first: date, last: date) -> bool:
    return last > _years_before(first, -LONGEST)


def _years_before(day: date, years: int) -> date:
    """The same day of another year; the last of February for the 29th."""
    try:
        return day.replace(year=day.year - years)
    except ValueError:
        return day.replace(year=day.year - years, day=28)
