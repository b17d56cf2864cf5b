"""What open proposals would do to a vehicle's figures, from rows and texts alone: no database, no clock. The same overlay as
for the page of a proposal, so that a statement, a preview and what is carried out cannot differ."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from register.exchange.faults import Refused
from register.exchange.records import Register
from register.fabric.figures import VehicleFigures, figures_on
from register.fabric.figures_json import TypedIds, as_json
from register.models import Alternative, Proposal
from register.services.inputs import inputs_from, reference_named
from register.services.proposal_effect import laid_over
from register.services.statement_texts import Texts, open_proposals

Told = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Way:
    """An alternative, and the figures by basis that it would leave. faults: why it cannot be worked out."""

    told: Told
    figures: Mapping[str, VehicleFigures] = field(default_factory=dict)
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Effect:
    """An open proposal with its alternatives."""

    told: Told
    ways: tuple[Way, ...]


def effects_from(register: Register, vehicle: str, day: date, reference: str, texts: Texts) -> tuple[Effect, ...]:
    """Of every open proposal, against the statement's reference period. Raises NoSuch."""
    return tuple(
        Effect(one, tuple(_way(register, vehicle, day, reference, one, way) for way in one["alternatives"]))
        for one in open_proposals(texts)
    )


def _way(register: Register, vehicle: str, day: date, reference: str, proposal: Told, told: Told) -> Way:
    case = Proposal(number=proposal["number"], answers=dict(proposal["answers"]))
    try:
        left = laid_over(register, case, Alternative(letter=told["letter"], steps=list(told["steps"])), day)
    except Refused as refused:
        return Way(told, faults=tuple(fault.message for fault in refused.faults))
    inputs = inputs_from(left, vehicle)
    return Way(told, figures_on(inputs, day=day.toordinal(), reference=reference_named(inputs, reference)))


def effects_json(effects: tuple[Effect, ...], ids: TypedIds) -> list[dict[str, Any]]:
    """As they are frozen: by proposal and letter, on every basis."""
    return [
        {
            "proposal": one.told["code"],
            "alternatives": [
                {
                    "letter": way.told["letter"],
                    "fabric": [as_json(answer, ids) for answer in way.figures.values()],
                    "faults": list(way.faults),
                }
                for way in one.ways
            ],
        }
        for one in effects
    ]
