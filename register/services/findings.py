"""Findings from the database: load the facts of a vehicle, ask the core, and keep what officers say of them."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.core.cache import cache
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
    Act,
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

LONGEST = 2000
HOUR = 3600
EVER = "[1500..2200]"
Q = QuerySet[Any, Any]


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
    vehicle = Vehicle.objects.filter(key=key_of(vehicle_id)).first()
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
    vehicles: list[Vehicle | None] = [*sorted(Vehicle.objects.all(), key=lambda one: one.key), None]
    for vehicle in vehicles:
        for one in findings(_facts(vehicle), day.toordinal()):
            note = notes.get(one.fingerprint)
            if note is None or note.verb != EXPLAINED:
                found.setdefault((one.code, one.table, one.key, one.message), one)
    return list(found.values())


def with_version(vehicles: QuerySet[Vehicle]) -> QuerySet[Vehicle]:
    """Vehicles that know, from the same query, which state of the register they were read from."""
    last = Act.objects.order_by("-change_no")
    said = FindingNote.objects.order_by("-pk")
    return vehicles.annotate(
        last_change=Subquery(last.values("change_no")[:1]),
        last_at=Subquery(last.values("at")[:1]),
        last_note=Subquery(said.values("pk")[:1]),
    )


def open_count(vehicle: Vehicle, *, day: date) -> int:
    """How many findings are open, those about restricted parts too. ``vehicle`` is one of ``with_version``: worked out anew
    only when something was changed or said since, or it is another day."""
    version = [str(getattr(vehicle, name)) for name in ("last_change", "last_at", "last_note")]
    text = "|".join([vehicle.key, day.isoformat(), *version])
    key = f"findings-{hashlib.sha256(text.encode()).hexdigest()}"
    known = cache.get(key)
    if known is None:
        known = check_vehicle(vehicle.key, day=day).total
        cache.set(key, known, HOUR)
    return int(known)


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
    parts = list(Part.objects.filter(key__in=here))
    positions = list(Position.objects.filter(vehicle=vehicle)) if vehicle else []
    of_parts = Installation.objects.filter(part__in=here) if vehicle else stays
    rows = list(of_parts.select_related("position__vehicle"))
    assessed = list(Assessment.objects.filter(part__in=here, state="accepted"))
    inputs = _inputs(vehicle, positions, parts, rows, assessed, here)
    return VehicleFacts(
        vehicle.code if vehicle else "",
        inputs,
        span_of(vehicle.heritage_from_edtf) if vehicle and vehicle.heritage_from_edtf else None,
        {one.key: _part(one) for one in parts},
        {one.key: PositionFacts(one.code, one.name, one.parent_id or "", one.safety) for one in positions},
        tuple(_stays(rows, inputs, vehicle.key if vehicle else "")),
        _judgements(assessed),
        _moves(Movement.objects.filter(part__in=here).values_list("part_id", "moved_on_edtf", "due_back_edtf")),
    )


def _inputs(
    vehicle: Vehicle | None,
    positions: list[Position],
    parts: list[Part],
    rows: list[Installation],
    assessed: list[Assessment],
    here: Q,
) -> VehicleInputs:
    """As the figures have them, from the rows at hand."""
    own = (vehicle.key, vehicle.built_edtf) if vehicle else ("", EVER)
    empty = (vehicle.empty_mass_low, vehicle.empty_mass_best, vehicle.empty_mass_high) if vehicle else (None,) * 3
    return build(
        (*own, *empty),
        (),
        [_columns(one, "key visibility significance wear_part design_mass_low design_mass design_mass_high") for one in positions],
        [_columns(one, "key mass_low mass mass_high disposal disposal_date_edtf") for one in parts],
        [
            (
                *(one.position_id, one.part_id, one.position.vehicle_id, one.position.vehicle.built_edtf),
                *_columns(one, "fitted_edtf seen_on_edtf removed_edtf temporary visibility"),
            )
            for one in rows
        ],
        [
            _columns(
                one,
                "part_id assessed_on_edtf status original_to_id original_since_edtf fraction_low fraction fraction_high",
            )
            for one in assessed
        ],
        Treatment.objects.filter(part__in=here).values_list(
            "part_id", "date_edtf", "replaced_low", "replaced", "replaced_high"
        ),
        Citation.objects.filter(part__in=here).values_list(
            "part_id", "source_id", "supports", "assessed_on_edtf", "source__kind", "source__date_edtf"
        ),
    )


def _columns(row: Any, names: str) -> tuple[Any, ...]:
    return tuple(getattr(row, name) for name in names.split())


def _part(part: Part) -> PartFacts:
    return PartFacts(
        part.code,
        part.name,
        part.access,
        interval(part.gross_mass_low, part.gross_mass_best, part.gross_mass_high),
        _span(part.made_edtf),
        part.date_mark,
        part.hazards,
        part.remarks or part.public_note,
    )


def _stays(rows: Iterable[Installation], inputs: VehicleInputs, vehicle: str) -> Iterable[Stay]:
    """Those in the vehicle, in the order of their keys, with the spans that the figures take them at."""
    spans: dict[tuple[str, str, bool], list[tuple[Span, Span | None]]] = {}
    for one in inputs.installations:
        spans.setdefault((one.position, one.part, one.temporary), []).append((one.fitted, one.removed))
    ours = [one for one in rows if one.position.vehicle_id == vehicle]
    for row in sorted(ours, key=_fitted):
        fitted, removed = spans[row.position_id, row.part_id, row.temporary].pop(0)
        yield Stay(
            row.key, row.position_id, row.part_id, vehicle, fitted, removed, row.temporary, not row.fitted_edtf, row.reason
        )


def _fitted(row: Installation) -> tuple[str, str, Span]:
    """The order in which the inputs hold them, too."""
    edtf = row.fitted_edtf or row.seen_on_edtf
    return row.position_id, row.part_id, span_of(row.position.vehicle.built_edtf if edtf == AS_BUILT else edtf)


def _judgements(assessed: Iterable[Assessment]) -> Mapping[str, Judgement]:
    """Of the latest of each part."""
    latest = sorted(assessed, key=lambda one: one.assessed_on_edtf)
    return {one.part_id: Judgement(one.key, one.pattern_basis, one.reason) for one in latest}


def _moves(rows: Iterable[tuple[str, str, str]]) -> Mapping[str, Move]:
    moves = sorted((span_of(moved).best, part, moved, due) for part, moved, due in rows)
    return {part: Move(span_of(moved), _span(due)) for _, part, moved, due in moves}


def _span(edtf: str) -> Span | None:
    return span_of(edtf) if edtf and edtf != AS_BUILT else None
