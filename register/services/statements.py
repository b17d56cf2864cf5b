"""The draft conservation statement of a vehicle, gathered from the register and printed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from fractions import Fraction
from importlib.metadata import PackageNotFoundError, version

from django.conf import settings
from django.urls import reverse

from register.documents.figure_view import STRENGTHS, FigureView, figure_view
from register.documents.statement import render
from register.documents.statement_content import (
    Assembly,
    Balloon,
    Dispute,
    Front,
    Hazard,
    HistoryEvent,
    NewPart,
    OverTime,
    PartRow,
    ReferencePeriod,
    RemovedPart,
    SourceRow,
    Statement,
    Unweighted,
)
from register.documents.step_band import Step
from register.fabric.account import Row
from register.fabric.dates import AS_BUILT, in_words, span_of
from register.fabric.figures import figures_on
from register.fabric.fraction import FROM_ELSEWHERE, LATER_HISTORIC
from register.fabric.inputs import BASES, VISIBILITIES
from register.fabric.interval import ONE
from register.fabric.survival import Survival, survival
from register.fabric.timeline import timeline
from register.models import (
    Citation,
    Event,
    Installation,
    Movement,
    Part,
    Person,
    Position,
    Source,
    User,
)
from register.services.drawings import elevation_of
from register.services.loading import last_change_no
from register.services.opinions import opinions_on
from register.services.statement_evidence import Beside
from register.services.vehicle_page import Account, Node, Question, account_of, tree_of

METHOD_VERSION = "1"
HIDDEN_FIRST = tuple(reversed(VISIBILITIES))
KEPT_OPEN = 12
"""Events with a balloon on the chart of change; the history lists them all."""


def draft_statement(
    vehicle_id: str, *, day: date, reference: str | None = None, written_by: User | None = None
) -> bytes:
    """A draft statement as a PDF. Raises NoSuch for an unknown vehicle or reference period."""
    return render(statement_content(vehicle_id, day=day, reference=reference, written_by=written_by))


def statement_content(
    vehicle_id: str,
    *,
    day: date,
    reference: str | None = None,
    written_by: User | None = None,
    internal: bool = False,
) -> Statement:
    """Everything that the draft prints, as plain values, in a fixed number of queries. internal: with the stores where
    removed parts lie and with persons' own names."""
    account = account_of(vehicle_id, Question(day, reference), rivals=True)
    return _Gathering(account, written_by, internal=internal).statement()


def software_version() -> str:
    """The version of this software, as its distribution says."""
    try:
        return version("fabric-register")
    except PackageNotFoundError:
        return settings.VERSION


