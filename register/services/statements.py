"""The draft conservation statement of a vehicle, gathered from the register and printed."""

from __future__ import annotations

from datetime import date
from functools import cached_property

from register.documents.elevation import Elevation
from register.documents.figure_view import FigureView, figure_view
from register.documents.statement import render
from register.documents.statement_content import (
    Balloon,
    OverTime,
    Statement,
)
from register.documents.timeline_view import TimelineView, timeline_view
from register.exchange.records import Register
from register.fabric.dates import AS_BUILT, in_words, span_of
from register.fabric.figures import figures_on
from register.fabric.inputs import BASES, Reference
from register.fabric.survival import Survival, survival
from register.models import Citation, Event, Installation, User, Vehicle
from register.services.drawings import elevation_of
from register.services.kept_inputs import kept_inputs
from register.services.opinions import Opinion, opinions_on
from register.services.statement_edition import Edition
from register.services.statement_evidence import Beside
from register.services.statement_impact import Effect, effects_from
from register.services.statement_loss import FirstStated
from register.services.statement_register import register_for_effects
from register.services.statement_rows import (
    StatementRows,
    drawing_of,
    with_what_there_is_one_of,
)
from register.services.statement_texts import Texts, open_proposals, steps_of, texts_of
from register.services.vehicle_page import Account, Question, account_with, timeline_of, vehicle_to_ask_of

MARKED = ("rebuilt", "overhaul", "accident", "preserved", "withdrawn")
"""Kinds of events that get a balloon on the chart of change."""
KEPT_OPEN = 12
"""Events with a balloon on the chart of change; the history lists them all."""


def draft_statement(
    vehicle_id: str, *, day: date, reference: str | None = None, written_by: User | None = None
) -> bytes:
    """A draft statement as a PDF. Raises NoSuch for an unknown vehicle or reference period."""
    return render(statement_content(vehicle_id, day=day, reference=reference, written_by=written_by))


def statement_content(
    vehicle_id: str, *, day: date, reference: str | None = None, written_by: User | None = None
) -> Statement:
    """Everything that the draft prints, as plain values, in a fixed number of queries. Raises NoSuch."""
    return gathered(vehicle_id, Question(day, reference)).content(written_by)


def gathered(vehicle_id: str, question: Question) -> Gathered:
    """A vehicle's rows and figures, read once for every edition. Raises NoSuch."""
    vehicle = vehicle_to_ask_of(vehicle_id, with_what_there_is_one_of(Vehicle.objects.all()))
    rows = StatementRows(vehicle.key)
    return Gathered(account_with(vehicle, question, *kept_inputs(vehicle, rivals=True, read=rows.inputs)), rows)


