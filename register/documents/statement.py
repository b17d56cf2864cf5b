"""The conservation statement as a PDF: what the vehicle is made of, on what evidence, with bounds first."""

from __future__ import annotations

from collections.abc import Callable

from register.documents import statement_parts as parts
from register.documents import statement_sections as sections
from register.documents.fonts import missing_glyphs
from register.documents.pdf import Paper, Sheet
from register.documents.statement_account import account
from register.documents.statement_change import change
from register.documents.statement_content import Front, Statement, texts_of
from register.documents.statement_evidence import evidence
from register.documents.statement_impact import impact
from register.documents.statement_issue import issue_section
from register.documents.statement_page import Numbered
from register.documents.statement_short import short_account
from register.documents.statement_summary import front_page, summary
from register.documents.statement_texts import in_public, log, policy, significance
from register.fabric.dates import day_in_words

Section = Callable[[Numbered, Statement], None]
WHOLE: tuple[Section, ...] = (
    sections.scope,
    sections.identity,
    sections.history,
    significance,
    sections.references,
    account,
    evidence,
    parts.schedule,
    change,
    parts.new_parts,
    parts.unweighted,
    parts.removed,
    parts.disputes,
    impact,
    policy,
    sections.unknown,
    sections.sources,
    sections.cautions,
    in_public,
    sections.method,
    sections.records,
    log,
    issue_section,
)
"""After the summary, in the order in which the trade asks (common practice, no source)."""
SHORT: tuple[Section, ...] = (
    sections.identity,
    sections.history,
    significance,
    sections.references,
    short_account,
    change,
    in_public,
    sections.cautions,
    issue_section,
)
"""What the public edition has of them."""


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
    if not front.is_public:
        paper.add(paper.new_page())
    for section in SHORT if front.is_public else WHOLE:
        section(page, content)
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
