"""A paper in numbered sections, and what its tables have in common."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from functools import cache
from itertools import count

from register.documents.chips import chip, wear_chip
from register.documents.pdf import Paper
from register.documents.pdf_charts import Mark, tight
from register.documents.pdf_tables import NOTHING, Cell, Column, Row, Small, table
from register.documents.statement_words import NOT_KNOWN
from register.fabric.rounding import shown, shown_high, shown_low


class Numbered:
    """A paper whose sections are numbered in their order."""

    def __init__(self, paper: Paper) -> None:
        self.paper = paper
        self._sections = count(1)
        self._section = 0
        self._subsections = count(1)

    def section(self, words: str) -> None:
        self._section, self._subsections = next(self._sections), count(1)
        self.paper.add(*self.paper.heading(f"{self._section}\u2002{words}"))

    def subsection(self, words: str, room: float = 0) -> None:
        """room: points that it should have on one page."""
        if room:
            self.paper.add(self.paper.room(room))
        self.paper.add(
            *self.paper.heading(f"{self._section}.{next(self._subsections)}\u2002{words}", "subsection")
        )

    def say(self, words: str, style: str = "body", lead: str = "") -> None:
        self.paper.add(*self.paper.words(words, style, lead=lead))

    def table(self, columns: list[Column], rows: Iterable[Row]) -> None:
        self.paper.add(*table(self.paper, columns, rows))


@cache
def status_mark(status: str, *, doubtful: bool = False, disputed: str = "") -> Mark:
    """The chip of a status, as low as a line of text."""
    return Mark(tight(chip(status, doubtful=doubtful, disputed=disputed)))


@cache
def wear_mark() -> Mark:
    """The same for a wear part, which no status is asked of."""
    return Mark(tight(wear_chip()))


def percent_range(low: Fraction, high: Fraction) -> str:
    """``82–93``, whole numbers, rounded outwards."""
    first, last = shown_low(low, 0), shown_high(high, 0)
    return first if first == last else f"{first}–{last}"


def kilograms(grams: int) -> str:
    """``1,640``: to the kilogram, or below ten kilograms to the tenth."""
    number = Fraction(grams, 1000)
    return f"{float(shown(number, 1)):,.1f}" if 0 < number < 10 else f"{int(shown(number, 0)):,}"


def seen(visibility: str) -> str:
    """In the words of a narrow column."""
    return {"close inspection": "close"}.get(visibility, visibility) or NOT_KNOWN


def named(first: str, below: str) -> Cell:
    return (first, Small(below)) if below else first


def part_name(position: str, part: str, part_id: str) -> str:
    """The id of the part, and its name if the position does not say it already."""
    return part_id if part == position or not part else f"{part_id} {part}".strip()


def cited(numbers: tuple[int, ...]) -> str:
    return ", ".join(map(str, numbers)) or NOTHING
