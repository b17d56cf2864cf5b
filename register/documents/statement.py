"""The conservation statement as a PDF: what the vehicle is made of, on what evidence, with bounds first."""

from __future__ import annotations

from register.documents import statement_parts as parts
from register.documents import statement_sections as sections
from register.documents.figure_words import NBSP
from register.documents.fonts import missing_glyphs
from register.documents.pdf import HEAVY, Paper, Sheet
from register.documents.pdf_tables import Row, table, title_block
from register.documents.statement_account import (
    BASIS_COLUMNS,
    account,
    beside_every_basis,
    every_basis,
    headlines,
)
from register.documents.statement_content import Front, Statement, texts_of
from register.documents.statement_editions import PUBLIC
from register.documents.statement_issue import issue_section
from register.documents.statement_page import Numbered
from register.documents.statement_words import PROVENANCE_ONLY
from register.fabric.dates import day_in_words


def render(content: Statement) -> bytes:
    """A tagged PDF of A4 pages, all fonts embedded; the same content gives the same bytes. Every text is
    printed as it was typed; a character without a glyph as its number (``missing_glyphs_of`` lists
    them)."""
    front = content.front
    paper = Paper(
        Sheet(
            title=f"{_kind(front)}: {front.name}",
            day=front.day,
            railway=front.railway,
            head=_kind(front),
            status=front.status,
            foot=(front.name, f"As at {day_in_words(front.day)}"),
        )
    )
    _front_page(paper, content)
    paper.add(paper.new_page())
    page = Numbered(paper)
    sections.scope(page, content)
    sections.history(page, content)
    account(page, content)
    if not _is_public(front):
        parts.schedule(page, content)
    parts.new_parts(page, content)
    if not _is_public(front):
        parts.unweighted(page, content)
        parts.removed(page, content)
        parts.disputes(page, content)
    sections.unknown(page, content)
    if not _is_public(front):
        sections.sources(page, content)
    sections.cautions(page, content)
    sections.method(page, content, has_replaced=bool(missing_glyphs_of(content)))
    issue_section(page, content)
    return paper.finished()


def missing_glyphs_of(content: Statement) -> list[tuple[str, str]]:
    """(where, character) for every character that the typeface lacks, for example
    ``("schedule 1, parts 3, position", "漢")``: counted from 1, each character once a place."""
    return [(where, letter) for where, words in texts_of(content) for letter in missing_glyphs(words)]


def _is_public(front: Front) -> bool:
    """Whether it is the short edition for visitors."""
    return front.issue is not None and front.issue.edition == PUBLIC


def _kind(front: Front) -> str:
    if front.issue is None:
        return "Conservation statement, draft"
    edition = f", {front.issue.edition} edition" if front.issue.edition else ""
    return f"Conservation statement {front.issue.number}{edition}"


def _front_page(paper: Paper, content: Statement) -> None:
    front = content.front
    paper.add(*paper.heading(front.name or "Vehicle without a name", "title"))
    paper.add(*paper.words(_described(front), "lead"))
    if front.summary:
        paper.add(*paper.words(front.summary))
    paper.add(paper.rule(HEAVY))
    headlines(paper, content)
    rows: list[Row] = every_basis(content)
    if rows:
        paper.add(
            *paper.heading("The figures on every basis", "subsection"),
            *table(paper, BASIS_COLUMNS, rows),
            *paper.words(beside_every_basis(content), "note"),
        )
    paper.add(
        *paper.words(content.identity or "Not recorded.", lead="Identity, which no percentage decides."),
        paper.space(4),
    )
    paper.add(*title_block(paper, _cells(front)))


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
    if front.issue is None:
        return [
            [
                ("Status", "Draft: not issued, not checked"),
                ("Written by", front.written_by),
                ("Owner", front.owner or "not published"),
            ],
            fixed,
            [("", PROVENANCE_ONLY)],
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
        [("", PROVENANCE_ONLY)],
    ]
