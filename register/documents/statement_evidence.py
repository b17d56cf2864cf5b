"""The sections of a conservation statement about evidence, masses, fabric from elsewhere and the worked sum."""

from __future__ import annotations

from fractions import Fraction

from register.documents.figure_view import FigureView
from register.documents.figure_words import NBSP, STRENGTHS, count_of, percent
from register.documents.pdf_tables import NOTHING, Column, Row, Small, Total
from register.documents.statement_content import Statement
from register.documents.statement_evidence_content import (
    Evidence,
    FromElsewhere,
    Quotient,
    Worked,
    WorkedItem,
)
from register.documents.statement_page import Numbered, kilograms, named, part_name, status_mark
from register.documents.statement_words import HOW_SEEN, NOT_KNOWN, RESTS_ON
from register.fabric.rounding import shown, shown_high, shown_low


def evidence(page: Numbered, content: Statement) -> None:
    page.section("Evidence")
    found = content.evidence
    if found is None or not found.rows:
        page.say("No part is fitted, so no evidence is asked for.")
        return
    page.say("How strong the evidence behind each assessment is follows from its sources, never from an opinion.")
    columns = [Column("Strength", 30), Column("It rests on", 96), Column("Parts", 18, True), Column("kg", 0, True)]
    rows: list[Row] = [
        [
            "not assessed" if row.strength is None else STRENGTHS[row.strength],
            RESTS_ON[row.strength],
            f"{row.parts:,}",
            kilograms(row.grams),
        ]
        for row in found.rows
    ]
    rows.append(
        Total(
            ["Together", "", f"{sum(row.parts for row in found.rows):,}", kilograms(sum(row.grams for row in found.rows))]
        )
    )
    page.table(columns, rows)
    _floors(page, content, found)
    page.subsection("Who assessed, and how")
    page.say(f"Assessed by: {'; '.join(found.assessors) or NOT_KNOWN}. Dated: {found.days or NOT_KNOWN}.")
    page.say(HOW_SEEN)


def _floors(page: Numbered, content: Statement, found: Evidence) -> None:
    page.subsection("What remains if only stronger claims count", 150)
    page.say(
        "Every assessment on weaker evidence is taken as not assessed, so that it may be anything: the bounds open, and"
        " the low bound is what the stronger claims alone carry. No best figure is given."
    )
    views = [*content.figures[:1], *found.floors]
    if not views or all(view.own is None and view.whole is None for view in views):
        page.say("Not given, as no percentage is.")
        return
    columns = [
        Column("Claims counted", 46),
        Column("Bounds, %", 30, True),
        Column("Whole vehicle, %", 34, True),
        Column("Assessed, %", 24, True),
        Column("Not assessed", 0, True),
    ]
    page.table(columns, [_floor(view) for view in views])


def _floor(view: FigureView) -> Row:
    floor = view.answer.evidence_floor
    words = "all" if not floor else f"{STRENGTHS[floor]}{' or better' if floor < len(STRENGTHS) - 1 else ' only'}"
    return [
        words,
        view.own.short if view.own else NOTHING,
        view.whole.short if view.whole else NOTHING,
        NOTHING if view.is_withheld else view.assessed_text,
        view.not_assessed.removesuffix(" not assessed"),
    ]


# Within the account of the fabric


def elsewhere(page: Numbered, content: Statement) -> None:
    page.subsection("With and without fabric from elsewhere")
    if not content.elsewhere:
        page.say("No fitted part is recorded as having belonged to another vehicle first.")
        return
    figures, found = content.figures[:1], content.with_elsewhere
    page.say(
        "A historic part that belonged to another vehicle first is never original to this one. The second row counts what"
        " survives of such parts as if it were."
    )
    if figures and found and figures[0].own:
        own = figures[0].own
        best = NOTHING if found.best is None or own.best is None else shown(found.best)
        page.table(
            [Column("By mass, of the weighted parts", 80), Column("Bounds, %", 40, True), Column("Best", 0, True)],
            [
                ["without fabric from elsewhere: the figure", own.short, own.best_text],
                ["with fabric from elsewhere", f"{shown_low(found.low)}–{shown_high(found.high)}", best],
            ],
        )
    columns = [
        Column("Position and part", 62), Column("Status", 20), Column("First belonged to", 48), Column("Fitted here", 24), Column("kg", 0, True),
    ]  # fmt: skip
    page.table(columns, map(_from_elsewhere, content.elsewhere))


