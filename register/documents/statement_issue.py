"""The last section of an issued statement: what it was frozen from, what was accepted, and how a stranger checks it."""

from __future__ import annotations

from register.documents.pdf_charts import Picture
from register.documents.pdf_tables import Column, Row
from register.documents.qr import qr
from register.documents.statement_content import Issue, Statement
from register.documents.statement_page import Numbered
from register.documents.statement_words import NONE_RECORDED
from register.fabric.dates import day_in_words

EDITION_WORDS = {
    "internal": "internal edition: everything that was gathered; not for outside the railway",
    "assessor": "assessor’s edition: no store and no private name",
    "public": "public edition: what a visitor may read, and short",
}


def issue_section(page: Numbered, content: Statement) -> None:
    """Nothing for a draft."""
    issue = content.front.issue
    if issue is None:
        return
    page.section("This statement, and how to check it")
    page.say(
        "The rows of the register that it rests on were frozen when it was issued. It is never edited and never made"
        " again; a correction is a new statement that supersedes it. All its editions have the same number and the"
        " same figures."
    )
    page.table([Column("", 42), Column("", 0)], _facts(issue))
    if issue.accepted:
        page.subsection("Findings accepted when it was issued")
        page.paper.add(*page.paper.items(issue.accepted))
    page.subsection("Check it")
    page.say(
        f"Ask for its number at {issue.check_at}: the answer says whether it still stands, and gives the SHA-256 of"
        " each of its files. Compare it with the SHA-256 of yours; a file that differs in one letter has another."
    )
    if issue.check_at.startswith(("https://", "http://")):
        page.paper.add(Picture.of(qr(issue.check_at, "QR code of the address where it is checked"), page.paper.tree))


def _facts(issue: Issue) -> list[Row]:
    return [
        ["Number", issue.number],
        ["Issue", f"{issue.issue} of this vehicle, on {day_in_words(issue.issued_on)}"],
        ["Edition", EDITION_WORDS.get(issue.edition, issue.edition)],
        ["Agreed by", issue.approved_by or NONE_RECORDED],
        ["Supersedes", issue.supersedes or "none: it is the first of this vehicle"],
        *([["Why a new one", issue.why]] if issue.why else []),
        ["Frozen rows, SHA-256", issue.inputs_sha256],
        ["Frozen texts, SHA-256", issue.texts_sha256],
        ["Figures, SHA-256", issue.figures_sha256],
        ["Entry in the chain", f"{issue.entry}"],
        ["Last hash before it", issue.previous if issue.previous.strip("0") else "none: it is the first entry"],
    ]
