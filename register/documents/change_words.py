"""What changed between two figures, in words: what was done, and what was found out, apart (method, section 12)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from register.documents.figure_words import count_of, percent
from register.fabric.change import Change, PartChange
from register.fabric.dates import day_in_words
from register.fabric.rounding import shown, shown_change, shown_high, shown_low

NOTHING = shown_change(0)
NAMED = 3
"""Parts that a sentence names; the table has them all."""


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """A part and the points that its contribution went up or down by, as printed."""

    part: str
    part_id: str
    work: str
    knowledge: str


@dataclass(frozen=True, slots=True)
class ChangeTold:
    """sentences: the whole of it in words. rows: by part, largest first, those that print as nothing
    left out. smaller: how many those are, in words. bounds: before and after, as printed."""

    sentences: tuple[str, ...]
    rows: tuple[ChangeRow, ...]
    bounds: tuple[tuple[str, str, str], ...]
    smaller: str = ""


def told(found: Change, names: Mapping[str, tuple[str, str]], *, first: str, second: str) -> ChangeTold:
    """names: (id, name) of a part by its key; parts without one are not named. first, second: what is compared, such as
    ``CS-0001``."""
    rows = tuple(
        ChangeRow(names[one.part][1], names[one.part][0], shown_change(one.work), shown_change(one.knowledge))
        for one in found.parts
        if one.part in names
    )
    seen = tuple(row for row in rows if {row.work, row.knowledge} - {NOTHING})
    bounds = tuple(
        (
            what,
            day_in_words(date.fromordinal(figures.day)),
            f"{shown_low(figures.whole.low)} to {shown_high(figures.whole.high)} %",
        )
        for what, figures in ((first, found.before), (second, found.after))
    )
    rest = len(rows) - len(seen)
    smaller = f"{count_of(rest, 'part')} more changed, each by less than 0.05 points." if rest else ""
    return ChangeTold(tuple(_sentences(found, names)), seen, bounds, smaller)


def _sentences(found: Change, names: Mapping[str, tuple[str, str]]) -> Iterator[str]:
    before, after = found.before.whole.best, found.after.whole.best
    if found.total is None or found.work is None or found.knowledge is None:
        yield "One of the two has no best figure, so the change has none either: compare the bounds."
        return
    if not found.total and not found.parts:
        yield f"Nothing changed: the best figure by {found.basis} is {percent(after)} as it was."
        return
    yield (
        f"The best figure by {found.basis} went from {percent(before)} to {percent(after)}: "
        f"{shown_change(found.total)} points."
    )
    yield from _parted(found.total, found.work, found.knowledge)
    for what, share in (("Found out", "knowledge"), ("Done", "work")):
        moved = _largest(found.parts, share)
        if said := ", ".join(
            f"{names[one.part][1]} ({points})"
            for one in moved
            if one.part in names and (points := shown_change(getattr(one, share))) != NOTHING
        ):
            yield f"{what}: {said}."


def _parted(total: Fraction, work: Fraction, knowledge: Fraction) -> Iterator[str]:
    """Which of it is which. Where the two go opposite ways there is no "of": both are said with their sign."""
    whole = shown(abs(total))
    if not work and not knowledge:
        yield "What the single parts gained and lost evens out."
    elif not work:
        yield "All of it is knowledge: nothing was done, something was found out."
    elif not knowledge:
        yield "All of it is work: something was done."
    elif (work > 0) == (knowledge > 0):
        yield (
            f"{shown(abs(knowledge))} of the {whole} points are knowledge (something was found out), "
            f"{shown(abs(work))} are work (something was done)."
        )
    else:
        yield (
            f"Knowledge (something was found out) made {shown_change(knowledge)} points, "
            f"work (something was done) {shown_change(work)}."
        )


def _largest(parts: tuple[PartChange, ...], share: str) -> list[PartChange]:
    moved = [one for one in parts if getattr(one, share)]
    return sorted(moved, key=lambda one: -abs(getattr(one, share)))[:NAMED]
