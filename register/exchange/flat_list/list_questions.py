"""What is asked once, of the list as a whole: its day, the vehicle, what can be seen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from register.exchange.flat_list.answers import Context
from register.exchange.flat_list.facts import marks_of, year_on_plate
from register.exchange.flat_list.results import LineOutcome, Question
from register.exchange.flat_list.roles import VISIBILITY
from register.exchange.flat_list.things import Thing


def about_the_day(context: Context, undated: Sequence[str], waiting: Sequence[str]) -> Iterator[Question]:
    """undated: parts whose fitting has no date; waiting: parts that would be assessed if the list had a
    day."""
    key, about = f"{context.vehicle} day", "day of the list"
    if not context.day and (undated or waiting):
        yield Question(
            key,
            about,
            "On which day were these things seen as the list has them? Without it "
            f"{len(waiting)} draft assessments and {len(undated)} installations without a date are not made.",
            ", ".join(dict.fromkeys([*undated, *waiting])),
        )
    elif undated:
        yield Question(
            key,
            about,
            f"{len(undated)} parts without a date are entered as seen in place on {context.day_in_words}. "
            "That is right only if whoever kept the list looked at them then.",
            ", ".join(undated),
        )


def about_the_plate(context: Context, things: Iterable[Thing]) -> Iterator[Question]:
    """The year on a plate may be that of building: asked, never taken."""
    for thing in things:
        year = year_on_plate(thing.item, marks_of(thing.read)) if thing.kind == "thing" else ""
        if year:
            asked = f"The plate says {year}. Is that the year in which she was built?"
            key = f"{context.id(thing.ident)} built"
            yield Question(key, "built", asked, thing.remark, year, thing.line, thing.number, thing.name)


def about_heritage(context: Context, lines: Iterable[LineOutcome]) -> Iterator[Question]:
    if context.answers.heritage_from:
        return
    if any(row.table == "assessments" for line in lines for row in line.rows):
        yield Question(
            f"{context.vehicle} heritage",
            "heritage from",
            "Since when has she been looked after as heritage? What the railway renewed before that is "
            "historic, what was made new after it is not.",
        )


def about_visibility(context: Context, lines: Iterable[LineOutcome]) -> Iterator[Question]:
    """Where the list has no column for it, every position has the one visibility that was chosen."""
    chosen = context.choices.visibility
    rows = [row for line in lines for row in line.rows if row.table == "positions"]
    count = sum(1 for row in rows if row.values["visibility"] == chosen and "visibility" not in row.doubts)
    if count and context.choices.column(VISIBILITY) is None:
        yield Question(
            f"{context.vehicle} visibility",
            "visibility",
            f"The list does not say what can be seen: {count} positions are entered as “{chosen}”, others as "
            "their remarks have it. Walk round and set them right.",
        )