def _from_elsewhere(one: FromElsewhere) -> Row:
    return [
        named(one.position, part_name(one.position, one.part, one.part_id)),
        status_mark(one.status),
        one.vehicle or NOT_KNOWN,
        one.fitted or NOT_KNOWN,
        NOT_KNOWN if one.mass is None or one.mass.best is None else kilograms(one.mass.best),
    ]


def masses(page: Numbered, content: Statement) -> None:
    found = content.masses
    if found is None or not found.rows:
        return
    page.subsection("How the masses are known", 170)
    rows: list[Row] = [[one.basis, f"{one.parts:,}", kilograms(one.grams)] for one in found.rows]
    rows.append(
        Total(["Together", f"{sum(one.parts for one in found.rows):,}", kilograms(sum(one.grams for one in found.rows))])
    )
    page.table([Column("Mass", 60), Column("Parts, wear parts too", 44, True), Column("kg", 0, True)], rows)
    if found.empty is None:
        page.say("Empty mass of the vehicle: not known, so nothing says how much the list of parts leaves out.")
        return
    empty = found.empty
    best = f"{kilograms(empty.best)}{NBSP}kg" if empty.best is not None else "no best value"
    told = f"; the parts add up to {percent(found.accounted)} of it" if found.accounted is not None else ""
    page.say(f"Empty mass of the vehicle: {best} ({kilograms(empty.low)}–{kilograms(empty.high)}){told}.")


# Within the method


def worked(page: Numbered, found: Worked | None) -> None:
    page.subsection("A check from this vehicle", 300)
    if found is None:
        page.say("Nothing has a weight, so there is no sum to check.")
        return
    page.say(
        f"The first figure of this statement by {found.basis}, worked again from its items; anybody with the tables of"
        " the register can do the same."
    )
    if found.items:
        page.table(
            [
                Column("Item", 58),
                Column(f"{found.unit}, best", 26, True),
                Column("Original fraction", 40, True),
                Column(f"{found.unit} × fraction", 0, True),
            ],
            _items(found),
        )
    if found.best:
        page.say(_quotient(found.best, shown(found.best.percent)), lead="Best:")
    page.say(
        f"{_quotient(found.low, shown_low(found.low.percent))} Every fraction is at its low end; an item weighs its most"
        " where that end is below the answer, else its least.",
        lead="Low bound:",
    )
    page.say(
        f"{_quotient(found.high, shown_high(found.high.percent))} Every fraction is at its high end; an item weighs its"
        " most where that end is above the answer, else its least.",
        lead="High bound:",
    )


def _items(found: Worked) -> list[Row]:
    rows: list[Row] = [_item(one) for one in found.items]
    if found.others_best:
        others = count_of(found.others, "more assessed item")
        rows.append([others, _sum(found.others_best.below), "", _sum(found.others_best.above)])
    if found.best:
        rows.append(Total(["Together", _sum(found.best.below), "", _sum(found.best.above)]))
    return rows


def _item(one: WorkedItem) -> Row:
    best = one.best or Fraction(0)
    ends = f"{shown(one.low, 4)}–{shown(one.high, 4)}"
    return [
        named(one.position, part_name(one.position, one.part, one.part_id)),
        _sum(one.weight),
        shown(best, 4) if one.low == one.high else (shown(best, 4), Small(ends)),
        _sum(one.weight * best),
    ]


def _sum(number: Fraction) -> str:
    return f"{float(shown(number, 3)):,.3f}"


def _quotient(one: Quotient, percentage: str) -> str:
    return f"{_sum(one.above)} ÷ {_sum(one.below)} = {percentage}{NBSP}%."
