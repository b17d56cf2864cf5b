"""The works of a schedule: what the proposals chosen would leave, laid over the register, and when they were completed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Prefetch
from django.utils import timezone

from register.documents.figure_words import count_of
from register.exchange.faults import Refused
from register.exchange.values import key_of
from register.fabric.dates import END, DateError, day_in_words, read_date, span_of
from register.fabric.inputs import VehicleInputs
from register.models import Alternative, Proposal, ProposalAct
from register.services.inputs import inputs_from
from register.services.proposal_effect import laid_over
from register.services.proposal_steps import TREAT, register_for_all
from register.services.proposal_work import CARRIED_OUT, steps_told
from register.services.structure import changed_vehicles
from register.services.without_acts import without_acts


@dataclass(frozen=True, slots=True)
class Work:
    """A proposal chosen. alternative: the one proposed. done, steps: how many steps are recorded, and how many there are.
    completed: the last day on which one of them was done, once none is left. faults: why its effect cannot be worked
    out."""

    proposal: Proposal
    alternative: Alternative | None
    done: int
    steps: int
    completed: date | None
    is_closed: bool
    change_nos: tuple[int, ...] = ()

    @property
    def words(self) -> str:
        """``P-014 “Axleboxes, all six”, approved``"""
        return f"{self.proposal.code} “{self.proposal.title}”, {self.proposal.state}"

    @property
    def how_far(self) -> str:
        """Why it is not completed yet, in a sentence."""
        if self.is_closed:
            return f"{self.proposal.code} was closed with nothing done."
        return f"{self.proposal.code} is {self.proposal.state}; {self.done} of {self.steps} steps recorded as done."


@dataclass(slots=True)
class Proposed:
    """Inputs by vehicle as the works would leave them, and by number of a proposal why it could not be laid over."""

    inputs: dict[str, VehicleInputs] = field(default_factory=dict)
    faults: dict[int, tuple[str, ...]] = field(default_factory=dict)


def proposals_numbered(numbers: Sequence[int]) -> dict[int, Proposal]:
    """With their alternatives and with what was done of them, in three queries."""
    acts = ProposalAct.objects.filter(kind__in=CARRIED_OUT).only("proposal", "kind", "at", "details", "change_no")
    found = Proposal.objects.filter(number__in=numbers).prefetch_related("alternatives", Prefetch("acts", acts))
    return {one.number: one for one in found}


def work_of(proposal: Proposal) -> Work:
    """Of a proposal with its acts and alternatives at hand."""
    chosen = next((one for one in proposal.alternatives.all() if one.recommended), None)
    acts = list(proposal.acts.all())
    told = steps_told(acts)
    steps = len(chosen.steps) if chosen else 0
    done = sum(what == "done" for what in told.values())
    is_closed = bool(steps) and len(told) >= steps
    days = [_last_day(text, act) for act in acts for text in act.details.get("days", {}).values()]
    return Work(
        proposal,
        chosen,
        done,
        steps,
        max(days) if is_closed and days else None,
        is_closed,
        tuple(act.change_no for act in acts if act.change_no),
    )


def _last_day(text: str, act: ProposalAct) -> date:
    """The last day on which a step may have been done; where that is open, the day on which it was recorded."""
    recorded = timezone.localtime(act.at).date()
    try:
        latest = span_of(read_date(text).edtf).latest
    except DateError:
        return recorded
    return recorded if latest >= END else date.fromordinal(latest)


def proposed(vehicles: Sequence[str], works: Sequence[Work], day: date) -> Proposed:
    """Those of the vehicles (their keys) that the works concern, with all of the works laid over one register, in the order of
    their numbers.

    What was recorded when some of them were carried out is left out first, so that what was proposed is laid over what was
    there before. One that cannot be laid over is left out, and told.
    """
    found = Proposed()
    ordered = sorted(works, key=lambda one: one.proposal.number)
    steps = [step for one in ordered if one.alternative for step in one.alternative.steps]
    loaded = register_for_all(vehicles, steps)
    register = without_acts(loaded, {number for one in ordered for number in one.change_nos})
    for one in ordered:
        code = one.proposal.code
        if one.alternative is None:
            found.faults[one.proposal.number] = (f"{code} has no alternative that is proposed yet.",)
            continue
        try:
            register = laid_over(register, one.proposal, one.alternative, day)
        except Refused as refused:
            found.faults[one.proposal.number] = tuple(f"{code}, {fault.message}" for fault in refused.faults)
    concerned = changed_vehicles(loaded, register) | {one.proposal.vehicle for one in ordered}
    found.inputs = {key: inputs_from(register, key) for key in vehicles if key in concerned}
    return found


def completion(works: Sequence[Work]) -> tuple[date | None, str]:
    """(the day by which all of them were completed, else why there is none)"""
    if not works:
        return None, ""
    waiting = [one.how_far for one in works if one.completed is None]
    days = [one.completed for one in works if one.completed is not None]
    return (None, f"Not yet completed: {' '.join(waiting)}") if waiting else (max(days), "")


def hidden_by_assessments(works: Sequence[Work], inputs: VehicleInputs, day: date) -> str:
    """What must be said where a part that would be treated has been assessed after the day: an assessment tells what was
    left on its own day, so it is taken to have seen the treatment (method, section 4). "" where there is none."""
    treated = {
        key_of(step["part_id"])
        for one in works
        if one.alternative
        for step in one.alternative.steps
        if step["do"] == TREAT
    }
    later = [part for part in treated if (found := inputs.assessments.get(part)) and found.day > day.toordinal()]
    if not later:
        return ""
    return (
        f"{count_of(len(later), 'part')} to be treated {'was' if len(later) == 1 else 'were'} assessed after that day, which is"
        " taken to have seen the treatment: so its effect does not show here. Ask for a later day."
    )


def too_late(day: date, completed: date) -> str:
    """What must be said where the works were completed before the day of the state before."""
    if completed > day:
        return ""
    return (
        f"The works were completed on {day_in_words(completed)}, so the figures before, as at {day_in_words(day)}, hold them"
        " already: ask for an earlier day."
    )


