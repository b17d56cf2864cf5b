"""From rows to the inputs of the fabric computation: from the database for a page, from a register value for a preview.

Both ways end in ``build``, so that a preview and the page after it cannot differ.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from operator import attrgetter, itemgetter
from typing import Any, NamedTuple

from django.db.models import Q

from register.exchange.records import Register
from register.fabric.dates import AS_BUILT, HistoricDate, read_day, span_of
from register.fabric.evidence import Citation as Cited
from register.fabric.evidence import strength
from register.fabric.inputs import (
    GRADES,
    Assessment,
    Installation,
    Part,
    Position,
    Reference,
    Treatment,
    Vehicle,
    VehicleInputs,
)
from register.fabric.interval import Interval
from register.fabric.occupancy import resolve
from register.models import Assessment as AssessmentRow
from register.models import Citation as CitationRow
from register.models import Installation as InstallationRow
from register.models import Position as PositionRow
from register.models import ReferencePeriod
from register.models import Treatment as TreatmentRow
from register.models import Vehicle as VehicleRow

Rows = Iterable[tuple[Any, ...]]


class PositionLabel(NamedTuple):
    code: str
    name: str
    parent: str | None
    safety: str = ""


class PartLabel(NamedTuple):
    code: str
    name: str
    quantity: int
    access: str = "public"
    hazards: str = ""


class Period(NamedTuple):
    key: str
    label: str
    date_edtf: str
    default: bool
    reason: str


@dataclass(slots=True)
class Labels:
    """Ids as typed and names, by key: read in the same queries as the inputs, for pages and papers."""

    positions: dict[str, PositionLabel] = field(default_factory=dict)
    parts: dict[str, PartLabel] = field(default_factory=dict)
    periods: list[Period] = field(default_factory=list)


class NoSuch(LookupError):
    """What was asked for is not in the register. str() is the sentence."""

    def __str__(self) -> str:
        return str(self.args[0])


def inputs_of(vehicle_key: str) -> VehicleInputs:
    """The inputs of one vehicle from the database, in eight queries at most. Raises NoSuch."""
    vehicle = VehicleRow.objects.filter(key=vehicle_key).first()
    if vehicle is None:
        raise NoSuch(f"There is no vehicle {vehicle_key} in this register.")
    return inputs_of_all([vehicle], rivals=True)[vehicle_key]


def inputs_of_all(
    vehicles: Iterable[VehicleRow], labels: Labels | None = None, *, rivals: bool = False
) -> dict[str, VehicleInputs]:
    """The inputs of several vehicles by key, in six queries however many they are. Fills ``labels`` where they are
    wanted.

    rivals: with the other parts that have been in the positions elsewhere of this vehicle's parts, one query more.
    Only survival asks who was there first.
    """
    found = {
        one.key: (one.key, one.built_edtf, one.empty_mass_low, one.empty_mass_best, one.empty_mass_high)
        for one in vehicles
    }
    keys = list(found)
    here = InstallationRow.objects.filter(position__vehicle__in=keys).values("part")
    of_parts = Q(part__in=here)
    periods = _grouped(
        ReferencePeriod.objects.filter(vehicle__in=keys).values_list(
            "vehicle_id", "label", "date_edtf", "default", "key", "reason"
        )
    )
    positions = _grouped(
        PositionRow.objects.filter(vehicle__in=keys).values_list(
            "vehicle_id",
            "key",
            "visibility",
            "significance",
            "wear_part",
            "design_mass_low",
            "design_mass",
            "design_mass_high",
            "code",
            "name",
            "parent_id",
            "safety",
        )
    )
    stays: Grouped = {}
    parts: Grouped = {}
    for row in InstallationRow.objects.filter(of_parts).values_list(*STAY, *(f"part__{name}" for name in PART)):
        part = row[0]
        if part not in stays:
            stays[part], parts[part] = [], [(part, *row[len(STAY) :])]
        stays[part].append(row[1 : len(STAY)])
    assessed = _grouped(
        AssessmentRow.objects.filter(of_parts, state="accepted").values_list(
            "part_id",
            "assessed_on_edtf",
            "status",
            "original_to_id",
            "original_since_edtf",
            "fraction_low",
            "fraction",
            "fraction_high",
        ),
        whole=True,
    )
    treated = _grouped(
        TreatmentRow.objects.filter(of_parts).values_list(
            "part_id", "date_edtf", "replaced_low", "replaced", "replaced_high"
        ),
        whole=True,
    )
    cited = _grouped(
        CitationRow.objects.filter(of_parts).values_list(
            "part_id", "source_id", "supports", "assessed_on_edtf", "source__kind", "source__date_edtf"
        ),
        whole=True,
    )
    if labels is not None:
        labels.periods += [
            Period(key, label, edtf, default, reason)
            for rows in periods.values()
            for label, edtf, default, key, reason in rows
        ]
        labels.positions |= {row[0]: PositionLabel(*row[7:]) for rows in positions.values() for row in rows}
        labels.parts |= {key: PartLabel(*row[6:]) for key, rows in parts.items() for row in rows}
    been_in: dict[str, list[str]] = {}
    for part, rows in stays.items():
        for vehicle in {row[2] for row in rows}:
            been_in.setdefault(vehicle, []).append(part)

    def of(key: str, rows: Grouped) -> list[tuple[Any, ...]]:
        return [row for part in been_in.get(key, ()) for row in rows.get(part, ())]

    others = _rivals(stays) if rivals else {}

    def all_stays(key: str) -> list[tuple[Any, ...]]:
        own, parts_here = of(key, stays), set(been_in.get(key, ()))
        elsewhere = {row[0] for row in own if row[2] != key}
        return own + [row for place in elsewhere for row in others.get(place, ()) if row[1] not in parts_here]

    return {
        key: build(
            found[key],
            periods.get(key, ()),
            positions.get(key, ()),
            of(key, parts),
            all_stays(key),
            of(key, assessed),
            of(key, treated),
            of(key, cited),
        )
        for key in keys
    }


Grouped = dict[str, list[tuple[Any, ...]]]

STAY = (
    "part_id",
    "position_id",
    "part_id",
    "position__vehicle_id",
    "position__vehicle__built_edtf",
    "fitted_edtf",
    "seen_on_edtf",
    "removed_edtf",
    "temporary",
    "visibility",
)

PART = (
    "mass_low",
    "mass",
    "mass_high",
    "disposal",
    "disposal_date_edtf",
    "code",
    "name",
    "quantity",
    "access",
    "hazards",
)


def _rivals(stays: Grouped) -> Grouped:
    """Ordinary installations, by position, in every position of the parts that have been in several vehicles.

    The positions are named one by one: as a query within a query under OR, PostgreSQL takes minutes over it.
    """
    travelled = [rows for rows in stays.values() if len({row[2] for row in rows}) > 1]
    places = {row[0] for rows in travelled for row in rows}
    found = InstallationRow.objects.filter(position__in=places, temporary=False)
    return _grouped(found.values_list(*STAY[1:]), whole=True)


def _grouped(rows: Rows, *, whole: bool = False) -> Grouped:
    """Rows by their first value, which is left out of them unless ``whole``."""
    found: Grouped = {}
    for row in rows:
        found.setdefault(row[0], []).append(row if whole else row[1:])
    return found


def inputs_from(register: Register, vehicle_key: str) -> VehicleInputs:
    """The same inputs from a register value (a preview, an import). Raises NoSuch."""
    tables = register.tables
    row = tables["vehicles"].get(vehicle_key)
    if row is None:
        raise NoSuch(f"No vehicle {vehicle_key} in this register.")
    empty = row["empty_mass"].interval if row["empty_mass"] else None
    vehicle = (
        vehicle_key,
        row["built"].edtf,
        *((empty.low, empty.best, empty.high) if empty else (None, None, None)),
    )
    positions = {key: one for key, one in tables["positions"].items() if one["vehicle_id"] == vehicle_key}
    parts = {one["part_id"] for one in tables["installations"].values() if one["position_id"] in positions}
    elsewhere = {
        one["position_id"]
        for one in tables["installations"].values()
        if one["part_id"] in parts and one["position_id"] not in positions
    }

    def ends(one: Any, name: str) -> tuple[Any, Any, Any]:
        return one[f"{name}_low"], one[name], one[f"{name}_high"]

    def edtf(date: HistoricDate | None) -> str:
        return date.edtf if date else ""

    def place_of(one: Any) -> tuple[str, str]:
        of_vehicle = tables["positions"][one["position_id"]]["vehicle_id"]
        return of_vehicle, tables["vehicles"][of_vehicle]["built"].edtf

    return build(
        vehicle,
        [
            (one["label"], one["date"].edtf, one["default"])
            for one in tables["reference_periods"].values()
            if one["vehicle_id"] == vehicle_key
        ],
        [
            (key, one["visibility"], one["significance"], one["wear_part"], *ends(one, "design_mass"))
            for key, one in positions.items()
        ],
        [
            (
                key,
                *ends(tables["parts"][key], "mass"),
                tables["parts"][key]["disposal"],
                edtf(tables["parts"][key]["disposal_date"]),
            )
            for key in parts
        ],
        [
            (
                one["position_id"],
                one["part_id"],
                *place_of(one),
                edtf(one["fitted"]),
                edtf(one["seen_on"]),
                edtf(one["removed"]),
                one["temporary"],
                one["visibility"] or "",
            )
            for one in tables["installations"].values()
            if one["part_id"] in parts or (one["position_id"] in elsewhere and not one["temporary"])
        ],
        [
            (
                one["part_id"],
                one["assessed_on"].edtf,
                one["status"],
                one["original_to"],
                edtf(one["original_since"]),
                *ends(one, "fraction"),
            )
            for one in tables["assessments"].values()
            if one["part_id"] in parts and one["state"] == "accepted"
        ],
        [
            (one["part_id"], one["date"].edtf, *ends(one, "replaced"))
            for one in tables["treatments"].values()
            if one["part_id"] in parts
        ],
        [
            (
                one["part_id"],
                one["source_id"],
                one["supports"],
                edtf(one["assessed_on"]),
                tables["sources"][one["source_id"]]["kind"],
                edtf(tables["sources"][one["source_id"]]["date"]),
            )
            for one in tables["citations"].values()
            if one["part_id"] in parts
        ],
    )


def build(
    vehicle: tuple[Any, ...],
    references: Rows,
    positions: Rows,
    parts: Rows,
    installations: Rows,
    assessments: Rows,
    treatments: Rows,
    citations: Rows,
) -> VehicleInputs:
    """Inputs from tuples in the column orders of ``inputs_of``. Sorted, so that the order of rows does not matter."""
    key, built_edtf = vehicle[0], vehicle[1]
    built = span_of(built_edtf)
    strengths = _evidence(citations)
    in_force: dict[str, Assessment] = {}
    for part, day_edtf, status, original_to, since, *fraction in assessments:
        day = read_day(day_edtf).toordinal()
        known = in_force.get(part)
        if known is None or day > known.day:
            since_span = span_of(since) if since and since != AS_BUILT else None
            in_force[part] = Assessment(
                part,
                day,
                status,
                original_to or "",
                since_span,
                interval(*fraction),
                *_strength_of(strengths, part, day_edtf),
            )
    # citations that name no assessment belong to the latest accepted one, the one in force
    treated: dict[str, list[Treatment]] = {}
    for part, date_edtf, *replaced in treatments:
        treated.setdefault(part, []).append(
            Treatment(part, span_of(date_edtf), interval(*replaced) or Interval.exactly(0))
        )
    return VehicleInputs(
        Vehicle(key, built, interval(*vehicle[2:])),
        _references(references, built_edtf),
        {
            position: Position(position, key, visibility, GRADES.get(grade or ""), wear, interval(*rest[:3]))
            for position, visibility, grade, wear, *rest in sorted(positions, key=itemgetter(0))
        },
        {
            part: Part(
                part,
                interval(*rest[:3]),
                "" if rest[3] == "none" else rest[3],
                span_of(rest[4]) if rest[4] else None,
            )
            for part, *rest in sorted(parts, key=itemgetter(0))
        },
        tuple(
            sorted(
                (_installation(*row) for row in installations),
                key=attrgetter("position", "part", "fitted"),
            )
        ),
        in_force,
        {part: tuple(sorted(found, key=lambda one: one.span)) for part, found in treated.items()},
    )


def interval(low: int | None, best: int | None, high: int | None) -> Interval | None:
    if best is None:
        return None
    return Interval(best if low is None else low, best, best if high is None else high)


def _references(rows: Rows, built_edtf: str) -> tuple[Reference, ...]:
    found = sorted(row[:3] for row in rows)
    if not found:
        return (Reference(AS_BUILT, built_edtf, span_of(built_edtf), True),)
    return tuple(
        Reference(
            label,
            edtf if edtf != AS_BUILT else built_edtf,
            span_of(edtf if edtf != AS_BUILT else built_edtf),
            default or len(found) == 1,
        )
        for label, edtf, default in found
    )


def _installation(
    position: str,
    part: str,
    vehicle: str,
    built_edtf: str,
    fitted: str,
    seen: str,
    removed: str,
    temporary: bool,
    visibility: str,
) -> Installation:
    span, out = resolve(
        HistoricDate(fitted, fitted) if fitted else None,
        read_day(seen).toordinal() if seen else None,
        HistoricDate(removed, removed) if removed else None,
        span_of(built_edtf),
    )
    return Installation(position, part, vehicle, span, out, temporary, visibility)


def _evidence(citations: Rows) -> dict[tuple[str, str], list[Cited]]:
    """Citations by part and by the day of the assessment named, "" where none is."""
    found: dict[tuple[str, str], list[Cited]] = {}
    for part, source, supports, assessed_on, kind, dated in citations:
        found.setdefault((part, assessed_on), []).append(
            Cited(kind=kind, source=source, dated=bool(dated), supports=supports)
        )
    return found


def _strength_of(found: dict[tuple[str, str], list[Cited]], part: str, day: str) -> tuple[int, bool]:
    return strength([*found.get((part, day), ()), *found.get((part, ""), ())])


def reference_named(inputs: VehicleInputs, label: str | None) -> Reference:
    """The reference period asked for, or the default. Raises NoSuch."""
    if not label:
        return next((one for one in inputs.references if one.default), inputs.references[0])
    for one in inputs.references:
        if one.label.casefold() == label.casefold():
            return one
    raise NoSuch(
        f'{inputs.vehicle.key} has no reference period "{label}"; it has: {", ".join(one.label for one in inputs.references)}.'
    )
