"""The period report as a PDF: totals in front, then vehicle by vehicle what was done, found out and decided."""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.platypus import Flowable

from register.documents.fonts import missing_glyphs
from register.documents.interval_bar import interval_bar_of
from register.documents.palette import mark_of
from register.documents.pdf import HEIGHT, WIDTH, Paper, Sheet
from register.documents.pdf_photographs import Photograph
from register.documents.pdf_tables import GAP, NOTHING, Cell, Column, Row, Small, Total, side_by_side, table
from register.documents.period_content import (
    NO_CHIP,
    WEAR,
    FigureRow,
    FiguresTold,
    Group,
    Line,
    PeriodReport,
    Photo,
    VehicleReport,
    texts_of,
)
from register.documents.period_words import (
    ABOUT,
    ABOUT_FABRIC,
    EDITION_NAMES,
    HEADS,
    HOW_DATED,
    TITLES,
    WORK_AND_KNOWLEDGE,
    about_photo,
    beside,
    counted,
    known_words,
    made_with,
    nothing_of,
    period_words,
    photo_words,
    stopped,
)
from register.documents.statement_page import named, seen, status_mark, wear_mark
from register.documents.statement_words import REPLACED_CHARACTER


def render(report: PeriodReport) -> bytes:
    """A tagged PDF of A4 pages; the same content gives the same bytes. Every text is printed as it was typed."""
    front = report.front
    title = f"Period report, {period_words(front)}"
    paper = Paper(
        Sheet(
            title=title,
            day=front.known,
            railway=front.railway,
            head=title,
            status="",
            foot=(EDITION_NAMES[front.edition], f"{front.first:%d/%m/%Y} to {front.last:%d/%m/%Y}"),
        )
    )
    _front(paper, report)
    for one in report.vehicles:
        _vehicle(paper, one)
    _method(paper, report)
    return paper.finished()


def missing_glyphs_of(report: PeriodReport) -> list[tuple[str, str]]:
    """(where, character) for every character that the typeface lacks."""
    return [(where, letter) for where, words in texts_of(report) for letter in missing_glyphs(words)]


def _front(paper: Paper, report: PeriodReport) -> None:
    front = report.front
    paper.add(*paper.heading("Period report", "title"))
    paper.add(*paper.words(f"{front.railway}: {period_words(front)}, both days included.", "lead"))
    who = f" Written by {front.written_by}." if front.written_by else ""
    paper.add(*paper.words(f"{EDITION_NAMES[front.edition]}. {known_words(front)}.{who}"))
    if front.vehicles:
        paper.add(*paper.words(f"Of {', '.join(front.vehicles)} alone."))
    for note in report.notes:
        paper.add(*paper.words(note))
    if report.vehicles:
        paper.add(*paper.heading("In short"))
        rows: list[Row] = [[one.name, counted(one.counts)] for one in report.vehicles]
        rows.append(Total(["Together", counted(report.totals)]))
        paper.add(*table(paper, [Column("Vehicle", 62), Column("What is told of it", 0)], rows))
    if report.quiet:
        paper.add(*paper.words(", ".join(report.quiet) + ".", lead=nothing_of(report)))
    elif not report.vehicles:
        paper.add(*paper.words(nothing_of(report)))


def _vehicle(paper: Paper, one: VehicleReport) -> None:
    paper.add(*paper.heading(one.name))
    for words in one.lead:
        paper.add(*paper.words(words))
    if one.figures is not None:
        _figures(paper, one.figures)
    for group in one.groups:
        _group(paper, group)
    if one.photographs:
        paper.add(*paper.heading("Photographs", "subsection"))
        for start in range(0, len(one.photographs), 2):
            _photographs(paper, one.photographs[start : start + 2])


