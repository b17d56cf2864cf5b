"""The conservation statement as a PDF: what the vehicle is made of, on what evidence, with bounds first."""

from __future__ import annotations

from register.documents import statement_parts as parts
from register.documents import statement_sections as sections
from register.documents.fonts import missing_glyphs
from register.documents.pdf import Paper, Sheet
from register.documents.statement_account import account
from register.documents.statement_content import Front, Statement, texts_of
from register.documents.statement_evidence import evidence
from register.documents.statement_issue import issue_section
from register.documents.statement_page import Numbered
from register.documents.statement_summary import front_page, summary
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
    front_page(paper, content)
    paper.add(paper.new_page())
    page = Numbered(paper)
    summary(page, content)
    paper.add(paper.new_page())
    sections.scope(page, content)
    sections.identity(page, content)
    sections.history(page, content)
    sections.references(page, content)
    account(page, content)
    if not front.is_public:
        evidence(page, content)
        parts.schedule(page, content)
    parts.new_parts(page, content)
    if not front.is_public:
        parts.unweighted(page, content)
        parts.removed(page, content)
        parts.disputes(page, content)
    sections.unknown(page, content)
    if not front.is_public:
        sections.sources(page, content)
    sections.cautions(page, content)
    sections.method(page, content, has_replaced=bool(missing_glyphs_of(content)))
    sections.records(page, content)
    issue_section(page, content)
    return paper.finished()


def missing_glyphs_of(content: Statement) -> list[tuple[str, str]]:
    """(where, character) for every character that the typeface lacks, for example
    ``("schedule 1, parts 3, position", "漢")``: counted from 1, each character once a place."""
    return [(where, letter) for where, words in texts_of(content) for letter in missing_glyphs(words)]


def _kind(front: Front) -> str:
    if front.issue is None:
        return "Conservation statement, draft"
    edition = f", {front.issue.edition} edition" if front.issue.edition else ""
    return f"Conservation statement {front.issue.number}{edition}"
