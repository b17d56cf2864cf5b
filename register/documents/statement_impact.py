"""The section of a conservation statement on open proposals: options, effect before and after, conclusion."""

from __future__ import annotations

from register.documents.figure_words import count_of
from register.documents.pdf_tables import Cell, Column, Row, Small
from register.documents.statement_content import Statement
from register.documents.statement_page import Numbered
from register.documents.statement_texts_content import Impact, Option

LEAD = (
    "Nothing that is proposed is counted in any figure elsewhere in this statement. Every option is laid over the same rows, on"
    " the same day, as if it were done; the change in brackets, in points, is worked out before rounding. What would really"
    " be done is recorded when it is done."
)


def impact(page: Numbered, content: Statement) -> None:
    page.section("Impact of open proposals")
    found = content.proposed
    if found is None or not found.impacts:
        page.say("No proposal is open: none waits for a decision, and none is decided and not carried out.")
    else:
        page.say(LEAD)
        for one in found.impacts:
            _proposal(page, one)
    if found is not None and found.writing:
        more = "is" if found.writing == 1 else "are"
        page.say(f"{count_of(found.writing, 'proposal')} {more} being written, and not assessed here.")


def _proposal(page: Numbered, one: Impact) -> None:
    page.subsection(f"{one.code} {one.title}, {one.state}", 200)
    page.say(one.need or "not said", lead="Why it is wanted.")
    columns = [
        Column("", 8),
        Column("Option, and why not", 62),
        *(Column(label, 27, True) for label in one.labels),
        Column("Original fabric leaving", 0, True),
    ]
    rows: list[Row] = [["", "as it is", *one.now, ""]]
    rows += [_option(option) for option in one.options]
    page.table(columns, rows)
    for question, answer in one.tests:
        page.say(answer or "not answered", lead=f"{question.rstrip('?')}.")
    page.say(one.conclusion, lead="Conclusion.")


def _option(one: Option) -> Row:
    below = [one.words] if one.words else []
    below += [f"{step}." for step in one.steps]
    below += [f"Can be undone: {one.undo}."] if one.undo else []
    below += [f"Against it: {one.why_not}"] if one.why_not else []
    title = f"{one.title}: recommended" if one.is_recommended else one.title
    what: Cell = (title, *map(Small, below))
    return [one.letter, what, *one.figures, one.leaving]
