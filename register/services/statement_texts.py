"""What a statement says that no table of the exchange format holds: what the vehicle is worth in words, its policy, and the
proposals with what was decided. Plain values, so that they are frozen with the statement as they were printed from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

from register.models import Alternative, ProposalAct, SignificanceText, User, Vehicle, VehiclePolicy
from register.models.proposal import APPROVED, DRAFT, RETURNED, SUBMITTED
from register.services import significance_texts, vehicle_policies
from register.services.proposal_decision import ALTERNATIVE
from register.services.proposal_fields import AFTERWARDS
from register.services.statement_rows import policy_of

FORMAT = "fabric register, texts of a statement, version 1"
OPEN = (SUBMITTED, RETURNED, APPROVED)
"""States of proposals whose effect is told: handed in, and not carried out yet."""
THE_OFFICER, SOMEBODY = "the heritage officer", "somebody of the railway"
Texts = dict[str, Any]


def texts_of(vehicle: Vehicle) -> Texts:
    """Of one of ``with_what_there_is_one_of``, in two queries, and one more where a proposal is open."""
    return {
        "format": FORMAT,
        "significance": _significance(vehicle.key),
        "policy": _policy(policy_of(vehicle)),
        "proposals": _proposals(vehicle.key),
    }


def person(user: User | None, otherwise: str = THE_OFFICER, *, public_as: str | None = None) -> dict[str, str]:
    """What somebody is called in the internal edition, and in any other."""
    if user is None:
        return {"name": otherwise, "public": otherwise}
    if public_as is None:
        public_as = user.person.public_as if user.person else ""
    return {"name": str(user), "public": public_as or otherwise}


def open_proposals(texts: Texts) -> list[dict[str, Any]]:
    """Those whose effect is told, by number."""
    return [one for one in texts["proposals"] if one["state"] in OPEN]


def steps_of(texts: Texts) -> list[Mapping[str, str]]:
    """Every step of their alternatives."""
    return [step for one in open_proposals(texts) for way in one["alternatives"] for step in way["steps"]]


def _at(at: datetime) -> str:
    return at.astimezone(UTC).isoformat()


def _significance(vehicle: str) -> list[dict[str, Any]]:
    found = SignificanceText.objects.select_related("by__person").filter(vehicle=vehicle)
    latest = {one.position: one for one in found}
    return [
        {"position": key, **significance_texts.texts_of(one), "by": person(one.by), "at": _at(one.at)}
        for key, one in sorted(latest.items())
    ]


def _policy(found: VehiclePolicy | None) -> dict[str, Any] | None:
    if found is None:
        return None
    by = person(found.by, public_as=found.said_by)  # type: ignore[attr-defined]
    return {**vehicle_policies.texts_of(found), "by": by, "at": _at(found.at)}


def _proposals(vehicle: str) -> list[dict[str, Any]]:
    """Each with what happened to it; of a draft no more than that it is being written."""
    acts: dict[int, list[ProposalAct]] = {}
    rows = ProposalAct.objects.filter(proposal__vehicle=vehicle)
    for act in rows.select_related("proposal__author__person", "user__person"):
        acts.setdefault(act.proposal_id, []).append(act)
    listed = sorted(acts.values(), key=lambda some: some[0].proposal.number)
    waiting = [some[0].proposal_id for some in listed if some[0].proposal.state in (SUBMITTED, RETURNED)]
    ways: dict[int, list[dict[str, Any]]] = {}
    for one in Alternative.objects.filter(proposal__in=waiting).order_by("letter") if waiting else ():
        ways.setdefault(one.proposal_id, []).append({name: getattr(one, name) for name in ALTERNATIVE})
    return [_proposal(some, ways.get(some[0].proposal_id)) for some in listed]


def _proposal(acts: list[ProposalAct], ways: list[dict[str, Any]] | None) -> dict[str, Any]:
    """acts: everything that happened to it. ways: its alternatives as they stand; None: as they were decided on."""
    proposal = acts[0].proposal
    told = {"code": proposal.code, "number": proposal.number, "title": proposal.title, "state": proposal.state}
    if proposal.state == DRAFT:
        return told
    case: dict[str, Any] = next((act.case for act in reversed(acts) if act.case), {})
    return {
        **told,
        "author": person(proposal.author, SOMEBODY),
        "answers": proposal.answers,
        "alternatives": case.get("alternatives", []) if ways is None else ways,
        "acts": [_act(act) for act in acts],
    }


def _act(act: ProposalAct) -> dict[str, Any]:
    decided = act.kind in ("approved", "declined", "returned")
    return {
        "kind": act.kind,
        "at": _at(act.at),
        "by": person(act.user, THE_OFFICER if decided else SOMEBODY),
        "words": act.words,
        "details": act.details,
    }


def case_by_part(texts: Texts) -> dict[str, dict[str, Any]]:
    """Key of a part to the proposal that was carried out for it, the latest where there are several."""
    found: list[tuple[str, str, dict[str, Any]]] = []
    for one in texts["proposals"]:
        for act in one.get("acts", ()):
            found += [(act["at"], part, one) for part in act["details"].get("fitted", ())]
    return {part: one for _, part, one in sorted(found, key=lambda row: row[0])}


def act_of(proposal: Mapping[str, Any], kinds: Iterable[str]) -> dict[str, Any] | None:
    """The last of what happened to a proposal that is one of these."""
    wanted = set(kinds)
    return next((act for act in reversed(proposal["acts"]) if act["kind"] in wanted), None)


def recommended(proposal: Mapping[str, Any]) -> dict[str, Any] | None:
    """The alternative that is proposed."""
    return next((way for way in proposal["alternatives"] if way["recommended"]), None)


def was_afterwards(proposal: Mapping[str, Any]) -> bool:
    """Whether it is the case of work that had been done before anybody wrote it."""
    way = recommended(proposal) if proposal.get("alternatives") else None
    return way is not None and way["kind"] == AFTERWARDS


READ_OUTSIDE = ("why", "fails", "nothing", "necessary", "harmless", "minimised", "benefit", "significance", "leaving", "public")
"""Answers of a proposal that leave the railway: not where a part is kept, nor whose paper a sign-off is."""
DECIDED_OUTSIDE = ("body", "minute", "by_author", "fitted")


def for_an_assessor(texts: Texts) -> Texts:
    """The same without private names, without the stores that parts are taken to, and without what was written beside a
    decision. What the figures were worked out from stays."""
    policy = texts["policy"]
    made = texts | {
        "significance": [one | {"by": _outside(one["by"])} for one in texts["significance"]],
        "policy": policy | {"by": _outside(policy["by"])} if policy else None,
        "proposals": [_without_private(one) for one in texts["proposals"]],
    }
    if signed := texts.get("signed"):
        second = signed["agreed_by"]
        made["signed"] = signed | {
            "written_by": _outside(signed["written_by"]),
            "agreed_by": _outside(second) if second else None,
            "earlier": [one | {"issued_by": _outside(one["issued_by"])} for one in signed["earlier"]],
        }
    return made


def _outside(told: Mapping[str, str]) -> dict[str, str]:
    return {"public": told["public"]}


def _without_private(one: Mapping[str, Any]) -> dict[str, Any]:
    if one["state"] == DRAFT:
        return dict(one)
    return {
        **one,
        "author": _outside(one["author"]),
        "answers": {name: one["answers"].get(name, "") for name in READ_OUTSIDE},
        "alternatives": [
            {**way, "steps": [{name: text for name, text in step.items() if name != "place_id"} for step in way["steps"]]}
            for way in one["alternatives"]
        ],
        "acts": [
            {
                "kind": act["kind"],
                "at": act["at"],
                "by": _outside(act["by"]),
                "details": {name: act["details"][name] for name in DECIDED_OUTSIDE if name in act["details"]},
            }
            for act in one["acts"]
        ],
    }
