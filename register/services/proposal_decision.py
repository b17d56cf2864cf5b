"""What becomes of a proposal: submitted, returned, decided, added to, superseded."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.forms.models import model_to_dict

from register.models import Proposal, User
from register.models.proposal import (
    APPROVED,
    DECLINED,
    DONE,
    DRAFT,
    RETURNED,
    SUBMITTED,
    SUPERSEDED,
    WITHDRAWN,
)
from register.services.inputs import NoSuch
from register.services.justification import effect_texts
from register.services.proposal_checks import Check, checks_of
from register.services.proposal_effect import Effects, effects_of
from register.services.proposal_fields import NOTHING, QUESTIONS
from register.services.proposal_record import day_at, move, note, refuse_for
from register.services.proposals import begin
from register.services.structure_rows import refused
from register.services.vehicle_policies import policy_of

ALTERNATIVE = (
    "letter",
    "kind",
    "title",
    "words",
    "steps",
    "recommended",
    "why_not",
    "undo",
    "undo_how",
    "marked",
)
"""What is kept of an alternative with the case."""

RECORD_WITHIN = timedelta(days=90)
"""How long after the decision the record of what was done is expected, where nobody says otherwise (our own rule)."""


def lacking(proposal: Proposal) -> list[str]:
    """What keeps a draft from being submitted, a sentence each."""
    missing = [
        f"{question.label}: not answered yet."
        for question in QUESTIONS.values()
        if question.needed and not proposal.answers.get(question.name, "").strip()
    ]
    alternatives = list(proposal.alternatives.all())
    recommended = [one for one in alternatives if one.recommended]
    if not recommended:
        missing.append("No alternative is recommended yet.")
    elif not recommended[0].steps and recommended[0].kind != NOTHING:
        missing.append(
            f"Alternative {recommended[0].letter} has no step: say what is taken out, fitted or treated."
        )
    for one in alternatives:
        if not one.recommended and not one.why_not.strip():
            missing.append(f"Alternative {one.letter}, {one.title}: no reason against it yet.")
    if recommended and not recommended[0].undo and recommended[0].kind != NOTHING:
        missing.append(f"Alternative {recommended[0].letter}: say whether it can be undone.")
    return missing


def submit(proposal: Proposal, *, user: User, token: str | None = None, at: datetime | None = None) -> None:
    """Hand it in. Raises Refused with everything that is still lacking."""
    refuse_for(lacking(proposal))
    move(proposal, user, (DRAFT, RETURNED), SUBMITTED, "submitted", token=token, at=at)


def send_back(
    proposal: Proposal, *, user: User, words: str, token: str | None = None, at: datetime | None = None
) -> None:
    """Return it with a question, which is needed. Raises Refused."""
    if not words.strip():
        refused("proposals", "words", "", "say what is asked; the author reads it.")
    move(proposal, user, (SUBMITTED,), RETURNED, "returned", words=words, token=token, at=at)


def withdraw(
    proposal: Proposal, *, user: User, words: str = "", token: str | None = None, at: datetime | None = None
) -> None:
    """Take it back before it is decided."""
    move(
        proposal, user, (DRAFT, RETURNED, SUBMITTED), WITHDRAWN, "withdrawn", words=words, token=token, at=at
    )


def decline(
    proposal: Proposal,
    *,
    user: User,
    words: str,
    details: Mapping[str, str],
    token: str | None = None,
    at: datetime | None = None,
) -> None:
    """Decide against it, with the reason. Raises Refused."""
    if not words.strip():
        refused("proposals", "words", "", "say why it is declined; it is kept with the case.")
    may_decide(proposal, user, details)
    move(
        proposal,
        user,
        (SUBMITTED,),
        DECLINED,
        "declined",
        words=words,
        details=_decision(proposal, user, details),
        token=token,
        case=frozen(proposal, at=at),
        at=at,
    )


def approve(
    proposal: Proposal,
    *,
    user: User,
    words: str = "",
    details: Mapping[str, str],
    record_due: date | None = None,
    token: str | None = None,
    at: datetime | None = None,
) -> None:
    """Decide for the recommended alternative. words: the conditions. details: body, minute, dissent. Raises Refused while
    a check is not answered, and where the vehicle's policy asks for a second person and the author decides."""
    may_decide(proposal, user, details)
    case = frozen(proposal, at=at)
    if not case["effect"]:
        refused(
            "proposals",
            "vehicle",
            "",
            "the vehicle is no longer in the register: decline it, or withdraw it.",
        )
    asked = case["checks_asked"]
    refuse_for([f"Not answered yet: {question}" for question, _, answer in asked if not answer.strip()])
    due = record_due or day_at(at) + RECORD_WITHIN
    decision = _decision(proposal, user, details) | {"record_due": due.isoformat()}
    move(
        proposal,
        user,
        (SUBMITTED,),
        APPROVED,
        "approved",
        words=words,
        details=decision,
        token=token,
        due=due,
        supersedes=True,
        case=case,
        at=at,
    )


