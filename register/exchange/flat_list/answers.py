"""What the list cannot say of itself, asked once: which vehicle it is of, and on which day it was true."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from register.exchange.flat_list.mapping import ListChoices
from register.exchange.flat_list.things import NamedIds, make_id
from register.fabric.dates import AS_BUILT, HistoricDate, Span, day_in_words, span_of

THE_RAILWAYS_OWN = date(1970, 1, 1).toordinal()
"""Where nobody says since when she has been looked after as heritage: a renewal before this may be the
railway's own (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ListAnswers:
    """vehicle: texts of the vehicle's row, where the register does not have her yet. day: on which the things
    were seen as the list has them, None where nobody knows. prefix: what ids begin with, "" for the vehicle's
    id. built, heritage_from: EDTF, "" where not known. given: answers to the list's own questions, by the key
    of the question (and ``... share`` beside ``... status``)."""

    vehicle_id: str
    vehicle: Mapping[str, str] = field(default_factory=dict)
    day: date | None = None
    built: str = ""
    heritage_from: str = ""
    prefix: str = ""
    given: Mapping[str, str] = field(default_factory=dict)

    @property
    def stem(self) -> str:
        """What every id made from the list begins with."""
        return self.prefix or self.vehicle_id


@dataclass(frozen=True, slots=True)
class Context:
    """What every line is read against. people: names that the list gives as those of persons."""

    answers: ListAnswers
    choices: ListChoices
    ids: NamedIds
    people: frozenset[str] = frozenset()

    @property
    def vehicle(self) -> str:
        return self.answers.vehicle_id

    @property
    def day(self) -> str:
        """Of the list, "" where nobody knows it."""
        return self.answers.day.isoformat() if self.answers.day else ""

    @property
    def day_in_words(self) -> str:
        return day_in_words(self.answers.day) if self.answers.day else ""

    @property
    def built(self) -> Span | None:
        return span_of(self.answers.built) if self.answers.built else None

    def given(self, ident: str, about: str) -> str:
        """What somebody answered about a matter of a thing, "" where nobody has."""
        return self.answers.given.get(f"{self.id(ident)} {about}", "")

    def id(self, *ends: str) -> str:
        return make_id(self.answers.stem, *ends)

    def after_built(self, fitted: HistoricDate | None) -> bool:
        """Whether a date of fitting lies wholly after the vehicle was built."""
        if fitted is None or fitted.edtf == AS_BUILT or self.built is None:
            return False
        return span_of(fitted.edtf).earliest > self.built.latest

    def may_be_historic(self, fitted: HistoricDate | None) -> bool:
        """Whether something fitted then may be a renewal of the railway's own, in its working life."""
        if fitted is None or fitted.edtf == AS_BUILT:
            return False
        since = span_of(self.answers.heritage_from).latest if self.answers.heritage_from else THE_RAILWAYS_OWN
        return span_of(fitted.edtf).earliest < since