class _Gathering:
    """One statement in the making: the account, and what the database says of its parts beside the figures."""

    def __init__(self, account: Account, written_by: User | None, *, internal: bool = False) -> None:
        self.internal = internal
        self.account, self.vehicle, self.written_by = account, account.vehicle, written_by
        self.day = account.question.day
        keys = list(account.inputs.parts)
        here = {row.part: row for row in (*account.chosen.rows, *account.chosen.wear_rows) if row.part}
        self.here = here
        self.parts = Part.objects.in_bulk(keys)
        self.positions = {one.key: one for one in Position.objects.filter(vehicle=self.vehicle)}
        stays = Installation.objects.filter(part__in=keys, position__vehicle=self.vehicle)
        self.stays = sorted(stays, key=lambda one: (one.part_id, _begins(one, self.vehicle.built_edtf)))
        self.last_stays = {(one.part_id, one.position_id): one for one in self.stays}
        self.last_ordinary = {(one.part_id, one.position_id): one for one in self.stays if not one.temporary}
        self.citations = list(Citation.objects.filter(part__in=keys).select_related("source"))
        self.events = sorted(
            Event.objects.filter(vehicle=self.vehicle).select_related("source", "holder"),
            key=lambda one: _span(one.date_edtf, self.vehicle.built_edtf)[::-1],
        )
        self.movements: dict[str, list[Movement]] = {}
        for moved in Movement.objects.filter(part__in=keys).select_related("place", "with_part"):
            self.movements.setdefault(moved.part_id, []).append(moved)
        self.now_elsewhere = {
            one.part
            for one in account.inputs.installations
            if one.vehicle != self.vehicle.key and one.removed is None
        }
        self.beside = Beside(account, self.parts)
        self.survivals = tuple(self.survival())
        self.numbers: dict[str, int] = {}
        self.sources: dict[str, Source] = {}

    def statement(self) -> Statement:
        schedule = self.schedule()
        history = tuple(self.history())
        disputes = tuple(self.disputes())
        return Statement(
            front=self.front(),
            figures=self.figures(),
            identity=self.vehicle.identity_basis,
            references=tuple(self.references()),
            history=history,
            survival=self.survivals,
            over_time=self.over_time(),
            schedule=schedule,
            new_parts=tuple(self.new_parts()),
            unweighted=tuple(self.unweighted()),
            removed=tuple(self.removed()),
            disputes=disputes,
            unknown=tuple(self.unknown()),
            sources=tuple(self.source_rows()),
            hazards=tuple(self.hazards()),
            safety=self.safety(),
            elevation=elevation_of(self.vehicle.key, self.account.chosen.rows),
            losses=tuple(self.beside.losses(self.survival_asked_for(), self.left())),
            open_questions=tuple(self.beside.open_questions()),
            evidence=self.beside.evidence(),
            elsewhere=tuple(self.beside.from_elsewhere(self.fitted_by_position())),
            with_elsewhere=self.beside.with_elsewhere(),
            masses=self.beside.masses(),
            worked=self.beside.worked(),
        )

    # --- what it is about -----------------------------------------------------------------------------------------

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
            day=self.day,
            method_version=METHOD_VERSION,
            software_version=software_version(),
            change_number=last_change_no(),
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
        for one in self.events:
            holder = self.called(one.holder)
            cited = (self.cite(one.source),) if one.source else ()
            yield HistoryEvent(
                self.words(one.date_edtf),
                one.kind,
                one.title,
                self.words(one.until_edtf),
                one.reference,
                holder,
                cited,
            )

    def words(self, edtf: str) -> str:
        if edtf == AS_BUILT:
            return in_words(self.vehicle.built_edtf)
        return in_words(edtf) if edtf else ""

    # --- figures --------------------------------------------------------------------------------------------------

    def figures(self) -> tuple[FigureView, ...]:
        account = self.account
        ordered = [
            account.reference,
            *(one for one in account.inputs.references if one is not account.reference),
        ]
        views = []
        for reference in ordered:
            found = figures_on(account.inputs, day=self.day.toordinal(), reference=reference)
            views += [figure_view(found[basis], account.inputs, guarded=True) for basis in BASES]
        return tuple(views)

    def survival(self) -> Iterable[Survival]:
        for reference in (
            self.account.reference,
            *(one for one in self.account.inputs.references if one is not self.account.reference),
        ):
            if self.day.toordinal() >= reference.span.latest:
                yield survival(
                    self.account.inputs, day=self.day.toordinal(), reference=reference, basis="mass"
                )

    def survival_asked_for(self) -> Survival | None:
        """Against the reference period of the headline; None before the end of it."""
        label = self.account.reference.label
        return next((one for one in self.survivals if one.reference.label == label), None)

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
            Balloon(
                str(number),
                _span(one.date_edtf, self.vehicle.built_edtf)[1],
                f"{self.words(one.date_edtf)}: {one.title}",
            )
            for number, one in enumerate(marked, 1)
        )
        return OverTime(
            f"by mass, against {self.account.reference.label} ({in_words(self.account.reference.edtf)})",
            steps,
            until,
            balloons,
        )

    # --- the schedule ---------------------------------------------------------------------------------------------

    def schedule(self) -> tuple[Assembly, ...]:
        found = []
        for top in tree_of(self.account):
            nodes = [node for node in top.walk() if node.row is not None]
            if nodes:
                weights = [
                    node.row.weight.best
                    for node in nodes
                    if node.row and not node.wear and node.row.weight and node.row.weight.best is not None
                ]
                found.append(
                    Assembly(
                        top.name,
                        tuple(self.part_row(node) for node in nodes),
                        sum(weights) if weights else None,
                    )
                )
        return tuple(found)

    def part_row(self, node: Node) -> PartRow:
        row = node.row
        assert row is not None
        part = self.parts.get(row.part or "")
        position = self.account.labels.positions[row.position]
        best = row.f.best
        return PartRow(
            position=position.name,
            part=part.name if part else "not known which part",
            part_id=part.code if part else "",
            status="" if node.wear else row.status,
            original_low=_percent(row.f.low),
            original_best=None if best is None else _percent(best),
            original_high=_percent(row.f.high),
            fitted=self.fitted(row),
            visibility=row.visibility,
            evidence=STRENGTHS[row.strength] if row.status and not node.wear else "",
            quantity=part.quantity if part else 1,
            mass=row.weight,
            mass_basis="by the drawing" if row.assumed else part.mass_basis if part else "",
            doubtful=not row.certain or row.straddles,
            disputed="?" if row.disputed else "",
            remark=self.remark(node, row),
            sources=self.cited(row.part),
            is_wear=node.wear,
        )

    def remark(self, node: Node, row: Row) -> str:
        if node.wear:
            return "in no figure"
        if row.weight is None:
            return "unweighted"
        if row.category == LATER_HISTORIC:
            return "historic, later than the reference"
        if row.category == FROM_ELSEWHERE:
            return "historic, from elsewhere"
        return "not certain what is fitted" if not row.certain else ""

    def fitted(self, row: Row) -> str:
        one = self.last_ordinary.get((row.part or "", row.position))
        if one is None:
            return ""
        if one.fitted_edtf:
            return self.words(one.fitted_edtf) if one.fitted_edtf != AS_BUILT else "as built"
        return f"seen {in_words(one.seen_on_edtf)}"

    def fitted_by_position(self) -> dict[str, str]:
        return {row.position: self.fitted(row) for row in self.account.chosen.rows}

    def left(self) -> dict[str, str]:
        """When each part that is out was removed, in words."""
        return {one.part_id: self.words(one.removed_edtf) for one in self.stays if one.removed_edtf}

    # --- new, unweighted, removed, disputed, not known ------------------------------------------------------------

    def new_parts(self) -> Iterable[NewPart]:
        """Hidden ones first, for they are what nobody sees."""
        reasons = self.beside.reasons()
        for row in sorted(self.account.chosen.rows, key=lambda one: HIDDEN_FIRST.index(one.visibility)):
            part = self.parts.get(row.part or "")
            if part is None or row.status not in ("replica", "modern substitute"):
                continue
            stay = self.last_stays.get((part.key, row.position))
            reason = reasons.get(part.key) or (stay.reason if stay else "")
            yield NewPart(
                self.account.labels.positions[row.position].name,
                part.name,
                part.code,
                row.status,
                row.visibility,
                self.fitted(row),
                reason,
                part.date_mark,
                part.material,
            )

    def unweighted(self) -> Iterable[Unweighted]:
        for row in self.account.figures["mass"].rows:
            if row.weight is None:
                part, position = self.parts.get(row.part or ""), self.positions[row.position]
                yield Unweighted(
                    position.name,
                    part.name if part else "",
                    part.code if part else "",
                    row.status,
                    position.significance,
                )

    def removed(self) -> Iterable[RemovedPart]:
        """Parts that belonged here and are out, where they are now, and what survives of them."""
        fabric = {row.part: row for found in self.survivals for row in found.rows}
        gone: dict[str, Installation] = {}
        for one in self.stays:
            if not one.temporary and one.part_id not in self.here:
                gone[one.part_id] = one
        for key, stay in sorted(gone.items()):
            part, row = self.parts[key], fabric.get(key)
            yield RemovedPart(
                part.name,
                part.code,
                self.positions[stay.position_id].name,
                self.words(stay.removed_edtf),
                stay.reason,
                self.whereabouts(part),
                row.status if row else "",
                (_percent(row.s.low), _percent(row.s.high)) if row and row.status else None,
            )

    def called(self, person: Person | None) -> str:
        """The name that this edition may print."""
        return "" if person is None else str(person.name if self.internal else person.public_as)

    def whereabouts(self, part: Part) -> str:
        """What may be said of it: outside the railway, never which store."""
        if part.disposal != "none":
            return f"{part.disposal}, {in_words(part.disposal_date_edtf)}"
        if part.key in self.now_elsewhere:
            return "in another vehicle"
        moved = self.movements.get(part.key)
        if not moved:
            return "not known"
        latest = max(moved, key=lambda one: span_of(one.moved_on_edtf).best)
        if latest.place and (self.internal or latest.place.access == "public"):
            return str(latest.place.name)
        return "kept" if latest.place else "kept with another part"

    def disputes(self) -> Iterable[Dispute]:
        for row in self.account.chosen.rows:
            part = self.parts.get(row.part or "")
            if part and row.disputed:
                against = [one for one in self.citations_by_part().get(part.key, ()) if not one.supports]
                said = "; ".join(
                    f"{one.source.kind}, {one.locator}" if one.locator else one.source.kind for one in against
                )
                yield Dispute(
                    part.name,
                    part.code,
                    self.account.labels.positions[row.position].name,
                    row.status,
                    said,
                    tuple(self.cite(one.source) for one in against),
                )

        yield from self.differing()

    def differing(self) -> Iterable[Dispute]:
        """Opinions that stand beside what is accepted."""
        rows = {row.part: row for row in self.account.chosen.rows if row.part}
        for one in opinions_on(rows):
            part, row = self.parts[one.part], rows[one.part]
            yield Dispute(
                part.name,
                part.code,
                self.account.labels.positions[row.position].name,
                row.status,
                f"differing opinion of {one.in_public_words}",
            )

    def unknown(self) -> Iterable[str]:
        """What is not known, in sentences."""
        chosen = self.account.figures["mass"]
        filled = {row.position for row in (*chosen.rows, *chosen.wear_rows)}
        never = [
            one
            for one in self.account.inputs.positions
            if one not in filled and not self._has_children(one)
        ]
        counts = {
            "parts have no accepted assessment": sum(not row.status for row in chosen.rows),
            "parts have no mass and are in no figure by mass": chosen.whole.unweighted,
            "positions hold a part that is not known, or not certainly": sum(
                not row.certain for row in chosen.rows
            ),
            "positions have no part in them": len(never),
            "accepted assessments rest on no source": sum(
                bool(row.status) and row.strength == 0 for row in chosen.rows
            ),
        }
        for words, count in counts.items():
            if count:
                yield f"{count} of {chosen.whole.items if 'positions have' not in words else len(self.positions)} {words}."
        if not self.vehicle.identity_basis:
            yield "What carries the identity of the vehicle has not been stated."
        if not self.vehicle.empty_mass:
            yield "The empty mass of the vehicle is not known, so nothing says how much the list of parts leaves out."
        if not self.vehicle.heritage_from_edtf:
            yield "Since when the vehicle has been looked after as heritage is not recorded."

    def _has_children(self, position: str) -> bool:
        if not hasattr(self, "_parents"):
            self._parents = {one.parent_id for one in self.positions.values()}
        return position in self._parents

    def hazards(self) -> Iterable[Hazard]:
        for key in self.here:
            part = self.parts.get(key or "")
            if part and part.hazards:
                yield Hazard(
                    part.name,
                    part.code,
                    self.account.labels.positions[self.here[key].position].name,
                    tuple(part.hazards.split(";")),
                )

    def safety(self) -> tuple[str, ...]:
        return tuple(
            sorted({word for one in self.positions.values() for word in one.safety.split(";") if word})
        )

    # --- sources --------------------------------------------------------------------------------------------------

    def cite(self, source: Source) -> int:
        """The number of a source in this statement, given when it is first cited."""
        self.sources.setdefault(source.key, source)
        return self.numbers.setdefault(source.key, len(self.numbers) + 1)

    def cited(self, part: str | None) -> tuple[int, ...]:
        return tuple(
            dict.fromkeys(self.cite(one.source) for one in self.citations_by_part().get(part or "", ()))
        )

    def citations_by_part(self) -> dict[str, list[Citation]]:
        if not hasattr(self, "_cited"):
            self._cited: dict[str, list[Citation]] = {}
            for one in self.citations:
                self._cited.setdefault(one.part_id, []).append(one)
        return self._cited

    def source_rows(self) -> Iterable[SourceRow]:
        for key, number in self.numbers.items():
            one = self.sources[key]
            if one.access == "restricted":
                yield SourceRow(number, one.kind, "restricted: not to be described here")
            else:
                yield SourceRow(
                    number,
                    one.kind,
                    one.title,
                    one.author,
                    in_words(one.date_edtf) if one.date_edtf else "",
                    one.repository,
                    one.reference,
                )


def _percent(value: int) -> Fraction:
    return Fraction(value * 100, ONE)


def _span(edtf: str, built_edtf: str) -> tuple[int, int]:
    span = span_of(built_edtf if edtf == AS_BUILT else edtf)
    return span.earliest, span.best


def _begins(one: Installation, built_edtf: str) -> int:
    if not one.fitted_edtf:
        return span_of(one.seen_on_edtf).best
    return _span(one.fitted_edtf, built_edtf)[1]


def _public_name(user: User | None) -> str:
    if user is None:
        return ""
    return user.person.public_as if user.person and user.person.public_as else ""
