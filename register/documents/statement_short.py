"""The account of the fabric as the public edition has it, in short."""

from __future__ import annotations

from register.documents.figure_words import count_of
from register.documents.statement_account import (
    BASIS_COLUMNS,
    composition,
    every_basis,
    survivals,
    visibility,
)
from register.documents.statement_content import Statement
from register.documents.statement_page import Numbered
from register.documents.statement_words import SHORT_METHOD
from register.fabric.inputs import VISIBILITIES

NEW = ("replica", "modern substitute")


def short_account(page: Numbered, content: Statement) -> None:
    """For visitors: the headline's figures, what it is made of, and what is new in it and what is not known."""
    page.section("Fabric account, in short")
    if not content.figures:
        page.say("No figures have been worked out.")
        return
    view = content.figures[0]
    page.say(SHORT_METHOD)
    page.subsection("Against every reference period")
    page.table(BASIS_COLUMNS, every_basis(content))
    shown = next((one for one in content.figures if one.composition), view)
    page.subsection(f"Made of, {shown.basis_words}", 220)
    composition(page, shown)
    page.subsection(f"Seen and hidden, {shown.basis_words}", 135)
    visibility(page, shown)
    _new_in_it(page, content)
    survivals(page, content, view)
    page.subsection("What is not known")
    page.paper.add(*page.paper.items(content.unknown or ("Nothing is listed, which does not mean that everything is known.",)))


def _new_in_it(page: Numbered, content: Statement) -> None:
    """Hidden from view is not hidden from the record: every replica and modern substitute by name, as may be read."""
    page.subsection("What is new in it")
    rows = [row for row in content.figures[0].answer.rows if row.status in NEW]
    if not rows:
        page.say("No replica or modern substitute is recorded. Parts that are not assessed may be either.")
        return
    page.say(f"{count_of(len(rows), 'part')} made since it has been looked after as heritage, wear parts aside.")
    for seen in VISIBILITIES[::-1]:
        for status in NEW:
            number = sum((row.visibility, row.status) == (seen, status) for row in rows)
            named = [one.position for one in content.new_parts if (one.visibility, one.status) == (seen, status)]
            more = number - len(named)
            listed = [*named, *([f"{more} not named here"] if more > 0 else ())]
            if number:
                page.say(f"{'; '.join(listed)}.", lead=f"{seen.capitalize()}, {count_of(number, status)}:")
