"""What one edition of a statement prints, made of what was gathered for all of them."""

from __future__ import annotations

from collections.abc import Iterable
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING

from django.conf import settings
from django.urls import reverse

from register.documents.statement_content import Front, HistoryEvent, ReferencePeriod, Statement
from register.fabric.dates import in_words
from register.models import Person, User
from register.services.statement_figures import METHOD_VERSION
from register.services.statement_loss import FirstStated, cumulative, time_rows
from register.services.statement_options import proposed
from register.services.statement_parts import Cited, Parts
from register.services.statement_rows import change_no_of
from register.services.statement_texts import person
from register.services.statement_told import Told

if TYPE_CHECKING:
    from register.services.statements import Gathered


def software_version() -> str:
    """The version of this software, as its distribution says."""
    try:
        return version("fabric-register")
    except PackageNotFoundError:
        return settings.VERSION


class Edition:
    """What one reader is given of it: sources are numbered anew, persons and stores named or not."""

    def __init__(
        self, found: Gathered, written_by: User | None, *, internal: bool, first: FirstStated | None
    ) -> None:
        self.gathered, self.written_by, self.internal, self.first = found, written_by, internal, first
        self.account, self.vehicle = found.account, found.vehicle
        self.cited = Cited(found.citations)
        self.parts = Parts(found, self.cited, internal=internal)

    def statement(self) -> Statement:
        found, parts, beside = self.gathered, self.parts, self.gathered.beside
        told = Told(found, found.texts, internal=self.internal)
        schedule = parts.schedule()
        history = tuple(self.history())
        disputes, new_parts = tuple(parts.disputes()), tuple(parts.new_parts())
        return Statement(
            front=self.front(),
            figures=found.figures,
            identity=self.vehicle.identity_basis,
            references=tuple(self.references()),
            history=history,
            survival=found.survivals,
            over_time=found.over_time,
            schedule=schedule,
            new_parts=new_parts,
            cases=tuple(told.cases(one.case for one in new_parts)),
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
            significance=tuple(told.significance()),
            time_rows=tuple(time_rows(found, found.timeline)),
            cumulative=cumulative(found, found.texts, self.first),
            proposed=proposed(found, told, found.effects),
            policy=told.policy(),
            log=told.log(),
            in_public=told.in_public(),
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
            written_by=self.writer(),
            former_numbers=tuple(one.strip() for one in vehicle.former_numbers.split(";") if one.strip()),
            summary=vehicle.summary,
            public_address=self.public_address(),
        )

    def writer(self) -> str:
        """As this edition may call whoever wrote it; "" where it may not."""
        user = self.written_by
        if user is None:
            return ""
        return person(user)["name"] if self.internal else user.person.public_as if user.person else ""

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
