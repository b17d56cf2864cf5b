"""The section of a conservation statement on change: how the figures went, what was lost in all, what changed since the last
statement."""

from __future__ import annotations

from reportlab.platypus import Flowable

from register.documents.change_words import ChangeTold
from register.documents.pdf import WIDTH
from register.documents.pdf_charts import SCALE, Picture
from register.documents.pdf_tables import Column, Row, Total, side_by_side
from register.documents.statement_content import OverTime, Statement
from register.documents.statement_page import Numbered, named
from register.documents.statement_texts_content import Cumulative
from register.documents.step_band import Event, step_band

NOT_GIVEN = "Not given, as no percentage by mass is."


def change(page: Numbered, content: Statement) -> None:
    page.section("Change over time")
    withheld = bool(content.figures) and content.figures[0].is_withheld
    page.subsection("How the figures went")
    if withheld:
        page.say(NOT_GIVEN)
    elif content.over_time is None:
        page.say("There is no earlier day to compare with.")
    else:
        _over_time(page, content.over_time)
        if content.time_rows:
            _rows(page, content)
    page.subsection("Cumulative loss since the reference date")
    if withheld:
        page.say(NOT_GIVEN)
    elif content.cumulative is None:
        page.say("The reference date is not over: nothing has been lost since.")
    else:
        _cumulative(page, content.cumulative)
    issue = content.front.issue
    page.subsection(f"What changed since {issue.supersedes}" if issue and issue.changed else "Since the last statement")
    if issue is None:
        page.say("A draft is compared with none.")
    elif issue.changed is None:
        page.say("It is the first of this vehicle." if not issue.supersedes else "It cannot be compared with the last one.")
    else:
        _since(page, issue.changed)


def _over_time(page: Numbered, told: OverTime) -> None:
    if not told.steps or told.until <= told.steps[0].day:
        page.say("There is no earlier day to compare with.")
        return
    start = told.steps[0].day
    events = [Event(one.number, one.day) for one in told.balloons if start <= one.day <= told.until]
    first = WIDTH * 0.6
    sheet = step_band(
        told.steps,
        told.until,
        events,
        width=first / SCALE,
        height=250,
        title=f"Change over time, {told.about}",
    )
    chart = Picture.of(sheet, page.paper.tree)
    said: list[Flowable] = []
    for one in told.balloons:
        said += page.paper.words(one.words, "note", lead=one.number)
    about = told.about[:1].upper() + told.about[1:]
    said += page.paper.words(
        f"{about}. Band: bounds. Heavy line: best. Dotted: something was found out, nothing happened.", "note"
    )
    page.paper.add(side_by_side([[chart], said], first), page.paper.space(6))


def _rows(page: Numbered, content: Statement) -> None:
    columns = [
        Column("Day", 38),
        Column("What it is the day of", 72),
        Column("Bounds, %", 24, True),
        Column("Best, %", 18, True),
        Column("Assessed, %", 0, True),
    ]
    page.table(columns, [[one.day, one.what, one.bounds, one.best, one.assessed] for one in content.time_rows])


def _cumulative(page: Numbered, found: Cumulative) -> None:
    columns = [
        Column("Best figure, retained, since", 82),
        Column("Then", 26, True),
        Column("Now", 26, True),
        Column("Change, points", 0, True),
    ]
    page.table(columns, [[one.label, one.then, one.now, one.change] for one in found.since])
    if found.limit:
        page.say(found.limit)
    if found.fates:
        page.paper.add(page.paper.room(110))  # the note goes with its table
        page.say(
            f"What became of the vehicle of the reference period, {found.about}. Material renewed and what is lost do not come back.",
            "note",
        )
        rows: list[Row] = [[one.words, one.weight, one.percent] for one in found.fates]
        rows.append(Total(["Together", *found.total]))
        rows.append(["of this gone for good: material renewed, and lost", *found.gone])
        page.table([Column("Fabric of then", 82), Column("kg", 26, True), Column("%", 0, True)], rows)


def _since(page: Numbered, told: ChangeTold) -> None:
    """Work and knowledge apart (method, section 12)."""
    for sentence in told.sentences:
        page.say(sentence)
    page.table([Column("Bounds of", 40), Column("As at", 40), Column("", 0)], map(list, told.bounds))
    if told.rows:
        rows: list[Row] = [[named(one.part, one.part_id), one.work, one.knowledge] for one in told.rows]
        page.table([Column("Part", 110), Column("Work", 25, right=True), Column("Knowledge", 0, right=True)], rows)
    if told.smaller:
        page.say(told.smaller)
