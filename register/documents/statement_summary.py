"""The front page of a conservation statement, and the page that sums it up."""

from __future__ import annotations

from register.documents.chips import key
from register.documents.figure_words import NBSP
from register.documents.palette import STATUSES
from register.documents.pdf import HEAVY, WIDTH, Paper
from register.documents.pdf_charts import SCALE, Picture
from register.documents.pdf_elevation import ElevationPicture
from register.documents.pdf_tables import NOTHING, Column, Row, title_block
from register.documents.qr import qr
from register.documents.statement_account import (
    BASIS_COLUMNS,
    basis_rows,
    beside_every_basis,
    headlines,
    said_of,
    survival_beside,
    survival_words,
)
from register.documents.statement_content import Front, Statement
from register.documents.statement_evidence_content import Loss, OpenQuestion
from register.documents.statement_page import Numbered, kilograms, named, part_name
from register.documents.statement_words import NOT_KNOWN, PROVENANCE_ONLY
from register.fabric.dates import day_in_words
from register.fabric.rounding import shown

HIGHEST = 196
"""Points that the elevation may take, so that a short front page stays one page."""

QR_SIDE = 74
"""Points that the code of a longish address is kept to: a module is then 1.25 points or more up to version 9."""


def front_page(paper: Paper, content: Statement) -> None:
    front = content.front
    paper.add(*paper.heading(front.name or "Vehicle without a name", "title"))
    paper.add(*paper.words(_described(front), "lead"))
    if front.summary:
        paper.add(*paper.words(front.summary))
    if content.elevation:
        _elevation(paper, content)
    paper.add(paper.rule(HEAVY))
    headlines(paper, content)
    paper.add(
        paper.space(5),
        *paper.words(content.identity or "Not recorded.", lead="Identity, which no percentage decides."),
        paper.space(4),
    )
    paper.add(*title_block(paper, _cells(front), _square(front)))


def _elevation(paper: Paper, content: Statement) -> None:
    elevation = content.elevation
    assert elevation is not None
    paper.add(
        paper.space(4),
        ElevationPicture.of(elevation, paper.tree, room=WIDTH, height=HIGHEST),
        paper.space(3),
        *paper.words(elevation.title, "note"),
    )
    marks = key(STATUSES.values(), width=WIDTH / SCALE, plain="wear part, or not listed")
    paper.add(Picture.of(marks, paper.tree))


def _described(front: Front) -> str:
    """Kind, builder, works number and date of building, each said to be not known where it is."""
    builder = front.builder or "Builder not known"
    number = f"works number {front.works_number}" if front.works_number else "works number not known"
    built = f"built {front.built}" if front.built else "date of building not known"
    kind = front.kind or "vehicle"
    return f"{kind[:1].upper()}{kind[1:]}. {builder}, {number}, {built}."


def _cells(front: Front) -> list[list[tuple[str, str]]]:
    made = f"version {front.method_version}, {front.software_version}"
    day, change = day_in_words(front.day).replace(" ", NBSP), f"{front.change_number}"
    fixed = [("As at", day), ("Method, software", made), ("Change of the register", change)]
    last = [("", PROVENANCE_ONLY)]
    if front.public_address:
        last.append(("What anybody may read of it", front.public_address))
    if front.issue is None:
        return [
            [
                ("Status", "Draft: not issued, not checked"),
                ("Written by", front.written_by),
                ("Owner", front.owner or "not published"),
            ],
            fixed,
            last,
        ]
    issue = front.issue
    return [
        [
            ("Issued", day_in_words(issue.issued_on)),
            ("Written by", front.written_by),
            ("Approved by", issue.approved_by),
        ],
        [
            ("Supersedes", issue.supersedes or "none"),
            ("Inputs, SHA-256", issue.inputs_sha256),
            ("Check it at", issue.check_at),
        ],
        fixed,
        last,
    ]


def _square(front: Front) -> Picture | None:
    """The public address for a telephone; it stands in words beside it."""
    if not front.public_address:
        return None
    sheet = qr(front.public_address, f"The address {front.public_address} as a QR code")
    return Picture(sheet, None, room=QR_SIDE)


# The summary


def summary(page: Numbered, content: Statement) -> None:
    page.section("Summary")
    if not content.figures:
        page.say("No figures have been worked out.")
    else:
        view = content.figures[0]
        said_of(page, view)
        rows: list[Row] = [
            row
            for one in content.figures
            if one.answer.reference.label == view.answer.reference.label
            for row in basis_rows(one)
        ]
        page.table(BASIS_COLUMNS[1:], rows)
        page.say(beside_every_basis(content), "note")
        survival = survival_beside(content, view)
        if survival:
            page.say(survival_words(survival), lead="Survival:")
    if not content.front.is_public:
        _losses(page, content.losses)
        _questions(page, content)


def _losses(page: Numbered, losses: tuple[Loss, ...]) -> None:
    page.subsection("Main losses")
    if not losses:
        page.say("No part of the reference vehicle is recorded as gone, which does not mean that none is.")
        return
    page.say("The heaviest parts of the reference vehicle that are no longer with this one.", "note")
    columns = [Column("Part", 78), Column("kg", 20, True), Column("What became of it", 40), Column("Left", 0)]
    page.table(columns, map(_loss, losses))


def _loss(one: Loss) -> Row:
    known = one.mass is not None and one.mass.best is not None
    mass = kilograms(one.mass.best or 0) if known and one.mass else NOT_KNOWN
    return [named(one.part or one.position, f"{one.part_id}, {one.position}"), mass, one.fate, one.left or NOT_KNOWN]


def _questions(page: Numbered, content: Statement) -> None:
    page.subsection("Open questions")
    if content.figures:
        view = content.figures[0]
        disputed = sum(row.disputed for row in view.answer.rows)
        page.say(
            f"{view.not_assessed}; {disputed:,} disputed; {view.unweighted} unweighted. {_proposals(content)}"
        )
    if not content.open_questions:
        page.say("No single part is known of which more knowledge would narrow the bounds.")
        return
    page.say(
        "What would narrow the bounds most if it were known, in percentage points of their width: where one part"
        " moves the figure most.",
        "note",
    )
    columns = [Column("Position and part", 84), Column("What is not known", 52), Column("Points", 16, True), Column("Disputed", 0)]
    page.table(columns, map(_question, content.open_questions))


def _proposals(content: Statement) -> str:
    """Open ones, by their codes."""
    found = content.proposed.impacts if content.proposed else ()
    if not found:
        return "No proposal is open."
    codes = ", ".join(f"{one.code} ({one.state})" for one in found)
    return f"Open proposals, which count in no figure: {codes}."


def _question(one: OpenQuestion) -> Row:
    return [
        named(one.position or NOT_KNOWN, part_name(one.position, one.part, one.part_id)),
        one.why,
        shown(one.gain, 1),
        "yes" if one.is_disputed else NOTHING,
    ]


