"""The files of a statement that is about to be issued: its figures, worked out from the frozen bytes, and its three papers."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.utils import timezone

from register.documents.change_words import ChangeTold
from register.documents.statement import render
from register.documents.statement_content import Issue
from register.documents.statement_content import Statement as Content
from register.documents.statement_editions import EDITIONS, INTERNAL, PUBLIC, for_edition
from register.exchange.frozen import canonical, register_of
from register.exchange.records import Register
from register.fabric.figures_json import as_json
from register.services.changes import Side, compared, in_words, of_rows, of_statement
from register.services.inputs import NoSuch
from register.services.issue_requests import refused
from register.services.public import NOT_PUBLISHED, public_register
from register.services.readiness import Group
from register.services.statement_figures import statement_figures, typed_ids_of
from register.services.statement_impact import effects_json

if TYPE_CHECKING:
    from register.services.prepared import Prepared

INPUTS, TEXTS, FIGURES = "inputs.json", "texts.json", "figures.json"
LISTED = 20
"""Ids that a paper lists of one kind of finding."""
NOT_THOSE = (
    "the figures worked out from the frozen rows are not those of the register. Nothing was issued; this is a fault of the "
    "program, so tell whoever looks after it."
)


def edition_file(edition: str) -> str:
    return f"{edition}.pdf"


def papers_of(made: Prepared) -> dict[str, bytes]:
    """Every file by name. Raises Refused where the frozen rows do not give the figures that are printed."""
    figures = canonical(_figures(made))
    papers = {INPUTS: made.inputs, TEXTS: made.texts, FIGURES: figures}
    before = of_statement(made.latest.number) if made.latest else None
    for edition in EDITIONS:
        changed = _changed(made, before, without_restricted=edition == PUBLIC) if before else None
        papers[edition_file(edition)] = render(_paper(made, edition, figures, changed))
    return papers


def _figures(made: Prepared) -> dict[str, Any]:
    """From the frozen bytes, and equal to what the papers print."""
    frozen, texts = register_of(made.inputs), json.loads(made.texts)
    found = statement_figures(frozen, made.vehicle.key, made.asked.day, made.reference, texts)
    ids = typed_ids_of(frozen, made.vehicle.key)
    computed = [canonical(one) for one in found["fabric"]]
    printed = [canonical(as_json(view.answer, ids)) for view in made.content.figures]
    if not set(printed) <= set(computed) or found["proposals"] != effects_json(made.gathered.effects, ids):
        raise refused("", NOT_THOSE)
    return found


def _paper(made: Prepared, edition: str, figures: bytes, changed: ChangeTold | None) -> Content:
    said = made.content if edition == INTERNAL else made.outside
    content = for_edition(said, edition, **_what_is_public(made.register, made.vehicle.key))
    second = made.gathered.texts["signed"]["agreed_by"]
    issue = Issue(
        number=made.number,
        edition=edition,
        issued_on=timezone.localdate(made.at),
        approved_by="nobody else" if second is None else second["name" if edition == INTERNAL else "public"],
        supersedes=made.supersedes,
        inputs_sha256=hashlib.sha256(made.inputs).hexdigest(),
        check_at=check_address(made.number),
        issue=made.issue,
        figures_sha256=hashlib.sha256(figures).hexdigest(),
        texts_sha256=hashlib.sha256(made.texts).hexdigest(),
        entry=made.length + 1,
        previous=made.previous,
        accepted=tuple(map(_accepted, made.readiness.groups)) if edition != PUBLIC else (),
        why=made.asked.why.strip(),
        changed=changed,
    )
    writer = content.front.written_by or "the heritage officer"
    return replace(content, front=replace(content.front, issue=issue, written_by=writer))


def _changed(made: Prepared, before: Side, *, without_restricted: bool) -> ChangeTold | None:
    """Since the statement that this one supersedes; None where the two cannot be compared."""
    try:
        now = of_rows(made.register, made.vehicle.key, made.asked.day, made.reference, called=made.number)
        return in_words(before, now, compared(before, now), without_restricted=without_restricted)
    except NoSuch:
        return None


def check_address(number: str) -> str:
    """Where a stranger checks a statement; without an address of the site, the words for it."""
    if settings.PUBLIC_BASE_URL:
        return f"{settings.PUBLIC_BASE_URL}/id/statements/{number}/"
    return "the railway’s register, under this number"


def _accepted(group: Group) -> str:
    """As it is printed: what was found, the ids where there are several, and why that is accepted."""
    if len(group.found) == 1:
        return f"{group.found[0].message} Accepted: {group.reason}"
    ids = [one.record for one in group.found if one.record]
    more = f" and {len(ids) - LISTED} more" if len(ids) > LISTED else ""
    return (
        f"{group.code[:1].upper()}{group.code[1:]}, {len(group.found)} found: {', '.join(ids[:LISTED])}{more}. "
        f"Accepted: {group.reason}"
    )


def _what_is_public(register: Register, vehicle: str) -> dict[str, frozenset[str]]:
    """The ids of parts, and the titles of events, that a visitor may read of, were the vehicle published."""
    opened = register.copy()
    opened.tables["vehicles"] |= {vehicle: opened.tables["vehicles"][vehicle] | {"published": True}}
    public = public_register(opened).tables
    return {
        "parts": frozenset(row["_code"] for row in public["parts"].values() if row["name"] != NOT_PUBLISHED),
        "events": frozenset(row["title"] for row in public["events"].values()),
    }