class Gathered:
    """One statement in the making: the account, and what the database says of its parts beside the figures; the same for
    every edition."""

    def __init__(self, account: Account, rows: StatementRows) -> None:
        self.account, self.vehicle, self.rows = account, account.vehicle, rows
        self.day = account.question.day
        self.register: Register | None = None
        """The rows that proposals are laid over, where they are at hand already."""
        self.here = {row.part: row for row in (*account.chosen.rows, *account.chosen.wear_rows) if row.part}
        self.beside = Beside(account, rows.parts, rows.assessments)

    def content(
        self, written_by: User | None, *, internal: bool = False, first: FirstStated | None = None
    ) -> Statement:
        """What one edition prints. internal: with the stores where removed parts lie and with persons' own names. first:
        the first statement that was issued of the vehicle."""
        return Edition(self, written_by, internal=internal, first=first).statement()

    def words(self, edtf: str) -> str:
        if edtf == AS_BUILT:
            return in_words(self.vehicle.built_edtf)
        return in_words(edtf) if edtf else ""

    def days(self, edtf: str) -> tuple[int, int]:
        """The earliest and the best day."""
        span = span_of(self.vehicle.built_edtf if edtf == AS_BUILT else edtf)
        return span.earliest, span.best

    # --- what was where -------------------------------------------------------------------------------------------

    @cached_property
    def stays(self) -> list[Installation]:
        """In the vehicle, by part and then in the order of their beginnings."""
        return sorted(self.rows.stays, key=lambda one: (one.part_id, self._begins(one)))

    def _begins(self, one: Installation) -> int:
        return self.days(one.fitted_edtf)[1] if one.fitted_edtf else span_of(one.seen_on_edtf).best

    @cached_property
    def last_stays(self) -> dict[tuple[str, str], Installation]:
        """By part and position."""
        return {(one.part_id, one.position_id): one for one in self.stays}

    @cached_property
    def last_ordinary(self) -> dict[tuple[str, str], Installation]:
        """The same, stand-ins aside."""
        return {(one.part_id, one.position_id): one for one in self.stays if not one.temporary}

    @cached_property
    def now_elsewhere(self) -> set[str]:
        """Parts that belong in another vehicle by now."""
        key = self.vehicle.key
        return {one.part for one in self.account.inputs.installations if one.vehicle != key and one.removed is None}

    @cached_property
    def citations(self) -> dict[str, list[Citation]]:
        """By part."""
        found: dict[str, list[Citation]] = {}
        for one in self.rows.citations:
            found.setdefault(one.part_id, []).append(one)
        return found

    @cached_property
    def opinions(self) -> list[Opinion]:
        return opinions_on({row.part for row in self.account.chosen.rows if row.part})

    @cached_property
    def events(self) -> list[Event]:
        return sorted(self.rows.events, key=lambda one: self.days(one.date_edtf)[::-1])

    # --- figures --------------------------------------------------------------------------------------------------

    @property
    def _references(self) -> list[Reference]:
        """That of the headline first."""
        first = self.account.reference
        return [first, *(one for one in self.account.inputs.references if one is not first)]

    @cached_property
    def figures(self) -> tuple[FigureView, ...]:
        inputs, views = self.account.inputs, []
        for reference in self._references:
            found = figures_on(inputs, day=self.day.toordinal(), reference=reference)
            views += [figure_view(found[basis], inputs, guarded=True) for basis in BASES]
        return tuple(views)

    @cached_property
    def survivals(self) -> tuple[Survival, ...]:
        day = self.day.toordinal()
        return tuple(
            survival(self.account.inputs, day=day, reference=one, basis="mass")
            for one in self._references
            if day >= one.span.latest
        )

    @property
    def survival_asked_for(self) -> Survival | None:
        """Against the reference period of the headline; None before the end of it."""
        label = self.account.reference.label
        return next((one for one in self.survivals if one.reference.label == label), None)

    @cached_property
    def timeline(self) -> TimelineView:
        return timeline_view(timeline_of(self.account), self.day.toordinal())

    @cached_property
    def over_time(self) -> OverTime | None:
        view = self.timeline
        if not view.rows:
            return None
        marked = [one for one in self.events if one.kind in MARKED][:KEPT_OPEN]
        balloons = tuple(
            Balloon(str(number), self.days(one.date_edtf)[1], f"{dated}: {one.title}", dated, one.title)
            for number, (one, dated) in enumerate(((one, self.words(one.date_edtf)) for one in marked), 1)
        )
        return OverTime(view.about, view.drawn, view.until, balloons)

    # --- in words -------------------------------------------------------------------------------------------------

    @cached_property
    def texts(self) -> Texts:
        return texts_of(self.vehicle)

    @cached_property
    def effects(self) -> tuple[Effect, ...]:
        """Of the open proposals. The register is read once for all of them, unless it is at hand."""
        if not open_proposals(self.texts):
            return ()
        register = self.register or register_for_effects(self.rows, steps_of(self.texts))
        return effects_from(register, self.vehicle.key, self.day, self.account.reference.label, self.texts)

    @cached_property
    def elevation(self) -> Elevation | None:
        drawing = drawing_of(self.vehicle)
        return elevation_of(drawing, self.account.chosen.rows) if drawing else None
