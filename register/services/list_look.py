"""What accepting a list would make of the register: counts, faults, conflicts, and the figures afterwards."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from register.exchange.overlay import Conflict, Overlaid, overlay
from register.exchange.records import Register
from register.exchange.schema import ORDER, TABLES
from register.exchange.values import key_of
from register.fabric.figures import Figures, figures_on
from register.fabric.rounding import shown, shown_high, shown_low
from register.services.from_list import Proposal
from register.services.inputs import inputs_from, reference_named
from register.services.loading import load_register, scope_of
from register.services.structure import Effect

BASES = ("mass", "count")
NOTHING_COUNTS = (
    "Every assessment of a list is a draft: it waits for review and counts nowhere until somebody accepts it."
)


@dataclass(frozen=True, slots=True)
class Look:
    """counts: (what it is, created, updated), in the order of the tables. effects: sentences."""

    proposal: Proposal
    counts: list[tuple[str, int, int]]
    drafts: list[tuple[str, int]]
    faults: list[str]
    conflicts: tuple[Conflict, ...]
    effects: list[str]
    digest: str

    @property
    def changes_anything(self) -> bool:
        return bool(self.counts or self.drafts or self.conflicts)


def look_at(proposal: Proposal, *, day: date) -> Look:
    """Writes nothing. day: on which the figures are told."""
    before = load_register(scope_of(proposal.changes))
    found = overlay(before, proposal.changes)
    faults = [str(fault) for fault in found.faults]
    key = key_of(proposal.answers.vehicle_id)
    effects = [] if faults else list(_effects(before, found.register, key, day))
    return Look(
        proposal,
        _counts(found),
        _drafts(found),
        faults,
        proposal.conflicts,
        effects,
        digest_of(proposal),
    )


def digest_of(proposal: Proposal) -> str:
    """Tells whether what is accepted is what was looked at: the rows of the list, what of them the register
    would change, and what is in conflict."""
    rows = [[row.key, dict(row.values)] for row in proposal.rows]
    changed = sorted([one.table, one.line or 0, one.row_id or "", sorted(one.values)] for one in proposal.changes)
    conflicts = [[one.field, [list(map(str, each)) for each in one.differences]] for one in proposal.conflicts]
    return hashlib.sha256(json.dumps([rows, changed, conflicts]).encode()).hexdigest()


def _counts(found: Overlaid) -> list[tuple[str, int, int]]:
    return [
        (TABLES[name].name.replace("_", " "), len(found.created.get(name, ())), len(found.updated.get(name, ())))
        for name in ORDER
        if found.created.get(name) or found.updated.get(name)
    ]


def _drafts(found: Overlaid) -> list[tuple[str, int]]:
    counts = [("new", len(found.new_drafts)), ("changed", len(found.changed_drafts))]
    return [(what, number) for what, number in counts if number]


def _effects(before: Register, after: Register, key: str, day: date) -> Iterator[str]:
    if key not in after.tables["vehicles"]:
        return
    now = figures_on(inputs := inputs_from(after, key), day=day.toordinal(), reference=reference_named(inputs, None))
    name = after.code("vehicles", key)
    if key in before.tables["vehicles"]:
        old = inputs_from(before, key)
        then = figures_on(old, day=day.toordinal(), reference=reference_named(old, None))
        for basis in BASES:
            yield Effect(name, basis, then[basis], now[basis]).sentence()
    else:
        for basis in BASES:
            yield f"{name}, by {basis}: {_said(now[basis].whole)}."
    yield NOTHING_COUNTS


def _said(figures: Figures) -> str:
    items = f"{figures.items} item{'' if figures.items == 1 else 's'}"
    best = "no best figure yet" if figures.best is None else f"best {shown(figures.best)} %"
    if figures.low is None:
        return f"{items}, no bounds yet, {best}"
    return f"{items}, bounds {shown_low(figures.low)} to {shown_high(figures.high)} %, {best}"
