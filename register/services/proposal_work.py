"""A proposal carried out: what was really done, recorded as one act of the register, with its departures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from django.db import transaction

from register.exchange.values import key_of
from register.models import Act, Proposal, ProposalAct, User
from register.models.proposal import APPROVED, DONE
from register.services.change_sets import apply
from register.services.proposal_record import keep, lock, note, refuse_for
from register.services.proposal_steps import FIT, THERE, changes_for_steps, clean_step, parts_of, register_for
from register.services.structure_rows import refused

CARRIED_OUT = ("done in part", "done")
"""What an act of a proposal is called that records what was really done."""


def steps_done(proposal: Proposal) -> dict[int, str]:
    """Which steps of the recommended alternative were done or given up, by number from 1: "done" or "not done"."""
    return steps_told(proposal.acts.filter(kind__in=CARRIED_OUT))


def steps_told(acts: Iterable[ProposalAct]) -> dict[int, str]:
    """The same, as these acts tell it."""
    found: dict[int, str] = {}
    for act in acts:
        found |= {int(number): what for number, what in act.details.get("steps", {}).items()}
    return found


def carry_out(
    proposal: Proposal,
    steps: Mapping[int, Mapping[str, str]],
    *,
    user: User,
    given_up: Mapping[int, str] | None = None,
    words: str = "",
    photographs: str = "",
    token: str | None = None,
    at: datetime | None = None,
) -> Act | None:
    """Record what was really done, in one act of the register. Raises Refused; nothing is stored then.

    steps: by number from 1, {"on": the day as typed, and the fields as they really were}. given_up: steps that will not be
    done, with the reason. words: departures from the proposal. The proposal is done once no step is left.
    """
    if token and (earlier := ProposalAct.objects.filter(token=token).first()):
        return Act.objects.filter(pk=earlier.change_no).first() if earlier.change_no else None
    given_up = given_up or {}
    with transaction.atomic():
        lock()
        row = Proposal.objects.select_for_update(of=("self",)).get(pk=proposal.pk)
        if row.state != APPROVED:
            refused(
                "proposals",
                "state",
                row.state,
                f"it is {row.state}: only an approved proposal is carried out.",
            )
        planned = row.alternatives.get(recommended=True).steps
        known = steps_done(row)
        refuse_for(_cannot_be_done(planned, known, steps, given_up))
        real = [
            clean_step({**planned[number - 1], **steps[number], "do": planned[number - 1]["do"]})
            for number in sorted(steps)
        ]
        register = register_for(row.vehicle, real)
        assessor = user.person.code if user.person else ""
        changes = changes_for_steps(
            register,
            real,
            days=[steps[number].get("on", "") for number in sorted(steps)],
            why=f"{row.code} {row.title}",
            assessor=assessor,
            told=row.answers.get("public", ""),
        )
        act = None
        if changes:
            act, _ = apply(
                changes, kind="carry out proposal", user=user, reason=f"{row.code} {row.title}", at=at
            )
        told = {str(number): "done" for number in steps} | {str(number): "not done" for number in given_up}
        left = set(range(1, len(planned) + 1)) - set(known) - set(steps) - set(given_up)
        details = {
            "steps": told,
            "days": {str(number): steps[number].get("on", "") for number in steps},
            "departures": _departures(planned, steps)
            | {str(number): why for number, why in given_up.items()},
            "parts": sorted(set(parts_of(real))),
            "fitted": sorted({key_of(one["part_id"]) for one in real if one["do"] in (FIT, THERE)}),
            "photographs": photographs.strip()[:2000],
        }
        note(
            row,
            user,
            "done in part" if left else "done",
            words=words,
            details=details,
            token=token,
            change_no=act.pk if act else None,
            at=at,
        )
        if not left:
            row.state = DONE
        keep(row, proposal)
    return act


def _cannot_be_done(
    planned: Sequence[Mapping[str, str]],
    known: Mapping[int, str],
    steps: Mapping[int, Mapping[str, str]],
    given_up: Mapping[int, str],
) -> list[str]:
    if not steps and not given_up:
        return ["Tick what was done, or what will not be done."]
    found = []
    for number in sorted({*steps, *given_up}):
        if not 1 <= number <= len(planned):
            found.append(f"There is no step {number}.")
        elif number in known:
            found.append(f"Step {number} is recorded already: {known[number]}.")
        elif number in steps and number in given_up:
            found.append(f"Step {number} is either done or not to be done.")
        elif number in given_up and not given_up[number].strip():
            found.append(f"Step {number}: say why it will not be done.")
    return found


def _departures(
    planned: Sequence[Mapping[str, str]], steps: Mapping[int, Mapping[str, str]]
) -> dict[str, str]:
    """What was done otherwise than proposed, in words, by step."""
    found = {}
    for number, really in steps.items():
        before, now = planned[number - 1], {**planned[number - 1], **really}
        told = [
            f"{name.replace('_', ' ')} {now.get(name) or 'nothing'} instead of {before.get(name) or 'nothing'}"
            for name in now
            if name not in ("on", "do") and now.get(name, "") != before.get(name, "")
        ]
        if told:
            found[str(number)] = "; ".join(told)
    return found


def case_for_parts(vehicle: str) -> dict[str, Proposal]:
    """Key of a part to the proposal that was carried out for it, the latest where there are several."""
    acts = (
        ProposalAct.objects.filter(proposal__vehicle=vehicle, kind__in=CARRIED_OUT)
        .select_related("proposal")
        .order_by("pk")
    )
    return {part: act.proposal for act in acts for part in act.details.get("fitted", ())}
