"""The sections of a conservation statement that are not about single parts or figures."""

from __future__ import annotations

from register.documents.fonts import missing_glyphs
from register.documents.palette import mark_of
from register.documents.pdf_tables import Cell, Column, Row, Small
from register.documents.statement_content import (
    Hazard,
    HistoryEvent,
    ReferencePeriod,
    SourceRow,
    Statement,
    texts_of,
)
from register.documents.statement_evidence import worked
from register.documents.statement_page import Numbered, cited, named, part_name, status_mark
from register.documents.statement_words import (
    CAUTIONS,
    CHARTERS,
    CHARTERS_LEAD,
    DEFINITIONS,
    IDENTITY_APART,
    METHOD,
    NONE_RECORDED,
    NOT_HELD,
    NOT_IN_A_DRAFT,
    NOT_KNOWN,
    PURPOSE,
    REPLACED_CHARACTER,
    SCOPE,
)


def scope(page: Numbered, content: Statement) -> None:
    front = content.front
    page.section("Purpose, scope and words")
    page.say(PURPOSE)
    rows: list[Row] = [
        ["Railway", front.railway or NOT_KNOWN],
        ["Vehicle", front.name or NOT_KNOWN],
        ["Former numbers", "; ".join(front.former_numbers) or NONE_RECORDED],
        ["Kind", front.kind or NOT_KNOWN],
        ["Builder", front.builder or NOT_KNOWN],
        ["Works number", front.works_number or NOT_KNOWN],
        ["Built", front.built or NOT_KNOWN],
        ["Owner", front.owner or "not published"],
    ]
    page.table([Column("", 35), Column("", 0)], rows)
    for words in SCOPE:
        page.say(words)
    page.subsection("Words used")
    page.table(
        [Column("Status", 22), Column("Meaning", 0)],
        [[status_mark(status), (mark_of(status).words, Small(words))] for status, words in DEFINITIONS],
    )
    page.subsection("Charters")
    page.say(CHARTERS_LEAD, "note")
    page.table([Column("Charter", 52), Column("What it asks, in our words, and where it is answered", 0)], CHARTERS)


def identity(page: Numbered, content: Statement) -> None:
    page.section("Identity")
    page.say(content.identity or "What carries the identity of the vehicle has not been stated: not known.")
    page.say(IDENTITY_APART)


def references(page: Numbered, content: Statement) -> None:
    page.section("Reference periods")
    page.say("“Original” is measured against the state of the vehicle in one of these.")
    if content.references:
        columns = [Column("State", 38), Column("Date", 32), Column("Why it is one to measure against", 0)]
        page.table(columns, map(_reference, content.references))
    else:
        page.say(NONE_RECORDED)


def _reference(one: ReferencePeriod) -> Row:
    label: Cell = (one.label, Small("used where no other is named")) if one.is_default else one.label
    return [label, one.date or NOT_KNOWN, one.reason or "no reason recorded"]


def history(page: Numbered, content: Statement) -> None:
    page.section("History")
    if not content.history:
        page.say(NONE_RECORDED)
        return
    if content.front.is_public:  # whose sources are not listed
        page.table([Column("Date", 38), Column("What happened", 0)], [_event(one)[:2] for one in content.history])
        return
    page.table(
        [Column("Date", 38), Column("What happened", 110), Column("Sources", 0)], map(_event, content.history)
    )
    if any(event.kind == "examination" for event in content.history):
        page.say(
            (
                "An examination is named as a pointer to its paper; results, limits and validity are not kept"
                " here."
            ),
            "note",
        )


def _event(one: HistoryEvent) -> list[Cell]:
    date = one.date or NOT_KNOWN
    beside = [
        one.kind if one.kind != "other" else "",
        one.reference,
        f"paper held by {one.holder}" if one.holder else "",
    ]
    return [
        f"{date}, until {one.until}" if one.until else date,
        named(one.title, ", ".join(filter(None, beside))),
        cited(one.sources),
    ]


def unknown(page: Numbered, content: Statement) -> None:
    page.section("What is not known")
    if content.unknown:
        page.paper.add(*page.paper.items(content.unknown))
    else:
        page.say("Nothing is listed, which does not mean that everything is known.")


def sources(page: Numbered, content: Statement) -> None:
    page.section("Sources")
    if not content.sources:
        page.say(NONE_RECORDED)
        return
    columns = [Column("No.", 11, True), Column("Kind", 26), Column("What", 82), Column("Where", 0)]
    page.table(columns, map(_source, content.sources))


def _source(one: SourceRow) -> Row:
    return [
        f"{one.number}",
        one.kind,
        named(one.title or NOT_KNOWN, ", ".join(filter(None, [one.author, one.date]))),
        named(one.repository or NOT_KNOWN, one.reference),
    ]


def cautions(page: Numbered, content: Statement) -> None:
    page.section("Cautions")
    page.paper.add(*page.paper.items(CAUTIONS))
    if content.front.is_public:
        page.say("Hazards that are recorded of single parts are in the other editions, and in the register.")
        return
    page.subsection("Hazards recorded")
    if content.safety:
        page.say(f"Positions of this vehicle are marked for: {', '.join(content.safety)}.")
    if content.hazards:
        page.table([Column("Position and part", 90), Column("Hazard", 0)], map(_hazard, content.hazards))
    else:
        page.say("None recorded, which does not mean that there is none.")


def _hazard(one: Hazard) -> Row:
    return [
        named(one.position or NOT_KNOWN, part_name(one.position, one.part, one.part_id)),
        ", ".join(one.hazards),
    ]


def method(page: Numbered, content: Statement) -> None:
    front = content.front
    page.section("Method")
    for lead, words in METHOD:
        page.say(words, lead=lead)
    if any(missing_glyphs(words) for _, words in texts_of(content)):
        page.say(REPLACED_CHARACTER)
    page.say(
        f"Method version {front.method_version}, software {front.software_version}, change"
        f" {front.change_number} of the register. The same inputs give the same figures to anybody who"
        " works them out again from the published tables."
    )
    worked(page, content.worked)


def records(page: Numbered, content: Statement) -> None:
    front = content.front
    page.section("Records")
    page.say(
        f"The register holds every row that this statement rests on, with its history, up to change"
        f" {front.change_number}. Its tables can be exported in full, or as far as anybody may read them; restricted"
        " sources and the places of stored parts are not in the public export."
    )
    page.say("Not known, or not recorded in the register:")
    page.paper.add(*page.paper.items(NOT_HELD if front.issue else (*NOT_IN_A_DRAFT, *NOT_HELD)))
