"""Findings from the database: load the facts of a vehicle, ask the core, and keep what officers say of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.db.models import QuerySet, Subquery
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.exchange.values import key_of
from register.fabric.dates import AS_BUILT, Span, span_of
from register.fabric.finding_facts import (
    Finding,
    Judgement,
    Move,
    PartFacts,
    PositionFacts,
    Stay,
    VehicleFacts,
)
from register.fabric.findings import findings
from register.fabric.inputs import VehicleInputs
from register.models import (
    Assessment,
    Citation,
    FindingNote,
    Installation,
    Movement,
    Part,
    Position,
    Treatment,
    User,
    Vehicle,
)
from register.models.finding_note import EXPLAINED, OPENED
from register.services.inputs import NoSuch, build, interval
from register.services.kept import Kept
from register.services.kept_inputs import kept_inputs
from register.services.vehicle_versions import version_of, with_version

LONGEST = 2000
EVER = "[1500..2200]"
Q = QuerySet[Any, Any]

_COUNTS: Kept[int] = Kept(room=2000)


@dataclass(frozen=True, slots=True)
class Checked:
    """open: nobody has said that it is in order. explained: with the note that says so. hidden: how many of the open
    ones are about parts that the reader may not know of."""

    vehicle: Vehicle
    open: list[Finding]
    explained: list[tuple[Finding, FindingNote]]
    hidden: int = 0

    @property
    def total(self) -> int:
        return len(self.open) + self.hidden


def check_vehicle(vehicle_id: str, *, day: date, may_read_all: bool = True) -> Checked:
    """The findings of one vehicle on ``day``, in a fixed number of queries. Raises NoSuch."""
    vehicle = with_version(Vehicle.objects.filter(key=key_of(vehicle_id))).first()
    if vehicle is None:
        raise NoSuch(f"There is no vehicle {vehicle_id} in this register.")
    facts = _facts(vehicle)
    found = findings(facts, day.toordinal())
    notes = _notes()
    opened: list[Finding] = []
    explained: list[tuple[Finding, FindingNote]] = []
    hidden = 0
    for one in found:
        note = notes.get(one.fingerprint)
        readable = may_read_all or not one.part or facts.parts[one.part].access == "public"
        if note is not None and note.verb == EXPLAINED:
            if readable:
                explained.append((one, note))
        elif readable:
            opened.append(one)
        else:
            hidden += 1
    return Checked(vehicle, opened, explained, hidden)


def check_register(*, day: date) -> list[Finding]:
    """The open findings of every vehicle, and of the parts that were never in one; each once."""
    notes = _notes()
    found: dict[tuple[str, str, str, str], Finding] = {}
    vehicles: list[Vehicle | None] = [*sorted(with_version(Vehicle.objects.all()), key=lambda one: one.key), None]
    for vehicle in vehicles:
        for one in findings(_facts(vehicle), day.toordinal()):
            note = notes.get(one.fingerprint)
            if note is None or note.verb != EXPLAINED:
                found.setdefault((one.code, one.table, one.key, one.message), one)
    return list(found.values())


def with_last_note(vehicles: QuerySet[Vehicle]) -> QuerySet[Vehicle]:
    """Vehicles that know, from the same query, what was last said of any finding."""
    said = FindingNote.objects.order_by("-pk")
    return vehicles.annotate(last_note=Subquery(said.values("pk")[:1]))


def open_count(vehicle: Vehicle, *, day: date) -> int:
    """How many findings are open, those about restricted parts too. ``vehicle`` is one of ``with_version`` and
    ``with_last_note``: worked out anew only when her records changed or something was said since, or it is another day."""
    asked, version = (vehicle.key, day, getattr(vehicle, "last_note", None)), version_of(vehicle)
    known = _COUNTS.find(asked, version)
    if known is None:
        known = _COUNTS.keep(asked, version, check_vehicle(vehicle.key, day=day).total, 1)
    return known


def say_of(
    finding: Finding,
    *,
    verb: str,
    reason: str,
    user: User,
    token: str | None = None,
    at: datetime | None = None,
) -> FindingNote:
    """Explain a finding, or open it again. Kept for good; the same token a second time gives the first note. Raises
    Refused where no reason is given."""
    text = reason.replace("\0", "").strip()
    if not text or len(text) > LONGEST:
        why = "say why; whoever meets the finding later will read it." if not text else f"{LONGEST:,} characters are enough."
        raise Refused([Fault("findings", None, "reason", "", why)])
    with transaction.atomic():
        earlier = FindingNote.objects.filter(token=token).first() if token else None
        if earlier:
            return earlier
        return FindingNote.objects.create(
            fingerprint=finding.fingerprint,
            code=finding.code,
            place=finding.place,
            verb=verb if verb == OPENED else EXPLAINED,
            reason=text,
            user=user,
            at=at or timezone.now(),
            token=token,
        )


def _notes() -> dict[str, FindingNote]:
    """The last note of each fingerprint."""
    return {note.fingerprint: note for note in FindingNote.objects.select_related("user").order_by("pk")}


def _facts(vehicle: Vehicle | None) -> VehicleFacts:
    """Of one vehicle; with none, of the parts that were never in any."""
    stays = Installation.objects.filter(position__vehicle=vehicle) if vehicle else Installation.objects.none()
    loose = Part.objects.filter(installations__isnull=True)
    here: Any = stays.values("part") if vehicle else loose.values("key")
    inputs = kept_inputs(vehicle)[0] if vehicle else _inputs_of_loose(here)
    positions = Position.objects.filter(vehicle=vehicle) if vehicle else Position.objects.none()
    assessed = Assessment.objects.filter(part__in=here, state="accepted")
    return VehicleFacts(
        vehicle.code if vehicle else "",
        inputs,
        span_of(vehicle.heritage_from_edtf) if vehicle and vehicle.heritage_from_edtf else None,
        {key: _part(*values) for key, *values in Part.objects.filter(key__in=here).values_list("key", *PART)},
        {
            key: PositionFacts(code, name, parent or "", safety)
            for key, code, name, parent, safety in positions.values_list("key", "code", "name", "parent_id", "safety")
        },
        tuple(_stays(list(stays.values_list(*STAY)), inputs)),
        _judgements(assessed.values_list("assessed_on_edtf", "part_id", "key", "pattern_basis", "reason")),
        _moves(Movement.objects.filter(part__in=here).values_list("part_id", "moved_on_edtf", "due_back_edtf")),
    )


def _inputs_of_loose(here: Q) -> VehicleInputs:
    """As the figures have those of a vehicle, of the parts that were never in one."""
    columns = ("part_id", "assessed_on_edtf", "status", "original_to_id", "original_since_edtf")
    fractions = ("fraction_low", "fraction", "fraction_high")
    return build(
        ("", EVER, None, None, None),
        (),
        (),
        Part.objects.filter(key__in=here).values_list("key", "mass_low", "mass", "mass_high", "disposal", "disposal_date_edtf"),
        (),
        Assessment.objects.filter(part__in=here, state="accepted").values_list(*columns, *fractions),
        Treatment.objects.filter(part__in=here).values_list("part_id", "date_edtf", "replaced_low", "replaced", "replaced_high"),
        Citation.objects.filter(part__in=here).values_list(
            "part_id", "source_id", "supports", "assessed_on_edtf", "source__kind", "source__date_edtf"
        ),
    )


PART = (
    *("code", "name", "access", "gross_mass_low", "gross_mass_best", "gross_mass_high", "made_edtf", "date_mark"),
    *("hazards", "remarks", "public_note"),
)


def _part(
    code: str, name: str, access: str, low: int | None, best: int | None, high: int | None, *rest: str
) -> PartFacts:
    made, date_mark, hazards, remarks, public_note = rest
    return PartFacts(
        code, name, access, interval(low, best, high), _span(made), date_mark, hazards, remarks or public_note
    )


STAY = ("key", "position_id", "part_id", "temporary", "fitted_edtf", "seen_on_edtf", "reason")


def _stays(rows: list[tuple[Any, ...]], inputs: VehicleInputs) -> Iterable[Stay]:
    """Those in the vehicle, in the order of the inputs, with the spans that the figures take them at."""
    spans: dict[tuple[str, str, bool], list[tuple[Span, Span | None]]] = {}
    for one in inputs.installations:
        spans.setdefault((one.position, one.part, one.temporary), []).append((one.fitted, one.removed))
    built = inputs.vehicle.built

    def fitted(row: tuple[Any, ...]) -> tuple[str, str, Span]:
        edtf = row[4] or row[5]
        return row[1], row[2], built if edtf == AS_BUILT else span_of(edtf)

    for key, position, part, temporary, fitted_edtf, _, reason in sorted(rows, key=fitted):
        start, end = spans[position, part, temporary].pop(0)
        yield Stay(key, position, part, inputs.vehicle.key, start, end, temporary, not fitted_edtf, reason)


def _judgements(rows: Iterable[tuple[str, str, str, str, str]]) -> Mapping[str, Judgement]:
    """Of the latest of each part."""
    return {part: Judgement(key, basis, reason) for _, part, key, basis, reason in sorted(rows)}


def _moves(rows: Iterable[tuple[str, str, str]]) -> Mapping[str, Move]:
    moves = sorted((span_of(moved).best, part, moved, due) for part, moved, due in rows)
    return {part: Move(span_of(moved), _span(due)) for _, part, moved, due in moves}


def _span(edtf: str) -> Span | None:
    return span_of(edtf) if edtf and edtf != AS_BUILT else None
