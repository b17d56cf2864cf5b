"""The sections of a conservation statement in words: significance, policy, what may be said in public, the log."""

from __future__ import annotations

from collections.abc import Iterable

from register.documents.pdf_tables import Cell, Column, Row, Small
from register.documents.statement_content import Statement
from register.documents.statement_page import Numbered, named
from register.documents.statement_texts_content import LogRow, Worth
from register.documents.statement_words import (
    IN_PUBLIC_LEAD,
    NO_POLICY,
    NONE_RECORDED,
    NOT_RECORDED,
    SIGNIFICANCE_LEAD,
)


def significance(page: Numbered, content: Statement) -> None:
    page.section("Significance")
    page.say(SIGNIFICANCE_LEAD)
    whole = next((one for one in content.significance if not one.name), None)
    page.subsection("Of the whole vehicle")
    if whole is None or not whole.is_recorded:
        page.say(NOT_RECORDED)
    else:
        _heads(page, whole)
    _groups(page, [one for one in content.significance if one.name])


def _groups(page: Numbered, groups: list[Worth]) -> None:
    page.subsection("Of its main groups")
    if not groups:
        page.say("It has none: no position is recorded.")
        return
    if any(one.grade for one in groups):
        columns = [Column("Main group", 50), Column("Its own grade", 60), Column("Positions in it by grade", 0)]
        page.table(columns, [_graded(one) for one in groups])
    else:
        rows = [[named(one.name, one.code), one.grades or "none graded"] for one in groups]
        page.table([Column("Main group", 60), Column("Positions in it by grade", 0)], rows)
    for one in groups:
        if one.is_recorded:
            page.subsection(one.name)
            _heads(page, one)
    if silent := [one.name for one in groups if not one.is_recorded]:
        page.say(f"In words not recorded: {', '.join(silent)}.")


def _graded(one: Worth) -> Row:
    grade: Cell = one.grade or "not graded"
    return [named(one.name, one.code), named(str(grade), one.reason), one.grades or "none graded"]


def _heads(page: Numbered, one: Worth) -> None:
    """What is not recorded is named once, at the end."""
    silent = [label.lower() for label, words in one.heads if not words]
    for label, words in one.heads:
        if words:
            page.say(words, lead=f"{label}.")
    if silent:
        page.say(f"Not recorded: {', '.join(silent)}.", "note")


def policy(page: Numbered, content: Statement) -> None:
    page.section("Policy")
    found = content.policy
    if found is None:
        page.say(NO_POLICY)
        return
    rules = [(label, words) for label, words in found.rules if words]
    page.table([Column("", 46), Column("", 0)], [[label, words] for label, words in rules])
    if silent := [label for label, words in found.rules if not words]:
        page.say(f"It says nothing of: {', '.join(silent)}.")
    page.say(found.laid_down)


def in_public(page: Numbered, content: Statement) -> None:
    found = content.in_public
    if found is None:
        return
    page.section("What may be said in public")
    page.say(IN_PUBLIC_LEAD)
    page.say(found.sentence, lead="May stand on a panel:")
    if found.panel:
        page.say(found.panel, lead="Stands there, as recorded:")
        page.say(found.agrees, "note")
    else:
        page.say("What stands on a panel beside the vehicle: not recorded.")
    page.subsection("What must not be claimed")
    page.paper.add(*page.paper.items(found.never))


def log(page: Numbered, content: Statement) -> None:
    page.section("Decisions and sign-off")
    if content.front.issue is None:
        page.say("This is a draft: nobody has signed it.")
    if not content.log:
        page.say(NONE_RECORDED)
        return
    page.table([Column("Day", 34), Column("What", 80), Column("Who", 0)], _log_rows(content.log))


def _log_rows(rows: Iterable[LogRow]) -> Iterable[Row]:
    for one in rows:
        what: Cell = (one.what, Small(one.more)) if one.more else one.what
        yield [one.day, what, one.who]
