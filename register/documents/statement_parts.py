"""The parts of a conservation statement, table by table: fitted, new, not weighed, removed, disputed."""

from __future__ import annotations

from register.documents.figure_words import NBSP
from register.documents.pdf_tables import NOTHING, Cell, Column, Group, Row, Small
from register.documents.statement_content import (
    Dispute,
    NewPart,
    PartRow,
    RemovedPart,
    Statement,
    Unweighted,
)
from register.documents.statement_page import (
    Numbered,
    cited,
    kilograms,
    named,
    part_name,
    percent_range,
    seen,
    status_mark,
    wear_mark,
)
from register.documents.statement_words import NOT_KNOWN
from register.fabric.interval import Interval
from register.fabric.rounding import shown


def schedule(page: Numbered, content: Statement) -> None:
    page.section("Schedule of parts")
    if not content.schedule:
        page.say("No part is recorded in this vehicle.")
        return
    page.say(
        "“Original” is the share of the part that is original fabric against the default reference: low"
        " to high, then best. A query after a status means that it is not certain, a second status or query"
        " beside it that it is disputed; NA is not assessed; WEAR is a wear part, of which no status is asked and"
        " which is in no figure. Masses are calculated unless another basis is"
        " named. Sources are numbered as in the list of sources.",
        "note",
    )
    columns = [
        Column("Position and part", 47),
        Column("Status", 24),
        Column("Original, %", 21, True),
        Column("Fitted", 24),
        Column("kg", 20, True),
        Column("Seen", 14),
        Column("Evidence", 0),
    ]
    rows: list[Row] = []
    for assembly in content.schedule:
        mass = NOTHING if assembly.mass is None else kilograms(assembly.mass)
        rows.append(Group([assembly.name, "", "", "", mass, "", ""]))
        rows += map(_part, assembly.parts)
    page.table(columns, rows)


def _part(one: PartRow) -> Row:
    name = f"{one.position} ×{NBSP}{one.quantity}" if one.quantity > 1 else one.position
    evidence: Cell = one.evidence or "none yet"
    return [
        named(name, part_name(one.position, one.part, one.part_id)),
        _status(one),
        _original(one),
        one.fitted or NOT_KNOWN,
        _mass(one.mass, one.mass_basis),
        seen(one.visibility),
        (evidence, Small(f"sources {cited(one.sources)}")) if one.sources else evidence,
    ]


def _status(one: PartRow) -> Cell:
    mark = wear_mark() if one.is_wear else status_mark(one.status, doubtful=one.doubtful, disputed=one.disputed)
    return (mark, Small(one.remark)) if one.remark else mark


def _original(one: PartRow) -> Cell:
    if one.is_wear:
        return NOTHING
    lines: list[Cell] = [percent_range(one.original_low, one.original_high)]
    if one.original_best is not None and one.original_low != one.original_high:
        lines.append(Small(f"best {shown(one.original_best, 0)}"))
    return tuple(lines)


def _mass(mass: Interval | None, basis: str) -> Cell:
    if mass is None:
        return NOT_KNOWN
    best = NOTHING if mass.best is None else kilograms(mass.best)
    lines: list[Cell] = [best]
    if mass.low != mass.high:
        lines.append(Small(f"{kilograms(mass.low)}–{kilograms(mass.high)}"))
    if basis != "calculated":
        lines.append(Small(basis or "basis not stated"))
    return tuple(lines)


def new_parts(page: Numbered, content: Statement) -> None:
    page.section("Modern and hidden parts")
    page.say(
        "What is hidden from view is not hidden from the record: every replica and every modern"
        " substitute is listed, the hidden ones first."
    )
    if not content.new_parts:
        page.say("No replica or modern substitute is recorded. Parts that are not assessed may be either.")
        return
    columns = [
        Column("Position and part", 43),
        Column("Status", 17),
        Column("Seen", 13),
        Column("Fitted", 23),
        Column("Reason, and whether it can be undone", 50),
        Column("Marked as new", 0),
    ]
    alike: dict[tuple[str, ...], list[NewPart]] = {}
    for one in content.new_parts:
        alike.setdefault((one.visibility, one.status, one.fitted, one.reason, one.case, one.date_mark), []).append(one)
    page.table(columns, map(_new_parts, alike.values()))
    _cases(page, content)


def _cases(page: Numbered, content: Statement) -> None:
    page.subsection("Why, and what else was weighed")
    if not content.cases:
        page.say("No case is written of any of them: not recorded.")
        return
    columns = [Column("Case", 36), Column("Why, and the other ways with the reason against each", 90), Column("Decided", 0)]
    rows: list[Row] = [
        [named(one.code, one.title), named(one.why or "not said", one.against), one.decided] for one in content.cases
    ]
    page.table(columns, rows)
    page.say("A part without a case has none in writing: not recorded.", "note")


def _new_parts(some: list[NewPart]) -> Row:
    """Those of which the same is told, the firebox stays of one firebox for instance, in one row."""
    one = some[0]
    names = "; ".join(part.position for part in some)
    ids = [part_name(part.position, part.part, part.part_id) for part in some]
    return [
        named(names, ", ".join(filter(None, [*ids, *dict.fromkeys(part.material for part in some)]))),
        status_mark(one.status),
        seen(one.visibility),
        one.fitted or NOT_KNOWN,
        named(one.reason or "no reason recorded", _case(one)),
        one.date_mark or "not recorded",
    ]


def _case(one: NewPart) -> str:
    """``P-004; can be undone: with loss: the tubeplate is cut``"""
    return "; ".join(filter(None, [one.case, f"can be undone: {one.undo}" if one.undo else ""]))


def unweighted(page: Numbered, content: Statement) -> None:
    page.section("Parts whose mass is not known")
    page.say("They are in no figure by mass, but in the bounds of the whole vehicle where those are given.")
    if not content.unweighted:
        page.say("No part without a mass is recorded.")
        return
    page.table(
        [Column("Position and part", 90), Column("Status", 30), Column("Significance", 0)],
        map(_no_mass, content.unweighted),
    )


def _no_mass(one: Unweighted) -> Row:
    name = named(one.position, part_name(one.position, one.part, one.part_id))
    return [name, status_mark(one.status), one.grade or "not graded"]


def removed(page: Numbered, content: Statement) -> None:
    page.section("Originals that have left the vehicle")
    if not content.removed:
        page.say("No removed part is recorded.")
        return
    columns = [
        Column("Part", 47),
        Column("From", 36),
        Column("Removed", 26),
        Column("Survives, %", 22, True),
        Column("Where it is, and why it left", 0),
    ]
    page.table(columns, map(_removed, content.removed))


def _removed(one: RemovedPart) -> Row:
    survives = "not assessed" if one.survives is None else percent_range(*one.survives)
    return [
        named(one.part, one.part_id),
        one.position or NOT_KNOWN,
        one.removed or NOT_KNOWN,
        survives,
        named(one.whereabouts or NOT_KNOWN, one.reason or "no reason recorded"),
    ]


def disputes(page: Numbered, content: Statement) -> None:
    page.section("Disputed parts")
    if not content.disputes:
        page.say("No disputed part is recorded.")
        return
    columns = [
        Column("Position and part", 50),
        Column("Stands as", 20),
        Column("Contradicted by", 80),
        Column("Sources", 0),
    ]
    page.table(columns, map(_dispute, content.disputes))


def _dispute(one: Dispute) -> Row:
    return [
        named(one.position, part_name(one.position, one.part, one.part_id)),
        status_mark(one.status),
        one.contradicted_by or NOT_KNOWN,
        cited(one.sources),
    ]
