"""What a part is known to be, set against what it was known to be when a period began."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

from register.documents.period_words import held, mass_words, share_words, was_and_is
from register.exchange.records import Row, trio_interval
from register.fabric.dates import in_words
from register.services.happenings import in_force
from register.services.period_moments import Moments

READ_ON_IT = {
    "marks": "marks",
    "material": "material",
    "maker": "maker",
    "date_mark": "marked as new",
    "hazards": "hazards",
}
"""Columns of a part whose new text is a find, and what they are called."""

SHARE = ("fraction_low", "fraction", "fraction_high")


class Assessed:
    """strengths: how strong the evidence is for the assessment in force, in words, by part."""

    def __init__(self, moments: Moments, strengths: Mapping[str, str]) -> None:
        self.moments, self.seen, self.strengths = moments, moments.after.seen, strengths

    @cached_property
    def held_before(self) -> Mapping[str, Row]:
        """By every row, whoever may read it."""
        return in_force(self.moments.before.full)

    def status(self, part: str, vehicle: str) -> Iterator[str]:
        """What a part that was known before is held to be otherwise than then. vehicle: where it belongs."""
        was, now = self.moments.before.held.get(part), self.moments.after.held.get(part)
        if _said_by(was) == _said_by(now):
            return
        may_compare = self._may_compare(part, vehicle, was)
        if now is None:
            yield was_and_is(was["status"] if was else "", "") if may_compare else held("")
            return
        if was is None or was["status"] != now["status"]:
            words = was_and_is(was["status"] if was else "", now["status"]) if may_compare else f"is {held(now['status'])}"
        else:
            words = f"{held(now['status'])}, as before"
        yield f"{words}; {', '.join(self._how(was if may_compare else None, now))}"
        yield str(now["reason"] or "")
        entered = self.moments.entered("assessments", now["_key"])
        if entered and (name := self.seen.user(entered[1])):
            yield f"entered by {name}"

    def _may_compare(self, part: str, vehicle: str, was: Row | None) -> bool:
        """In public, only with what could be read by anybody then."""
        if not self.moments.sight.public:
            return True
        was_open = self.moments.was_public("parts", part) and self.moments.was_public("vehicles", vehicle)
        return was_open and (was is not None or part not in self.held_before)

    def _how(self, was: Row | None, now: Row) -> Iterator[str]:
        """When, by whom, how much of it, on what evidence."""
        person = self.seen.person(now["assessor"])
        yield f"assessed on {in_words(now['assessed_on'].edtf)}{f' by {person}' if person else ''}"
        share, earlier = (share_words(*(row[name] for name in SHARE)) if row else "" for row in (now, was))
        if share and share != earlier:
            yield f"original fabric left in it {share}{f', before {earlier}' if earlier else ''}"
        if now["original_since"] and (was is None or _edtf(was) != _edtf(now)):
            yield f"part of the vehicle since {in_words(now['original_since'].edtf)}"
        if not self.moments.sight.public and (strength := self.strengths.get(now["part_id"])):
            yield f"evidence {strength}"

    def read(self, part: str) -> Iterator[str]:
        """Its mass, and what was read on it."""
        was, now = (one.seen.register.tables["parts"][part] for one in (self.moments.before, self.moments.after))
        before, after = trio_interval(was, "mass"), trio_interval(now, "mass")
        if before != after:
            yield f"mass {mass_words(after)}, before {mass_words(before)}"
        for name, words in READ_ON_IT.items():
            if now[name] and now[name] != was[name]:
                yield f"{words}: {now[name].replace(';', ', ') if name == 'hazards' else now[name]}"


def _edtf(row: Row) -> str:
    return row["original_since"].edtf if row["original_since"] else ""


def _said_by(row: Row | None) -> tuple[object, ...]:
    if row is None:
        return ()
    return row["status"], row["assessed_on"].edtf, row["original_to"], _edtf(row), *(row[name] for name in SHARE)
