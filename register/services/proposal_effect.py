"""What the alternatives of a proposal would do to every figure of the vehicle, worked out before anything is decided.

Each alternative is laid over the same register value as the others, so they are compared with one and the same "now".
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction

from register.exchange.faults import Refused
from register.exchange.overlay import overlay
from register.exchange.records import Register
from register.fabric.dates import day_in_words
from register.fabric.figures import Figures, VehicleFigures, best_to_show, figures_on
from register.fabric.inputs import Reference, VehicleInputs
from register.fabric.survival import Survival, survival
from register.models import Alternative, Proposal, StatementFile
from register.services.inputs import inputs_from, reference_named
from register.services.proposal_steps import changes_for_steps, register_for

AccountOf = Mapping[str, Mapping[str, VehicleFigures]]
"""Figures by label of the reference period and by basis."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """One alternative as it would leave the vehicle. faults: why it cannot be worked out; then the rest is empty."""

    alternative: Alternative
    faults: tuple[str, ...] = ()
    register: Register | None = None
    figures: AccountOf = field(default_factory=dict)
    survival: Mapping[str, Survival] = field(default_factory=dict)

    @property
    def stands(self) -> bool:
        return not self.faults


@dataclass(frozen=True, slots=True)
class Since:
    """The retained share by mass on an earlier day and with the alternative: cumulative change. None: no such figure, or not
    enough assessed to show one."""

    label: str
    then: Fraction | None
    now: Fraction | None

    @property
    def change(self) -> Fraction | None:
        return None if self.then is None or self.now is None else self.now - self.then


@dataclass(frozen=True, slots=True)
class Effects:
    """The vehicle as it is, and as each alternative would leave it, on one day."""

    day: date
    register: Register
    inputs: VehicleInputs
    figures: AccountOf
    survival: Mapping[str, Survival]
    outcomes: tuple[Outcome, ...]
    first_stated: tuple[str, Fraction | None] | None = None
    """What the first issued statement is called, and its best figure by mass against the default reference."""

    @property
    def reference(self) -> Reference:
        """The default reference period."""
        return reference_named(self.inputs, None)

    @property
    def recommended(self) -> Outcome | None:
        return next((one for one in self.outcomes if one.alternative.recommended), None)

    def since(self, outcome: Outcome) -> tuple[Since, ...]:
        """Cumulative change by mass against the default reference: since its date, and since before the proposal."""
        label = self.reference.label
        now = best_to_show(outcome.figures[label]["mass"].whole) if outcome.stands else None
        start = date.fromordinal(min(self.reference.span.latest, self.day.toordinal()))
        then = figures_on(self.inputs, day=start.toordinal(), reference=self.reference, bases=("mass",))[
            "mass"
        ]
        before = best_to_show(self.figures[label]["mass"].whole)
        stated = [Since(*self.first_stated, now)] if self.first_stated else []
        return (
            Since(label, best_to_show(then.whole), now),
            *stated,
            Since("before this proposal", before, now),
        )

    def leaving(self, outcome: Outcome) -> Fraction | None:
        """Original fabric that leaves the vehicle, kg at best; None where either figure is missing or may not be shown."""
        label = self.reference.label
        if not outcome.stands:
            return None
        return fabric_leaving(self.figures[label]["mass"].whole, outcome.figures[label]["mass"].whole)


def fabric_leaving(one: Figures, other: Figures) -> Fraction | None:
    """Original fabric, kg at best, that is in the one and not in the other; None where either may not be shown."""
    before, after = best_to_show(one), best_to_show(other)
    if before is None or after is None:
        return None
    return (before * one.weight - after * other.weight) / 100


def effects_of(proposal: Proposal, day: date, alternatives: Sequence[Alternative] | None = None) -> Effects:
    """The effect of every alternative (or of these) on the day. Raises NoSuch where the vehicle is gone."""
    listed = list(proposal.alternatives.all()) if alternatives is None else list(alternatives)
    register = register_for(proposal.vehicle, (step for one in listed for step in one.steps))
    inputs = inputs_from(register, proposal.vehicle)
    now = Outcome(Alternative(), (), register, _figures(inputs, day), _survival(inputs, day))
    outcomes = tuple(_outcome(now, register, proposal, one, day) for one in listed)
    stated = first_stated(proposal.vehicle, reference_named(inputs, None).label)
    return Effects(day, register, inputs, now.figures, now.survival, outcomes, stated)


def first_stated(vehicle: str, reference: str) -> tuple[str, Fraction | None] | None:
    """The first statement issued of the vehicle, as it is called, and its best figure by mass against this reference period
    as it was printed then, if one was; None where there is no statement."""
    found = StatementFile.objects.select_related("statement").filter(
        statement__vehicle=vehicle, name="figures.json"
    )
    first = found.order_by("statement__issue").first()
    if first is None:
        return None
    told = json.loads(bytes(first.data))["fabric"]
    figures = next((one for one in told if (one["basis"], one["reference"]) == ("mass", reference)), None)
    best = figures["best"] if figures and (figures["assessed_share"] or 0) >= 50 else None
    called = f"first statement, {first.statement.number} of {day_in_words(first.statement.day)}"
    return called, None if best is None else Fraction(str(best))


def laid_over(register: Register, proposal: Proposal, alternative: Alternative, day: date) -> Register:
    """The register as the alternative would leave it if it were done on the day; itself where it changes nothing. Raises
    Refused with every reason why it cannot be, each message a sentence."""
    days = [day.isoformat()] * len(alternative.steps)
    changes = changes_for_steps(
        register, alternative.steps, days=days, why=proposal.code, told=proposal.answers.get("public", "")
    )
    if not changes:
        return register
    result = overlay(register, changes)
    if result.faults:
        raise Refused(replace(fault, message=f"{fault.column}: {fault.message}") for fault in result.faults)
    return result.register


def _outcome(
    now: Outcome, register: Register, proposal: Proposal, alternative: Alternative, day: date
) -> Outcome:
    try:
        left = laid_over(register, proposal, alternative, day)
    except Refused as refused:
        return Outcome(alternative, tuple(fault.message for fault in refused.faults))
    if left is register:
        return replace(now, alternative=alternative)
    inputs = inputs_from(left, proposal.vehicle)
    return Outcome(
        alternative,
        register=left,
        figures=_figures(inputs, day),
        survival=_survival(inputs, day),
    )


def _figures(inputs: VehicleInputs, day: date) -> AccountOf:
    return {one.label: figures_on(inputs, day=day.toordinal(), reference=one) for one in inputs.references}


def _survival(inputs: VehicleInputs, day: date) -> Mapping[str, Survival]:
    """What became of the vehicle as it was, by label of the reference periods that are over by then."""
    return {
        one.label: survival(inputs, day=day.toordinal(), reference=one, basis="mass")
        for one in inputs.references
        if one.span.latest <= day.toordinal()
    }
