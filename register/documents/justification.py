"""The justification record: one or two pages that say why there is a new part in an old vehicle, and who decided.

And, for a vehicle, the register of its modern and hidden parts with the short form of each case; and the blank sheet of a
proposal for the bench.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether

from register.documents.pdf import HEAVY, THIN, WIDTH, Paper, Sheet
from register.documents.pdf_tables import Column, Group, Row, Small, table, title_block
from register.documents.statement_page import seen, status_mark
from register.fabric.dates import day_in_words

CAUTION = (
    "This paper is about fabric. It does not say that anything is fit or safe to work: pressure, brakes, running gear, "
    "lifting, asbestos and lead are for the licensed or competent person, under the local code."
)
NOT_ANSWERED = "not answered"
LINE = 8 * mm
"""Between the writing lines of the blank sheet."""


@dataclass(frozen=True, slots=True)
class AlternativeText:
    """One way to go, in words. figures: {what: text} in the order of ``Justification.compared``."""

    letter: str
    title: str
    words: str
    recommended: bool
    steps: tuple[str, ...]
    leaving: str
    undo: str
    marked: str
    why_not: str
    figures: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Justification:
    """What the paper says. tests: the four tests of harm against benefit. compared: labels of the figures that stand
    beside the alternatives. since: (label, then, now, change). acts: what happened, a sentence each."""

    railway: str
    code: str
    title: str
    vehicle: str
    state: str
    day: date
    about: str
    cells: tuple[tuple[str, str], ...]
    tests: tuple[tuple[str, str], ...]
    sections: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    alternatives: tuple[AlternativeText, ...]
    compared: tuple[str, ...]
    figures_of: str
    since: tuple[tuple[str, str, str, str], ...]
    checks: tuple[tuple[str, str, str], ...]
    acts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ModernPart:
    """A part made since, or hidden and new, with the short form of its case. case: number of the proposal, "" for none."""

    position: str
    part: str
    part_id: str
    status: str
    visibility: str
    fitted: str
    marked: str
    case: str = ""
    why: str = ""
    undo: str = ""
    kept: str = ""
    decided: str = ""
    alternatives: str = ""


@dataclass(frozen=True, slots=True)
class ModernCase:
    """The short form of a case. case: number of the proposal; the others in sentences."""

    title: str
    case: str
    why: str
    undo: str
    kept: str
    decided: str
    alternatives: str
    public: str


@dataclass(frozen=True, slots=True)
class ModernParts:
    railway: str
    vehicle: str
    day: date
    parts: tuple[ModernPart, ...] = ()
    cases: tuple[ModernCase, ...] = ()


def render_justification(content: Justification) -> bytes:
    """The paper as a tagged PDF; the same content gives the same bytes."""
    paper = Paper(
        Sheet(
            title=f"Justification {content.code}: {content.title}",
            day=content.day,
            railway=content.railway,
            head="Justification record",
            status="" if content.state in ("approved", "done") else content.state,
            foot=(f"{content.code} {content.vehicle}", day_in_words(content.day)),
        )
    )
    paper.add(*paper.heading(f"{content.code}  {content.title}", "title"))
    paper.add(*paper.words(content.about, "lead"), paper.rule(HEAVY))
    paper.add(*title_block(paper, [content.cells]))
    paper.add(*paper.heading("Harm against benefit", "subsection"))
    paper.add(
        *table(
            paper,
            [Column("", 6), Column("", 52), Column("", 0)],
            [
                [letter, question, answer or NOT_ANSWERED]
                for letter, (question, answer) in zip("abcd", content.tests, strict=True)
            ],
        )
    )
    _alternatives(paper, content)
    rows: list[Row] = []
    for title, answers in content.sections:
        rows.append(Group([title, ""]))
        rows += [[question, answer or NOT_ANSWERED] for question, answer in answers]
    if rows:
        paper.add(
            *paper.heading("The case", "subsection"), *table(paper, [Column("", 46), Column("", 0)], rows)
        )
    if content.checks:
        paper.add(*paper.heading("Asked, and answered in writing", "subsection"))
        rows = [
            [(question, Small(because)), answer or NOT_ANSWERED]
            for question, because, answer in content.checks
        ]
        paper.add(*table(paper, [Column("Question, and what raised it", 80), Column("Answer", 0)], rows))
    paper.add(*paper.heading("What was decided, and what was done", "subsection"))
    paper.add(*paper.items(content.acts), paper.space(4), *paper.words(CAUTION, "note"))
    return paper.finished()


def _alternatives(paper: Paper, content: Justification) -> None:
    paper.add(*paper.heading("Ways to go, and why this one", "subsection"))
    columns = [
        Column("", 6),
        Column("Way", 50),
        *(Column(label, 24) for label in content.compared),
        Column("Why not", 0),
    ]
    rows: list[Row] = []
    for one in content.alternatives:
        below = " ".join(filter(None, ["Proposed." if one.recommended else "", one.words]))
        steps = [Small(f"{step}.") for step in one.steps]
        way = (one.title, *((Small(below),) if below else ()), *steps)
        rows.append([one.letter, way, *_padded(one.figures, len(content.compared)), one.why_not or "–"])
    paper.add(*table(paper, columns, rows))
    chosen = next((one for one in content.alternatives if one.recommended), None)
    if chosen:
        said = [
            ("Original metal leaving", chosen.leaving),
            ("Can it be undone", chosen.undo),
            ("Told from old work by", chosen.marked),
        ]
        for label, words in said:
            paper.add(*paper.words(words or "not said", lead=f"{label}."))
    if content.since:
        rows = [[label, then, now, change] for label, then, now, change in content.since]
        columns = [
            Column("Cumulative change, best by mass, since", 70),
            Column("Then", 30, True),
            Column("With this work", 35, True),
            Column("Change, points", 0, True),
        ]
        paper.add(*table(paper, columns, rows))
    paper.add(*paper.words(content.figures_of, "note"))


def _padded(texts: Sequence[str], number: int) -> list[str]:
    return [*texts, *["–"] * (number - len(texts))][:number]


def render_modern_parts(content: ModernParts) -> bytes:
    """The register of modern and hidden parts of a vehicle: hidden first, those without a case named as such."""
    paper = Paper(
        Sheet(
            title=f"Modern and hidden parts: {content.vehicle}",
            day=content.day,
            railway=content.railway,
            head="Register of modern and hidden parts",
            status="",
            foot=(content.vehicle, f"As at {day_in_words(content.day)}"),
        )
    )
    paper.add(*paper.heading("Modern and hidden parts", "title"))
    without = sum(not one.case for one in content.parts)
    number = len(content.parts)
    made = f"{number} part{'' if number == 1 else 's'} made since"
    lead = f"{content.vehicle}, as at {day_in_words(content.day)}: {made}, {without} without a case in writing yet."
    paper.add(*paper.words(lead, "lead"))
    paper.add(
        *paper.words(
            "Hidden from view is not hidden from the record. "
            "What is not assessed may be modern too, and is not listed here."
        )
    )
    if not content.parts:
        paper.add(*paper.words("No replica or modern substitute is recorded."))
    columns = [
        Column("Position and part", 62),
        Column("Status", 16),
        Column("Seen, fitted", 30),
        Column("Marked as new", 40),
        Column("Case", 0),
    ]
    if content.parts:
        paper.add(*table(paper, columns, [_modern(one) for one in content.parts]))
    if content.cases:
        paper.add(*paper.heading("The cases"))
    for case in content.cases:
        _case(paper, case)
    paper.add(paper.space(4), *paper.words(CAUTION, "note"))
    return paper.finished()


def _modern(one: ModernPart) -> Row:
    return [
        (one.position, Small(f"{one.part_id} {one.part}")),
        status_mark(one.status),
        (seen(one.visibility), Small(one.fitted or "date not known")),
        one.marked or "no mark recorded",
        one.case or "none yet",
    ]


def _case(paper: Paper, case: ModernCase) -> None:
    paper.add(*paper.heading(f"{case.case}  {case.title}", "subsection"))
    for label, words in (
        ("Why", case.why),
        ("Weighed against", case.alternatives),
        ("Can it be undone", case.undo),
        ("What came out", case.kept),
        ("Decided", case.decided.removeprefix("decided by ")),
    ):
        paper.add(*paper.words(words or "not said", lead=f"{label}."))


class _Lines(Flowable):  # type: ignore[misc]
    """Ruled lines to write on, decoration."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number, self.width, self.height = number, WIDTH, number * LINE

    def draw(self) -> None:
        self.canv.begin(None)
        self.canv.setLineWidth(THIN)
        for place in range(self.number):
            self.canv.line(0, place * LINE + 1, self.width, place * LINE + 1)
        self.canv.end()


def render_blank(
    railway: str, day: date, sections: Sequence[tuple[str, Sequence[tuple[str, str, int]]]]
) -> bytes:
    """The questions of a proposal with lines to write on. sections: (title, [(question, hint, lines)])."""
    paper = Paper(
        Sheet(
            title="Proposal, blank sheet",
            day=day,
            railway=railway,
            head="Proposal, to be written at the bench and typed in later",
            status="",
            foot=("Proposal", f"Printed {day_in_words(day)}"),
        )
    )
    paper.add(*paper.heading("Proposal", "title"))
    for title, questions in sections:
        paper.add(*paper.heading(title, "subsection"))
        for question, hint, lines in questions:
            asked = paper.words(hint[:1].upper() + hint[1:] if hint else "", "body", lead=question)
            paper.add(KeepTogether([*asked, _Lines(lines), paper.space(6)]))
    paper.add(*paper.words(CAUTION, "note"))
    return paper.finished()
