"""What happened in a period, a line each: fitted, removed, treated, moved, disposed of, events; and what may have."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace

from register.documents.period_content import (
    DISPOSED,
    EVENTS,
    FITTED,
    MOVED,
    POSSIBLE,
    REMOVED,
    TREATED,
    WEAR,
    Group,
    Line,
)
from register.documents.period_words import DID, and_more, entered_late, several
from register.exchange.records import Row
from register.fabric.dates import in_words
from register.services.happenings import Happening
from register.services.period_moments import Moments
from register.services.period_said import Said

OF_THE_PERIOD = (FITTED, REMOVED, TREATED, MOVED, DISPOSED, EVENTS)
LOOSE = 11 * 366
"""Days in the span of a date at most for a thing to be named that only may have been in the period: those of "about 1894"."""

MOST_POSSIBLE = 12
"""Things that only may have been in the period that are named; the rest are counted."""

TABLE_OF = {
    FITTED: "installations",
    REMOVED: "installations",
    TREATED: "treatments",
    MOVED: "movements",
    DISPOSED: "parts",
    EVENTS: "events",
}


class Lines:
    """The lines of every vehicle ("" for parts that belong to none), from the rows as they were known in the end."""

    def __init__(self, moments: Moments) -> None:
        self.moments, self.seen, self.happened = moments, moments.after.seen, moments.after.happened
        self.said = Said(moments)
        self.by_vehicle: dict[str, list[Happening]] = defaultdict(list)
        for one in self.happened.all.values():
            self.by_vehicle[one.vehicle or ""].append(one)

    def groups(self, vehicle: str) -> Iterator[Group]:
        found = sorted(self.by_vehicle[vehicle], key=lambda one: (one.span.best, one.part or "", one.row["_key"]))
        for kind in OF_THE_PERIOD:
            lines = self.lines(one for one in found if one.kind == kind and self.moments.period.is_of(one.span))
            if lines:
                yield Group(kind, lines)

    def possible(self, vehicle: str) -> Group | None:
        """What may have been in the period and is taken not to have been, the least loosely dated first."""
        found = [one for one in self._perhaps(vehicle) if not _is_loose(one)]
        found.sort(key=lambda one: (one.span.latest - one.span.earliest, one.part or "", one.row["_key"]))
        lines = self.lines(found, named=True)
        return Group(POSSIBLE, lines[:MOST_POSSIBLE], and_more(len(lines) - MOST_POSSIBLE)) if lines else None

    def loose(self, vehicle: str) -> int:
        """How many more there are, of which nobody can say when they were."""
        return len(self.lines(one for one in self._perhaps(vehicle) if _is_loose(one)))

    def _perhaps(self, vehicle: str) -> Iterator[Happening]:
        """What was found out in the period is told there."""
        period = self.moments.period
        for one in self.by_vehicle[vehicle]:
            if period.may_be_of(one.span) and not period.is_of(one.span) and not self.moments.is_news(one):
                yield one

    def lines(self, found: Iterable[Happening], *, named: bool = False) -> tuple[Line, ...]:
        """Of what the reader may know of. named: with what happened said, where no title says it."""
        made = [(one, self.line(one)) for one in found]
        return tuple(
            replace(line, said=(DID[one.kind], *line.said)) if named else line
            for one, line in made
            if line is not None
        )

    def line(self, one: Happening) -> Line | None:
        """None where the reader may not know of it, or it is told elsewhere."""
        if one.kind == EVENTS:
            return self._event(one)
        part = self.seen.row("parts", one.part)
        if part is None or self.said.is_told_elsewhere(one):
            return None
        position = self.position_of(one)
        is_seen = position and one.kind in (FITTED, REMOVED)
        return Line(
            when=when(one),
            about=several(str(part["name"]), part["quantity"]),
            code=part["_code"],
            key=part["_key"],
            position=str(position["name"]) if position else "",
            status=self.status(part["_key"], position),
            visibility=str(one.row["visibility"] or position["visibility"]) if is_seen and position else "",
            said=self.said.of(one),
            doubts=tuple(self.doubts(one)),
        )

    def position_of(self, one: Happening) -> Row | None:
        if one.kind in (FITTED, REMOVED):
            return self.seen.row("positions", one.row["position_id"])
        return self.position_on(one.part, one.span.best)

    def position_on(self, part: str | None, day: int) -> Row | None:
        """Where a part belonged on a day, or last did."""
        home = self.happened.home(part, day)
        return self.seen.row("positions", home.row["position_id"]) if home else None

    def status(self, part: str, position: Row | None) -> str:
        if position and position["wear_part"]:
            return WEAR
        held = self.moments.after.held.get(part)
        return str(held["status"]) if held else ""

    def doubts(self, one: Happening) -> Iterator[str]:
        moments = self.moments
        if doubt := moments.period.doubt(one.span):
            yield doubt
        known = moments.before.happened.all.get(one.key)
        if known is not None and known.stamp != one.stamp:
            yield f"recorded before as {when(known)}"
        if moments.is_late:
            then = moments.last.happened.all.get(one.key)
            entered = moments.entered(TABLE_OF[one.kind], one.row["_key"])
            if entered and (then is None or then.stamp != one.stamp):
                yield entered_late(entered[0])

    def _event(self, one: Happening) -> Line | None:
        row, sight = one.row, self.moments.sight
        if row["access"] == "restricted" and not sight.restricted:
            return None
        part = self.seen.row("parts", row["part_id"])
        holder = "" if sight.public else self.seen.person(row["holder"])
        is_open = not sight.public and (row["source_id"] is None or self.seen.row("sources", row["source_id"]))
        said = (
            row["kind"] if row["kind"] != "other" else "",
            f"until {in_words(row['until'].edtf)}" if row["until"] else "",
            row["reference"] or "" if is_open else "",
            f"paper held by {holder}" if holder else "",
        )
        return Line(
            when=when(one),
            about=str(row["title"]),
            position=str(part["name"]) if part else "",
            said=tuple(filter(None, said)),
            doubts=tuple(self.doubts(one)),
        )


def _is_loose(one: Happening) -> bool:
    return one.span.latest - one.span.earliest > LOOSE


def when(one: Happening) -> str:
    if one.edtf:
        return in_words(one.edtf)
    return f"not known; seen in place on {in_words(one.row['seen_on'].edtf)}"
