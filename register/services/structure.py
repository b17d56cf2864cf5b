"""Keeping the structure right: what breaking down, joining, splitting, moving and merging have in common.

Each verb is a pure function ``changes_for_...`` over a register value, a ``plan_...`` that loads what it
looks at, and the verb itself, which applies the plan as one act. A plan can be previewed: what each
vehicle's figures are before it and after it, in words.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from register.exchange.faults import Fault, Refused
from register.exchange.overlay import Overlaid, overlay
from register.exchange.records import Change, Register, Retired
from register.exchange.schema import TABLES
from register.exchange.values import key_of
from register.fabric.figures import Figures, VehicleFigures, best_may_be_shown, figures_on
from register.fabric.inputs import BASES
from register.fabric.rounding import shown, shown_high, shown_low
from register.models import Act, Installation, Position, RetiredId, User
from register.services.change_sets import apply
from register.services.inputs import inputs_from, reference_named
from register.services.loading import Scope, load_register, scope_of
from register.services.structure_rows import fault, refused
from register.services.tables import MODELS


@dataclass(frozen=True, slots=True)
class Plan:
    """Changes worked out on ``register``, not yet applied. kind: what the act will be called; notes:
    sentences about what the plan leaves to be done by hand."""

    register: Register
    changes: list[Change]
    kind: str
    notes: tuple[str, ...] = ()

    @property
    def mark(self) -> str:
        """Two plans with the same mark record the same. A page that shows a plan keeps it, so that what is
        done is what was looked at."""
        said = [
            (one.table, one.action, one.row_id, sorted(one.values.items(), key=lambda pair: pair[0]))
            for one in self.changes
        ]
        return hashlib.sha256(repr((self.kind, said)).encode()).hexdigest()


class Outdated(Exception):
    """The plan would record something else than when it was looked at: the register has changed since."""


@dataclass(frozen=True, slots=True)
class Effect:
    """The figures of one vehicle on one basis, before and after, against its default reference."""

    vehicle: str
    basis: str
    then: VehicleFigures
    now: VehicleFigures

    @property
    def before(self) -> Figures:
        return self.then.whole

    @property
    def after(self) -> Figures:
        return self.now.whole

    @property
    def stays(self) -> bool:
        """Whether best, bounds and composition are the same, the whole vehicle's bounds too."""
        one, other = self.before, self.after
        return (one.best, one.low, one.high, one.composition, self.then.whole_vehicle) == (
            other.best,
            other.low,
            other.high,
            other.composition,
            self.now.whole_vehicle,
        )

    def sentence(self) -> str:
        one, other = self.before, self.after
        items = (
            ""
            if one.items == other.items
            else f"; {one.items} item{'' if one.items == 1 else 's'} become {other.items}"
        )
        if self.stays:
            return f"{self.vehicle}, by {self.basis}: nothing moves, {_said(one)}{items}.{self.likely}"
        return f"{self.vehicle}, by {self.basis}: {_said(one)} before, {_said(other)} after{items}."

    @property
    def likely(self) -> str:
        """A sentence where only the likely range moves, after a space; else nothing."""
        one, other = self.before, self.after
        ends = [(shown(figures.likely_low), shown(figures.likely_high)) for figures in (one, other)]
        if not best_may_be_shown(one) or ends[0] == ends[1]:
            return ""
        return (
            " The likely range, which takes every mass as found on its own, is "
            f"{shown(other.likely_low)} to {shown(other.likely_high)} %, and was {shown(one.likely_low)} to "
            f"{shown(one.likely_high)} %."
        )


@dataclass(frozen=True, slots=True)
class StructurePreview:
    """What a plan would do: the overlay (its faults and conflicts stop it), its effect on each vehicle and
    basis, and sentences for the page."""

    overlaid: Overlaid
    effects: tuple[Effect, ...]
    sentences: tuple[str, ...]


def preview(plan: Plan, *, day: date) -> StructurePreview:
    """The plan laid over the register, nothing written; figures as at ``day``, where there are no faults."""
    result = overlay(plan.register, plan.changes)
    effects = () if result.faults else tuple(_effects(plan.register, result.register, day))
    told = [one.sentence() for one in effects if not (one.basis == "significance" and one.stays)]
    return StructurePreview(result, effects, (*told, *plan.notes))


def carry_out(
    plan: Callable[[], Plan],
    *,
    user: User | None,
    reason: str = "",
    token: str | None = None,
    looked_at: str = "",
) -> Act | None:
    """Apply a plan as one act; None where it changes nothing. Raises Refused, Conflicted or Outdated;
    nothing is stored then.

    token: of the form posted; the same a second time gives the first act, before the plan is made again
    (the parts that it would make are there by then). A plan that retires an id needs its reason.
    looked_at: the mark of the plan that somebody looked at and agreed to.
    """
    earlier = Act.objects.filter(token=token).first() if token else None
    if earlier is not None:
        return earlier
    made = plan()
    if looked_at and looked_at != made.mark:
        raise Outdated
    retires = any(change.action == "strike" and TABLES[change.table].own_id for change in made.changes)
    if retires and not reason.strip():
        refused("parts", "reason", "", "say why; whoever meets the old id later will read it.")
    act, _ = apply(
        made.changes,
        kind=made.kind,
        user=user,
        reason=reason.strip(),
        token=token,
        base_no=made.register.change_no,
    )
    return act


