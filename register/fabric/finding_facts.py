"""What the consistency of a vehicle's records is judged on: the inputs of the figures, and the columns beside them.

Keys are lower-case ids, ``code`` is the id as typed, "" is what is not given.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from register.fabric.dates import Span
from register.fabric.inputs import VehicleInputs
from register.fabric.interval import Interval
from register.fabric.rounding import shown_kg


class PartFacts(NamedTuple):
    """gross: as weighed, complete. caution: what is written in its remarks or for visitors."""

    code: str
    name: str
    access: str
    gross: Interval | None
    made: Span | None
    date_mark: str
    hazards: str
    remarks: str

    @property
    def words(self) -> str:
        return f"{self.name} ({self.code})"


class PositionFacts(NamedTuple):
    code: str
    name: str
    parent: str
    safety: str


class Stay(NamedTuple):
    """An installation. key: of its row, for its form. seen_only: no date of fitting is given, only a day on which the
    part was seen."""

    key: str
    position: str
    part: str
    vehicle: str
    fitted: Span
    removed: Span | None
    temporary: bool
    seen_only: bool
    reason: str


class Judgement(NamedTuple):
    """Beside an assessment in force. key: of its row."""

    key: str
    pattern_basis: str
    reason: str


class Move(NamedTuple):
    """The last movement of a part."""

    moved: Span
    due_back: Span | None


@dataclass(frozen=True, slots=True)
class VehicleFacts:
    """``parts`` are those that were ever in the vehicle; with no vehicle (code ""), those that were never in one."""

    code: str
    inputs: VehicleInputs
    heritage: Span | None
    parts: Mapping[str, PartFacts]
    positions: Mapping[str, PositionFacts]
    stays: tuple[Stay, ...]
    judgements: Mapping[str, Judgement] = field(default_factory=dict)
    moves: Mapping[str, Move] = field(default_factory=dict)


class Form(NamedTuple):
    """The form that puts it right. key: of the record that is changed, "" for a new one, which ``given`` begins.

    action: its link, a verb first.
    """

    action: str
    table: str
    key: str = ""
    given: tuple[tuple[str, str], ...] = ()


class Finding(NamedTuple):
    """Something that does not agree. table, key, record: what it is about; record is the id as typed.

    what: in a few words. sentence: what is wrong, and what to do. facts: what it rests on; while they are the same, it
    is the same finding. part: of which part's access it takes to read it, "" for none.
    """

    code: str
    table: str
    key: str
    record: str
    what: str
    sentence: str
    form: Form
    facts: tuple[object, ...]
    part: str = ""

    @property
    def fingerprint(self) -> str:
        """The same as long as the facts are: an explanation stays with it, and no longer."""
        text = "\x1f".join([self.code, self.table, self.key, *map(_plain, self.facts)])
        return hashlib.sha256(text.encode()).hexdigest()

    @property
    def message(self) -> str:
        return f"{self.what} {self.sentence}"

    @property
    def place(self) -> str:
        """``parts/FR-001``"""
        return f"{self.table}/{self.record}"


def _plain(fact: object) -> str:
    if isinstance(fact, Interval):
        return f"{fact.low}..{fact.best}..{fact.high}"
    return "..".join(map(str, fact)) if isinstance(fact, tuple) else str(fact)


def about_part(
    facts: VehicleFacts, key: str, code: str, what: str, sentence: str, form: Form, *rests_on: object
) -> Finding:
    """A finding about a part."""
    return Finding(code, "parts", key, facts.parts[key].code, what, sentence, form, rests_on, key)


def kilograms(mass: Interval) -> str:
    """``1,590 to 1,690 kg``"""
    low, high = shown_kg(Fraction(mass.low, 1000)), shown_kg(Fraction(mass.high, 1000))
    return low if low == high else f"{low.removesuffix(' kg')} to {high}"


def change_part(key: str, action: str) -> Form:
    return Form(action, "parts", key)


def new_for_part(facts: VehicleFacts, key: str, table: str, action: str) -> Form:
    return Form(action, table, "", (("part_id", facts.parts[key].code),))