def may_decide(proposal: Proposal, user: User, details: Mapping[str, str]) -> None:
    """Raises Refused where the author may not decide alone: a body that has met (its minute named) is a second person."""
    policy = policy_of(proposal.vehicle)
    own = proposal.author_id == user.pk and not details.get("minute", "").strip()
    if own and policy is not None and policy.second_person:
        refused(
            "proposals",
            "minute",
            "",
            "the policy of this vehicle asks for a second person: the author does not decide. "
            "Name the body and its minute, or leave it to somebody else.",
        )


def _decision(proposal: Proposal, user: User, details: Mapping[str, str]) -> dict[str, str]:
    kept = {name: details.get(name, "").strip()[:2000] for name in ("body", "minute", "dissent")}
    kept["by_author"] = "yes" if proposal.author_id == user.pk and not kept["minute"] else ""
    return {name: text for name, text in kept.items() if text}


def checks_now(
    proposal: Proposal, effects: Effects | None = None, *, at: datetime | None = None
) -> list[Check]:
    """The checks as the register stands today."""
    return checks_of(proposal, effects or effects_of(proposal, day_at(at)), policy_of(proposal.vehicle))


def frozen(proposal: Proposal, *, at: datetime | None = None) -> dict[str, Any]:
    """The whole case as it stands, as values: what was decided on, the effect on the figures with it."""
    try:
        effects: Effects | None = effects_of(proposal, day_at(at))
    except NoSuch:
        effects = None
    asked = checks_now(proposal, effects) if effects else []
    policy = policy_of(proposal.vehicle)
    return {
        "effect": effect_texts(effects) if effects else {},
        "policy": model_to_dict(policy, exclude=("id", "by", "at")) if policy else {},
        "checks_asked": [[one.question, one.because, one.answer] for one in asked],
        "title": proposal.title,
        "vehicle": proposal.vehicle,
        "author": proposal.author.get_full_name() or proposal.author.get_username(),
        "answers": proposal.answers,
        "checks": proposal.checks,
        "alternatives": [
            {name: getattr(one, name) for name in ALTERNATIVE}
            for one in proposal.alternatives.all()
        ],
    }


def follow_up(
    proposal: Proposal, *, user: User, words: str, token: str | None = None, at: datetime | None = None
) -> None:
    """A condition met, a note of how it serves, the photographs of afterwards: added to what was decided, never instead."""
    if not words.strip():
        refused("proposals", "words", "", "write what is to be added.")
    if proposal.state not in (APPROVED, DONE, SUPERSEDED):
        refused("proposals", "words", words, "it is not decided yet: write it into the proposal itself.")
    with transaction.atomic():
        note(proposal, user, "followed up", words=words, token=token, at=at)


def supersede(
    proposal: Proposal, *, user: User, title: str = "", token: str | None = None, at: datetime | None = None
) -> Proposal:
    """A new draft in the place of a decided one, with its answers and alternatives to start from. Raises Refused."""
    if proposal.state not in (APPROVED, DECLINED, DONE):
        refused(
            "proposals",
            "state",
            proposal.state,
            "only a decided proposal is superseded; change the draft itself.",
        )
    if token and (earlier := Proposal.objects.filter(token=token).first()):
        return earlier
    with transaction.atomic():
        made = begin(
            vehicle_id=proposal.vehicle, title=title or proposal.title, user=user, token=token, at=at
        )
        made.supersedes, made.answers = proposal, proposal.answers
        made.save()
        made.alternatives.all().delete()
        for one in proposal.alternatives.all():
            one.pk, one.proposal = None, made
            one._state.adding = True
            one.save()
        note(proposal, user, "another one begun", details={"by": made.code}, at=at)
    return made