def make_plan(register: Register, changes: list[Change], kind: str, notes: Iterable[str] = ()) -> Plan:
    """A plan whose new ids are free in the whole register, not only in what was loaded. Raises Refused."""
    faults = []
    for change in changes:
        own_id = TABLES[change.table].own_id
        if not own_id or change.action != "put":
            continue
        key = key_of(str(change.values[own_id]))
        if (
            key not in register.tables[change.table]
            and MODELS[change.table]._default_manager.filter(key=key).exists()
        ):
            faults.append(taken(change.table, str(change.values[own_id])))
    if faults:
        raise Refused(faults)
    return Plan(register, changes, kind, tuple(notes))


def taken(table: str, code: str, retired: Retired | None = None) -> Fault:
    """The fault of an id that something else has, or had."""
    noun, sentence = TABLES[table].noun, retired.sentence() if retired else ""
    return fault(
        table, TABLES[table].own_id, code, sentence or f"a {noun} has that id already; choose another."
    )


def around(
    *,
    parts: Iterable[str] = (),
    positions: Iterable[str] = (),
    vehicles: Iterable[str] = (),
    new: Mapping[str, Iterable[str]] | None = None,
) -> Register:
    """The register around these ids: every vehicle that they stand in or have been in, whole, and what is
    known of the ids in ``new`` (by table), so that one in use or retired is told."""
    part_keys = {key_of(one) for one in parts}
    position_keys = {key_of(one) for one in positions}
    vehicle_keys = {key_of(one) for one in vehicles}
    vehicle_keys |= set(Position.objects.filter(key__in=position_keys).values_list("vehicle", flat=True))
    been = Installation.objects.filter(part__in=part_keys)
    vehicle_keys |= set(been.values_list("position__vehicle", flat=True))
    keys = {name: {key_of(one) for one in ids} for name, ids in (new or {}).items()}
    keys["positions"] = keys.get("positions", set()) | position_keys
    return load_register(Scope(vehicle_keys, part_keys | keys.get("parts", set()), keys))


def ids_like(table: str, stems: Iterable[str]) -> set[str]:
    """The keys of this table, in use or retired, that begin with one of these ids and a hyphen."""
    begun = Q(pk__in=())
    for stem in stems:
        begun |= Q(key__startswith=f"{key_of(stem)}-")
    used = MODELS[table]._default_manager.filter(begun).values_list("key", flat=True)
    return {*used, *RetiredId.objects.filter(begun, table=table).values_list("key", flat=True)}


def free_ids(*, table: str, stem: str, number: int) -> list[str]:
    """So many ids that nobody has or had: the stem, a hyphen and a number. To fill a form with."""
    used = ids_like(table, [stem])
    found: list[str] = []
    count = 0
    while len(found) < number:
        count += 1
        if f"{key_of(stem)}-{count}" not in used:
            found.append(f"{stem}-{count}")
    return found


def plan_strike_out(*, table: str, key: str) -> Plan:
    """One record struck out, to be previewed: the faults say what still refers to it. The verb is
    ``register.services.records.strike_out``."""
    changes = [Change(table, {"key": key_of(key)}, row_id=key_of(key), action="strike")]
    return Plan(load_register(scope_of(changes)), changes, f"strike out {TABLES[table].noun}")


def _effects(before: Register, after: Register, day: date) -> Iterable[Effect]:
    """For each vehicle that is whole in what was loaded, in the order of their ids, and each basis."""
    for vehicle in sorted(changed_vehicles(before, after)):
        then, now = inputs_from(before, vehicle), inputs_from(after, vehicle)
        reference = reference_named(now, None)
        one = figures_on(then, day=day.toordinal(), reference=reference_named(then, None))
        other = figures_on(now, day=day.toordinal(), reference=reference)
        for basis in BASES:
            yield Effect(before.code("vehicles", vehicle), basis, one[basis], other[basis])


def changed_vehicles(before: Register, after: Register) -> set[str]:
    """The vehicles, there before and after, whose positions or whose parts' rows differ. Rows that nothing touched are the
    same objects."""
    parts: set[str] = set()
    positions: set[str] = set()
    for name in ("parts", "positions", "installations", "assessments", "treatments", "citations"):
        one, other = before.tables[name], after.tables[name]
        changed = [
            row
            for key in one.keys() | other.keys()
            if one.get(key) is not other.get(key)
            for row in (one.get(key), other.get(key))
            if row is not None
        ]
        if name == "positions":
            positions |= {row["_key"] for row in changed}
        else:
            parts |= {row["_key"] if name == "parts" else row["part_id"] for row in changed}
    found: set[str] = set()
    for register in (before, after):
        for row in register.tables["installations"].values():
            if row["part_id"] in parts or row["position_id"] in positions:
                positions.add(row["position_id"])
        found |= {
            register.tables["positions"][key]["vehicle_id"]
            for key in positions
            if key in register.tables["positions"]
        }
    return {key for key in found if key in before.tables["vehicles"] and key in after.tables["vehicles"]}


def _said(figures: Figures) -> str:
    best = "no best figure" if figures.best is None else "not enough assessed for a best figure"
    if best_may_be_shown(figures):
        best = f"best {shown(figures.best)} %"
    if figures.low is None:
        return f"{best}, no bounds"
    return f"{best}, bounds {shown_low(figures.low)} to {shown_high(figures.high)} %"
