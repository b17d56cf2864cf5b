"""What was found out: what is known in the end that was not known when the period began, part by part.

What is entered in the period about earlier years is here, never among the work. Of a vehicle that is new to the register
itself nothing is: all of it would be.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date

from register.documents.period_content import EVENTS, FITTED, NO_CHIP, Line
from register.documents.period_words import DID, entered_late, held, several
from register.fabric.dates import day_in_words
from register.services.happenings import Happening
from register.services.period_assessed import Assessed
from register.services.period_lines import TABLE_OF, Lines, when
from register.services.period_moments import Moments

GONE = "no longer on record"


@dataclass(slots=True)
class _Found:
    """Of one part: sentences, the days on which they were entered, doubts."""

    said: list[str] = field(default_factory=list)
    days: set[date] = field(default_factory=set)
    doubts: list[str] = field(default_factory=list)


class Found:
    """Lines by vehicle, "" for parts that belong to none."""

    def __init__(self, moments: Moments, lines: Lines, assessed: Assessed) -> None:
        self.moments, self.of_period, self.assessed = moments, lines, assessed
        self.before, self.after = moments.before, moments.after
        self.parts_before, self.parts_after = (
            one.seen.register.tables["parts"] for one in (self.before, self.after)
        )
        self.parts: dict[tuple[str, str], _Found] = defaultdict(_Found)
        self.events: dict[str, list[Line]] = defaultdict(list)
        self._happenings()
        for part in sorted(self.parts_after):
            self._part(part)
        for part in sorted(self.parts_before.keys() - self.parts_after.keys()):
            self._gone_part(part)

    def lines(self, vehicle: str) -> tuple[Line, ...]:
        """By part, then the events."""
        known = self.before.full.tables["vehicles"]
        if not known or (vehicle and vehicle not in known):
            return ()
        made = [self._line(part, found) for (of, part), found in sorted(self.parts.items()) if of == vehicle and found.said]
        return (*(one for one in made if one is not None), *self.events[vehicle])

    # --- what happened, and was not known ---------------------------------------------------------------------------

    def _happenings(self) -> None:
        first, known = self.moments.period.first, self.before.happened.all
        for _, one in _in_order(self.after.happened.all):
            if one.span.best < first and self.moments.is_news(one):
                self._tell(one, known.get(one.key))
        for key, one in _in_order(known):
            is_there = one.part is None or one.part in self.parts_after
            if key not in self.after.happened.all and is_there and one.vehicle in (None, *self._vehicles()):
                self._tell_gone(one)

    def _vehicles(self) -> Iterator[str]:
        yield from self.after.seen.register.tables["vehicles"]

    def _tell(self, one: Happening, known: Happening | None) -> None:
        entered = self.moments.entered(TABLE_OF[one.kind], one.row["_key"])
        if one.kind == EVENTS:
            line = self.of_period.line(one)
            if line is not None:
                on = day_in_words(entered[0]) if entered and not self.moments.sight.public else ""
                said = (f"{DID[EVENTS]}: {line.when}", *line.said)
                self.events[one.vehicle or ""].append(replace(line, when=on, said=said))
            return
        if self.of_period.said.is_told_elsewhere(one):
            return
        found = self.parts[one.vehicle or "", one.part or ""]
        words = f"{DID[one.kind]}: {when(one)}{self._where(one)}"
        if known is not None:
            words += f" (recorded before as {when(known)})"
        more = () if one.kind == FITTED else self.of_period.said.of(one)
        found.said.append("; ".join((words, *more)))
        found.doubts += filter(None, [self.moments.period.doubt(one.span)])
        found.days |= {entered[0]} if entered else set()

    def _tell_gone(self, one: Happening) -> None:
        words = f"{GONE}: {DID[one.kind]}, {when(one)}{self._where(one)}"
        if one.kind != EVENTS:
            self.parts[one.vehicle or "", one.part or ""].said.append(words)
        elif self.before.seen.row("events", one.row["_key"]):
            self.events[one.vehicle or ""].append(Line("", str(one.row["title"]), said=(words,)))

    def _where(self, one: Happening) -> str:
        name = self.after.seen.name("positions", one.row.get("position_id"))
        return f", as {name}" if name else ""

    # --- what a part is -----------------------------------------------------------------------------------------------

    def _part(self, part: str) -> None:
        if self.after.seen.row("parts", part) is None:
            return
        home = self.after.happened.home(part, self.moments.period.last)
        vehicle = home.vehicle if home else ""
        said: list[str] = []
        if part in self.parts_before:
            said = [*self.assessed.status(part, vehicle), *self.assessed.read(part)]
        elif not self._is_told_as_fitted(part) and not self.moments.sight.public:  # it may only have been closed before
            now = self.after.held.get(part)
            said = [f"new to the register; {held(now['status'] if now else '')}"]
        if any(said):
            found = self.parts[vehicle, part]
            found.said = [*filter(None, said), *found.said]
            for table, key in (("parts", part), ("assessments", str(self.after.held.get(part, {}).get("_key", "")))):
                entered = self.moments.entered(table, key)
                found.days |= {entered[0]} if entered else set()

    def _is_told_as_fitted(self, part: str) -> bool:
        """Whether it came to be fitted in the period, and so is told of there."""
        return any(self.moments.period.is_of(one.fitted) for one in self.after.happened.stays.get(part, ()))

    def _gone_part(self, part: str) -> None:
        """Struck out, or found to be another one."""
        if self.before.seen.row("parts", part) is None or self.moments.sight.public:
            return
        home = self.before.happened.home(part, self.moments.period.last)
        retired = self.moments.now.retired.get(("parts", part))
        if retired and not self._may_know_of(retired.merged_into):
            return
        why = f": {retired.why}" if retired and retired.why else ""
        words = f"struck out of the register{why}"
        if retired and retired.merged_into:
            words = f"found to be the same as {retired.merged_into}, with which it is one record now{why}"
        self.parts[home.vehicle if home else "", part].said.append(words)

    def _may_know_of(self, into: str) -> bool:
        """Whether the reader may know of the part that another one was merged into, "" for none, wherever that has led to."""
        now, key = self.moments.now, into.lower()
        while (later := now.retired.get(("parts", key))) is not None and later.merged_into:
            key = later.merged_into.lower()
        row = now.tables["parts"].get(key)
        return row is None or row["access"] == "public" or self.moments.sight.restricted

    def _line(self, part: str, found: _Found) -> Line | None:
        after, before = self.after.seen.row("parts", part), self.before.seen.row("parts", part)
        row = after or before
        if row is None:
            return None
        position = self.of_period.position_on(part, self.moments.period.last)
        days = [] if self.moments.sight.public else sorted(found.days)  # when something was entered is nobody else's
        late = [entered_late(day) for day in days[-1:] if day > self.moments.last_day]
        return Line(
            when=" and ".join(day_in_words(day) for day in dict.fromkeys([*days[:1], *days[-1:]])),
            about=several(str(row["name"]), row["quantity"]),
            code=row["_code"],
            key=part if after else "",
            position=str(position["name"]) if position else "",
            status=self.of_period.status(part, position) if after else NO_CHIP,
            said=tuple(found.said),
            doubts=tuple(dict.fromkeys([*found.doubts, *late])),
        )


def _in_order(found: dict[tuple[str, str], Happening]) -> list[tuple[tuple[str, str], Happening]]:
    return sorted(found.items(), key=lambda pair: (pair[1].span, pair[0]))
