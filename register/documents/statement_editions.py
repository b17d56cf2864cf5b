"""Three editions of one statement, with the same figures and the same number: what each reader is given of it.

``internal`` holds everything that was gathered, ``assessor`` no store and no private name, ``public`` only what a visitor
may read, and short: it is made of a list of what goes in, so that what is added later stays out.
"""

from __future__ import annotations

from dataclasses import replace

from register.documents.statement_content import OverTime, Statement

INTERNAL, ASSESSOR, PUBLIC = EDITIONS = ("internal", "assessor", "public")


def for_edition(
    content: Statement, edition: str, *, parts: frozenset[str], events: frozenset[str]
) -> Statement:
    """The content for one edition. parts, events: ids and titles that a visitor may read of."""
    if edition != PUBLIC:
        return content
    front = content.front
    return Statement(
        front=replace(front, owner=""),
        figures=content.figures,
        identity=content.identity,
        references=content.references,
        history=tuple(
            replace(one, reference="", holder="", sources=())
            for one in content.history
            if one.title in events
        ),
        survival=content.survival,
        over_time=_without_others(content, events),
        time_rows=tuple(one for one in content.time_rows if not one.is_event or one.what in events),
        cumulative=replace(content.cumulative, limit="") if content.cumulative else None,
        significance=content.significance,
        in_public=content.in_public,
        new_parts=tuple(
            replace(one, reason="", case="", undo="") for one in content.new_parts if one.part_id in parts
        ),
        unknown=content.unknown,
        safety=content.safety,
        elevation=content.elevation,
    )


def _without_others(content: Statement, events: frozenset[str]) -> OverTime | None:
    """The chart with the events that a visitor may read of, numbered anew."""
    told = content.over_time
    if told is None:
        return None
    kept = [one for one in told.balloons if one.event in events]
    return replace(told, balloons=tuple(replace(one, number=str(n)) for n, one in enumerate(kept, 1)))
