"""Open proposals as a statement assesses them: the options, what each would do to the figures, and the conclusion."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from register.documents.comparison import Compared, compared
from register.documents.figure_words import NBSP, figure
from register.documents.statement_texts_content import Impact, Option, Proposed
from register.fabric.rounding import NO_FIGURE
from register.models.proposal import APPROVED, DRAFT, RETURNED
from register.services.proposal_effect import fabric_leaving
from register.services.proposal_fields import QUESTIONS
from register.services.proposal_steps import in_few_words
from register.services.statement_impact import Effect, Way
from register.services.statement_texts import act_of, recommended
from register.services.statement_told import Told, day_of

if TYPE_CHECKING:
    from register.services.statements import Gathered

CANNOT = "cannot be worked out"
ROWS = ("Bounds, mass", "Best, mass", "Bounds, significance")
LABELS = ("Bounds by mass, %", "Best by mass, %", "Bounds by significance, %")
ASKED = ("necessary", "harmless", "minimised", "benefit", "significance", "leaving")
"""Answers that an assessor reads: the four tests of harm against benefit, what the part is worth, what leaves."""
ASKED_INSIDE = (*ASKED, "kept", "signoff_role", "signoff")
"""And those that may name a store, or a person by his paper."""


def proposed(gathered: Gathered, told: Told, effects: tuple[Effect, ...]) -> Proposed:
    writing = sum(one["state"] == DRAFT for one in told.texts["proposals"])
    return Proposed(tuple(_impact(gathered, told, one) for one in effects), writing)


def _impact(gathered: Gathered, told: Told, effect: Effect) -> Impact:
    proposal, now = effect.told, gathered.account.figures
    outcomes = [way.figures or None for way in effect.ways]
    rows = {row.label: row.cells for row in compared(now, [now, *outcomes], gathered.account.inputs, guarded=True)}
    columns = list(zip(*([_text(cell) for cell in rows[label]] for label in ROWS), strict=True))
    answers = proposal["answers"]
    return Impact(
        proposal["code"],
        proposal["title"],
        proposal["state"],
        ": ".join(filter(None, [answers.get("why", "").capitalize(), answers.get("fails", "")])),
        LABELS,
        tuple(cell.text if cell else NO_FIGURE for cell in (rows[label][0] for label in ROWS)),
        tuple(_option(gathered, told, way, column) for way, column in zip(effect.ways, columns[1:], strict=True)),
        tuple(_answers(answers, internal=told.internal)),
        _conclusion(told, proposal),
    )


def _text(cell: Compared | None) -> str:
    if cell is None:
        return CANNOT
    return f"{cell.text} ({cell.change})" if cell.change else cell.text


def _option(gathered: Gathered, told: Told, way: Way, column: tuple[str, ...]) -> Option:
    """Outside the railway without the stores that parts are taken to."""
    option = way.told
    steps = [
        step if told.internal else {name: text for name, text in step.items() if name != "place_id"}
        for step in option["steps"]
    ]
    return Option(
        option["letter"],
        option["title"],
        option["words"],
        option["recommended"],
        column,
        _leaving(gathered, way),
        ": ".join(filter(None, [option["undo"].capitalize(), option["undo_how"]])),
        "; ".join(way.faults) if way.faults else option["why_not"],
        tuple(in_few_words(steps)),
    )


def _leaving(gathered: Gathered, way: Way) -> str:
    """Original fabric in kg; not given where no percentage by mass may be."""
    if gathered.beside.is_withheld or not way.figures:
        return "not given"
    amount = fabric_leaving(gathered.beside.mass.whole, way.figures["mass"].whole)
    return "not known" if amount is None else f"{figure(amount, 0)}{NBSP}kg"


def _answers(answers: Mapping[str, str], *, internal: bool) -> Iterator[tuple[str, str]]:
    for name in ASKED_INSIDE if internal else ASKED:
        yield QUESTIONS[name].label, answers.get(name, "")


def _conclusion(told: Told, proposal: Mapping[str, Any]) -> str:
    chosen = recommended(proposal)
    named = f"alternative {chosen['letter']}, {chosen['title']}" if chosen else "no alternative"
    if proposal["state"] == APPROVED and (act := act_of(proposal, ("approved",))):
        conditions = f" Conditions: {act['words']}" if told.internal and act["words"] else ""
        return f"Approved on {day_of(act['at'])} by {told.decider(act)}: {named}. Not carried out yet.{conditions}"
    if proposal["state"] == RETURNED:
        return f"Returned with a question, and not decided. Recommended so far: {named}."
    return f"Waits for a decision. Recommended: {named}."