def _figures(paper: Paper, told: FiguresTold) -> None:
    paper.add(*paper.heading("How much of it is original", "subsection"))
    for words in told.sentences:
        paper.add(*paper.words(words))
    columns = [
        Column("Weighed by", 25),
        Column("As at", 33),
        Column("", 30),
        Column("Bounds, %", 22, True),
        Column("Best", 13, True),
        Column("Assessed, %", 23, True),
        Column("Unweighted", 0, True),
    ]
    paper.add(*table(paper, columns, map(_figure, told.rows)))
    paper.add(*paper.words(" ".join((f"Against {told.against}.", *told.notes)), "note"))
    if told.split:
        split = [Column("Weighed by", 50), Column("Change, points", 40, True), Column("Work", 40, True), Column("Knowledge", 0, True)]
        paper.add(*table(paper, split, ([one.basis, one.total, one.work, one.knowledge] for one in told.split)))
    if told.parts:
        parts = [Column("Part, by mass", 90), Column("Work", 40, True), Column("Knowledge", 0, True)]
        paper.add(*table(paper, parts, ([named(one.part, one.part_id), one.work, one.knowledge] for one in told.parts)))
    if told.smaller:
        paper.add(*paper.words(told.smaller, "note"))


def _figure(one: FigureRow) -> Row:
    bar: Cell = interval_bar_of(one.bounds, size="mini") if one.bounds else ""
    return [one.basis, one.day, bar, one.words, one.best, one.assessed, one.unweighted]


def _group(paper: Paper, group: Group) -> None:
    paper.add(*paper.heading(TITLES[group.kind], "subsection"))
    if group.kind in ABOUT:
        paper.add(*paper.words(ABOUT[group.kind], "note"))
    when, about = HEADS.get(group.kind, ("When", "Part"))
    columns = [
        *([Column(when, 32)] if group.has_dates else []),
        Column(about, 56),
        *([Column("Is", 16)] if group.has_statuses else []),
        Column("More", 0),
    ]
    paper.add(*table(paper, columns, (_line(one, group) for one in group.lines)))
    if group.more:
        paper.add(*paper.words(group.more, "note"))


def _line(one: Line, group: Group) -> Row:
    visible = seen(one.visibility) if one.visibility else ""
    status: Cell = (_mark(one.status), Small(visible)) if visible else _mark(one.status)
    said: tuple[Cell, ...] = tuple(stopped(words[:1].upper() + words[1:]) for words in one.said)
    doubts = tuple(Small(stopped(words[:1].upper() + words[1:])) for words in one.doubts)
    dated, marked = [one.when or NOTHING] if group.has_dates else [], [status] if group.has_statuses else []
    return [*dated, named(one.about, beside(one)), *marked, (*said, *doubts) or NOTHING]


def _mark(status: str) -> Cell:
    if status == NO_CHIP:
        return ""
    return wear_mark() if status == WEAR else status_mark(status)


def _photographs(paper: Paper, photographs: tuple[Photo, ...]) -> None:
    room = (WIDTH - GAP) / 2
    columns = [list(_photograph(paper, one, room)) for one in photographs]
    made = side_by_side(columns if len(columns) == 2 else [*columns, []])
    made.unbreakable = max(sum(one.wrap(room, HEIGHT)[1] for one in column) for column in columns)
    paper.add(made)


def _photograph(paper: Paper, one: Photo, room: float) -> Iterator[Flowable]:
    yield Photograph(one.path, paper.tree, room=room, words=about_photo(one))
    yield paper.space(3)
    yield from paper.words(one.caption or "No caption.", "note")
    yield from paper.words(photo_words(one), "label")


def _method(paper: Paper, report: PeriodReport) -> None:
    paper.add(*paper.heading("How this is told"))
    codes = dict.fromkeys(line.status for one in report.vehicles for group in one.groups for line in group.lines)
    marks = [f"{mark_of(status).code} {mark_of(status).words.lower()}" for status in codes if status not in (NO_CHIP, WEAR)]
    if WEAR in codes:
        marks.append("WEAR wear part, in no figure")
    for words in (HOW_DATED, WORK_AND_KNOWLEDGE, f"Statuses are as assessed in the end: {', '.join(marks)}." if marks else ""):
        if words:
            paper.add(*paper.words(words))
    if missing_glyphs_of(report):
        paper.add(*paper.words(REPLACED_CHARACTER))
    paper.add(*paper.words(made_with(report.front), "note"))
    paper.add(*paper.words(ABOUT_FABRIC, "note"))
