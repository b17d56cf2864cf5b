"""The draft conservation statement of a vehicle, gathered from the register and printed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from functools import cached_property
from importlib.metadata import PackageNotFoundError, version

from django.conf import settings
from django.urls import reverse

from register.documents.elevation import Elevation
from register.documents.figure_view import FigureView, figure_view
from register.documents.statement import render
from register.documents.statement_content import (
    Balloon,
    Front,
    HistoryEvent,
    OverTime,
    ReferencePeriod,
    Statement,
)
from register.documents.step_band import Step
from register.fabric.dates import AS_BUILT, in_words, span_of
from register.fabric.figures import figures_on
from register.fabric.inputs import BASES, Reference
from register.fabric.survival import Survival, survival
from register.fabric.timeline import timeline
from register.models import Citation, Event, Installation, Person, User, Vehicle
from register.services.drawings import elevation_of
from register.services.kept_inputs import kept_inputs
from register.services.opinions import Opinion, opinions_on
from register.services.statement_evidence import Beside
from register.services.statement_parts import Cited, Parts
from register.services.statement_rows import (
    StatementRows,
    change_no_of,
    drawing_of,
    with_what_there_is_one_of,
)
from register.services.vehicle_page import Account, Question, account_with, vehicle_to_ask_of

METHOD_VERSION = "1"
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


def software_version() -> str:
    """The version of this software, as its distribution says."""
    try:
        return version("fabric-register")
    except PackageNotFoundError:
        return settings.VERSION


class Gathered:
    """One statement in the making: the account, and what the database says of its parts beside the figures; the same for
    every edition."""

    def __init__(self, account: Account, rows: StatementRows) -> None:
        self.account, self.vehicle, self.rows = account, account.vehicle, rows
        self.day = account.question.day
        self.here = {row.part: row for row in (*account.chosen.rows, *account.chosen.wear_rows) if row.part}
        self.beside = Beside(account, rows.parts, rows.assessments)

    def content(self, written_by: User | None, *, internal: bool = False) -> Statement:
        """What one edition prints. internal: with the stores where removed parts lie and with persons' own names."""
        return _Edition(self, written_by, internal=internal).statement()

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
    def over_time(self) -> OverTime | None:
        found = timeline(self.account.inputs, reference=self.account.reference, basis="mass")
        until = self.day.toordinal()
        steps = tuple(
            Step(one.start, one.level.low, one.level.high, one.level.best, one.recorded)
            for one in found.steps
            if one.start <= until
        )
        if not steps:
            return None
        marked = [
            one
            for one in self.events
            if one.kind in ("rebuilt", "overhaul", "accident", "preserved", "withdrawn")
        ][:KEPT_OPEN]
        balloons = tuple(
            Balloon(str(number), self.days(one.date_edtf)[1], f"{self.words(one.date_edtf)}: {one.title}")
            for number, one in enumerate(marked, 1)
        )
        return OverTime(
            f"by mass, against {self.account.reference.label} ({in_words(self.account.reference.edtf)})",
            steps,
            until,
            balloons,
        )

    @cached_property
    def elevation(self) -> Elevation | None:
        drawing = drawing_of(self.vehicle)
        return elevation_of(drawing, self.account.chosen.rows) if drawing else None


class _Edition:
    """What one reader is given of it: sources are numbered anew, persons and stores named or not."""

    def __init__(self, found: Gathered, written_by: User | None, *, internal: bool) -> None:
        self.gathered, self.written_by, self.internal = found, written_by, internal
        self.account, self.vehicle = found.account, found.vehicle
        self.cited = Cited(found.citations)
        self.parts = Parts(found, self.cited, internal=internal)

    def statement(self) -> Statement:
        found, parts, beside = self.gathered, self.parts, self.gathered.beside
        schedule = parts.schedule()
        history = tuple(self.history())
        disputes = tuple(parts.disputes())
        return Statement(
            front=self.front(),
            figures=found.figures,
            identity=self.vehicle.identity_basis,
            references=tuple(self.references()),
            history=history,
            survival=found.survivals,
            over_time=found.over_time,
            schedule=schedule,
            new_parts=tuple(parts.new_parts()),
            unweighted=tuple(parts.unweighted()),
            removed=tuple(parts.removed()),
            disputes=disputes,
            unknown=tuple(parts.unknown()),
            sources=tuple(self.cited.rows()),
            hazards=tuple(parts.hazards()),
            safety=parts.safety(),
            elevation=found.elevation,
            losses=tuple(beside.losses(found.survival_asked_for, parts.left())),
            open_questions=tuple(beside.open_questions()),
            evidence=beside.evidence,
            elsewhere=tuple(beside.from_elsewhere(parts.fitted_by_position())),
            with_elsewhere=beside.with_elsewhere(),
            masses=beside.masses(),
            worked=beside.worked(),
        )

    def front(self) -> Front:
        vehicle = self.vehicle
        return Front(
            railway=settings.SITE_NAME,
            vehicle=vehicle.name,
            number=vehicle.number,
            kind=vehicle.kind,
            builder=vehicle.builder,
            works_number=vehicle.works_number,
            built=in_words(vehicle.built_edtf),
            owner=self.called(vehicle.owner),
            day=self.gathered.day,
            method_version=METHOD_VERSION,
            software_version=software_version(),
            change_number=change_no_of(vehicle),
            written_by=_public_name(self.written_by),
            former_numbers=tuple(one.strip() for one in vehicle.former_numbers.split(";") if one.strip()),
            summary=vehicle.summary,
            public_address=self.public_address(),
        )

    def public_address(self) -> str:
        """Of the page that anybody may read; "" where there is none, or the site does not know its own address."""
        if not settings.PUBLIC_BASE_URL or not self.vehicle.published:
            return ""
        return f"{settings.PUBLIC_BASE_URL}{reverse('public-vehicle', args=[self.vehicle.key])}"

    def references(self) -> Iterable[ReferencePeriod]:
        reasons = {one.label: one.reason for one in self.account.labels.periods}
        for one in self.account.inputs.references:
            yield ReferencePeriod(one.label, in_words(one.edtf), reasons.get(one.label, ""), one.default)

    def history(self) -> Iterable[HistoryEvent]:
        words = self.gathered.words
        for one in self.gathered.events:
            yield HistoryEvent(
                words(one.date_edtf),
                one.kind,
                one.title,
                words(one.until_edtf),
                one.reference,
                self.called(one.holder),
                (self.cited.number(one.source),) if one.source else (),
            )

    def called(self, person: Person | None) -> str:
        """The name that this edition may print."""
        return "" if person is None else str(person.name if self.internal else person.public_as)


def _public_name(user: User | None) -> str:
    if user is None:
        return ""
    return user.person.public_as if user.person and user.person.public_as else ""
