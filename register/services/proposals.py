"""Proposals as they are written: begun, answered, their alternatives and steps.

Nothing in a proposal enters a figure before it is carried out.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max, QuerySet

from register.exchange.faults import Refused
from register.exchange.values import key_of
from register.models import Alternative, Proposal, User, Vehicle
from register.models.proposal import SUBMITTED
from register.services.proposal_fields import KINDS, LIKE_FOR_LIKE, LONGEST, NOTHING, QUESTIONS, UNDO
from register.services.proposal_record import day_at, keep, lock, moment, note, opened
from register.services.proposal_steps import changes_for_steps, clean_step, register_for
from register.services.structure_rows import fault, refused

LETTERS = "ABCDEFGHJK"


def proposal_numbered(number: int) -> Proposal | None:
    return Proposal.objects.select_related("author").filter(number=number).first()


def begin(
    *,
    vehicle_id: str,
    title: str,
    user: User,
    token: str | None = None,
    at: datetime | None = None,
) -> Proposal:
    """A new draft, with the two alternatives that are never left out. Raises Refused.

    token: of the form posted; the same a second time gives the first draft.
    """
    if token and (earlier := Proposal.objects.filter(token=token).first()):
        return earlier
    vehicle = Vehicle.objects.filter(key=key_of(vehicle_id.strip())).first()
    faults = []
    if vehicle is None:
        faults.append(
            fault("proposals", "vehicle_id", vehicle_id, "there is no vehicle with that id in this register.")
        )
    if not title.strip():
        faults.append(
            fault(
                "proposals", "title", "", "say in a few words what is proposed, such as “Axleboxes, all six”."
            )
        )
    if faults or vehicle is None:
        raise Refused(faults)
    with transaction.atomic():
        lock()
        number = (Proposal.objects.aggregate(last=Max("number"))["last"] or 0) + 1
        made = Proposal.objects.create(
            number=number,
            vehicle=vehicle.key,
            title=title.strip()[:300],
            author=user,
            made_at=moment(at),
            token=token,
        )
        made.alternatives.create(letter="A", kind=NOTHING, title="Do nothing")
        made.alternatives.create(letter="B", kind=LIKE_FOR_LIKE, title="New, like for like")
        note(made, user, "begun", at=at)
    return made


def write(proposal: Proposal, answers: Mapping[str, str], *, user: User, revision: int) -> None:
    """Keep these answers; those not given stay. Raises Stale, or Refused for one that is too long."""
    kept = {name: text.strip() for name, text in answers.items() if name in QUESTIONS}
    for name, text in kept.items():
        question = QUESTIONS[name]
        if len(text) > LONGEST:
            refused(
                "proposals",
                name,
                "",
                f"{len(text):,} letters are too many; at most {LONGEST:,}. Name a paper that holds the rest.",
            )
        if question.options and text not in ("", *question.options):
            refused("proposals", name, text, f"it is one of: {', '.join(question.options)}.")
    with transaction.atomic():
        row = opened(proposal, user, revision)
        row.answers = {**row.answers, **kept}
        keep(row, proposal)


def put_alternative(
    proposal: Proposal, letter: str, texts: Mapping[str, str], *, user: User, revision: int
) -> Alternative:
    """Write an alternative; a ``letter`` of "" adds one. Its steps stay as they are. Raises Stale or Refused."""
    kind, undo = texts.get("kind", ""), texts.get("undo", "")
    faults = []
    if kind not in KINDS:
        faults.append(fault("proposals", "kind", kind, f"it is one of: {', '.join(KINDS)}."))
    if undo not in ("", *UNDO):
        faults.append(fault("proposals", "undo", undo, f"it is one of: {', '.join(UNDO)}."))
    if not texts.get("title", "").strip():
        faults.append(fault("proposals", "title", "", "a short name is needed, such as “Weld and re-bush”."))
    if faults:
        raise Refused(faults)
    recommended = texts.get("recommended", "") == "yes"
    with transaction.atomic():
        row = opened(proposal, user, revision)
        found = row.alternatives.filter(letter=letter).first() if letter else None
        if found is None:
            taken = set(row.alternatives.values_list("letter", flat=True))
            free = next((one for one in LETTERS if one not in taken), "")
            if not free:
                refused(
                    "proposals",
                    "kind",
                    kind,
                    f"there are {len(LETTERS)} alternatives already; change one of them.",
                )
            found = Alternative(proposal=row, letter=free)
        if recommended:
            row.alternatives.exclude(pk=found.pk).update(recommended=False)
        found.kind, found.undo, found.recommended = kind, undo, recommended
        found.title = texts["title"].strip()[:200]
        for name in ("words", "why_not", "undo_how", "marked"):
            setattr(found, name, texts.get(name, "").strip()[:LONGEST])
        found.save()
        keep(row, proposal)
    return found


def add_step(
    proposal: Proposal,
    letter: str,
    *steps: Mapping[str, Any],
    user: User,
    revision: int,
    at: datetime | None = None,
) -> None:
    """Add steps to an alternative, once they can be laid over the register as it is. Raises Stale or Refused."""
    clean = [clean_step(step) for step in steps]
    _change_steps(proposal, letter, lambda known: [*known, *clean], user=user, revision=revision, at=at)


def drop_step(
    proposal: Proposal, letter: str, number: int, *, user: User, revision: int, at: datetime | None = None
) -> None:
    """Take the step with this number (from 1) out again. Raises Stale."""
    _change_steps(
        proposal,
        letter,
        lambda steps: [one for place, one in enumerate(steps, 1) if place != number],
        user=user,
        revision=revision,
        at=at,
    )


def _change_steps(
    proposal: Proposal, letter: str, change: Any, *, user: User, revision: int, at: datetime | None = None
) -> None:
    with transaction.atomic():
        row = opened(proposal, user, revision)
        found = row.alternatives.filter(letter=letter).first()
        if found is None:
            refused("proposals", "letter", letter, "there is no such alternative.")
        steps = change(found.steps)
        register = register_for(row.vehicle, steps)
        changes_for_steps(register, steps, days=[day_at(at).isoformat()] * len(steps), why=row.code)
        found.steps = steps
        found.save()
        keep(row, proposal)


def answer_checks(
    proposal: Proposal, answers: Mapping[str, str], *, user: User, at: datetime | None = None
) -> None:
    """Write answers to checks, also while the proposal waits for its decision. Raises Refused after that."""
    with transaction.atomic():
        row = Proposal.objects.select_for_update(of=("self",)).get(pk=proposal.pk)
        if not row.is_undecided:
            refused("proposals", "checks", "", "it is decided: what was answered stays as it is.")
        given = {key: text.strip()[:LONGEST] for key, text in answers.items()}
        if given != {key: row.checks.get(key, "") for key in given}:
            row.checks = {**row.checks, **given}
            keep(row, proposal)
            if row.state == SUBMITTED:
                note(row, user, "answered", details=given, at=at)


def proposals_listed(vehicle: str = "", state: str = "") -> QuerySet[Proposal, Proposal]:
    rows = Proposal.objects.select_related("author")
    if vehicle:
        rows = rows.filter(vehicle=key_of(vehicle))
    return rows.filter(state=state) if state else rows
