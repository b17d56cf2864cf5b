"""The words around a figure: its question, its unit, its counts, and the sentences that stand beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from register.fabric.dates import AS_BUILT, in_words
from register.fabric.figures import VehicleFigures
from register.fabric.inputs import Reference
from register.fabric.rounding import NO_FIGURE, shown

NBSP = "\u00a0"
NOT_ENOUGH = "not enough assessed"
NO_BEST_AT_FLOOR = "none at this evidence"
STRENGTHS = ("none yet", "attributed", "corroborated", "documented")
"""The strength of an assessment, by its number (method, section 7)."""


@dataclass(frozen=True, slots=True)
class Basis:
    """words, plain: the basis for an officer and for a visitor. unit: of its weights, as a column head;
    decimals: of its weights as printed. lacking: what an unweighted item lacks. nothing: why there is no
    figure at all."""

    words: str
    plain: str
    unit: str
    decimals: int
    lacking: str
    nothing: str
    note: str = ""


BASES = {
    "mass": Basis(
        "by mass", "by weight", "kg", 0, "mass not known", "No part has a mass yet: no figure by mass."
    ),
    "count": Basis(
        "by count",
        "by number of parts",
        "parts",
        1,
        "",
        "No part is fitted on this day: no figure by count.",
        "Every part counts once, a set of parts too. Vehicles are never compared by count.",
    ),
    "significance": Basis(
        "by significance",
        "by significance",
        "points",
        1,
        "no grade",
        "No part is graded yet: no figure by significance.",
        "Significance is a judgement, graded part by part.",
    ),
}


def count_of(number: int, noun: str, plural: str = "") -> str:
    """``1 part``, ``2 parts``"""
    return f"{number:,}{NBSP}{noun if number == 1 else plural or f'{noun}s'}"


def figure(value: Fraction | float | None, decimals: int = 1) -> str:
    """The nearest, without a sign; what is there and rounds to nothing is said to be under the last place."""
    if value is None:
        return NO_FIGURE
    text = shown(value, decimals)
    if value > 0 and not float(text):
        return "under 0.1" if decimals else "under 1"
    return _thousands(text)


def _thousands(text: str) -> str:
    whole, dot, rest = text.partition(".")
    return f"{int(whole):,}{dot}{rest}" if whole.isdigit() else text


def percent(value: Fraction | float | None, decimals: int = 1) -> str:
    """``94.5 %``, the space unbreakable."""
    return NO_FIGURE if value is None else f"{figure(value, decimals)}{NBSP}%"


def reference_words(reference: Reference) -> str:
    """``as built (1894)``; the date is not said twice where the label holds it."""
    words = in_words(reference.edtf)
    return (
        reference.label if words in reference.label or words == AS_BUILT else f"{reference.label} ({words})"
    )


def since_words(reference: Reference) -> str:
    """The date for "here since …", where it is one that can be said so; else the state."""
    plain = re.fullmatch(r"\d{4}(-\d\d){0,2}", reference.edtf)
    return in_words(reference.edtf) if plain else f"the state {reference.label}"


def lacking(answer: VehicleFigures) -> str:
    """What the unweighted items lack, in a few words."""
    if not answer.whole.unweighted:
        return "every part is weighted"
    return BASES[answer.basis].lacking


def withheld_words(answer: VehicleFigures, *, has_whole: bool) -> str:
    """Why no percentage by mass is given, and what is given instead."""
    unweighted = sum(row.weight is None for row in answer.rows)
    cause = f"{unweighted} of {count_of(len(answer.rows), 'part')} have no known mass"
    if unweighted == 1:
        cause = f"1 of {count_of(len(answer.rows), 'part')} has no known mass"
    instead = (
        "only the bounds of the whole vehicle are given"
        if has_whole
        else "the parts are counted by status instead"
    )
    return f"{cause}, too much for a percentage of the others to stand for the vehicle: {instead}."


def notes(answer: VehicleFigures) -> Iterator[str]:
    """Sentences that stand beside the figure, the ones a reader must not miss first."""
    figures, basis = answer.whole, BASES[answer.basis]
    if basis.note:
        yield basis.note
    if answer.basis == "significance":
        none = sum(row.weight is not None and row.weight.high == 0 for row in answer.rows_asked_for)
        yield f"{count_of(none, 'part')} graded intrusive {'carries' if none == 1 else 'carry'} no weight."
    if answer.evidence_floor:
        floor = STRENGTHS[answer.evidence_floor]
        yield f"Assessments on less than {floor} evidence are taken as not assessed; no best figure is given."
    if figures.temporary:
        yield f"{_many(figures.temporary, 'temporary stand-in')} in use, in no figure."
    else:
        yield "No temporary stand-in is in use."
    if figures.assumed:
        yield f"{_many(figures.assumed, 'part')} weighed by the design mass of the position."
    if figures.no_best:
        yield f"{_many(figures.no_best, 'part')} in the bounds and in no best figure."
    if answer.include_wear:
        yield "Wear parts are counted in."
    elif figures.wear:
        yield f"{_many(figures.wear, 'wear part')} left out."


def _many(number: int, noun: str) -> str:
    """``1 part is``, ``2 parts are``"""
    return f"{count_of(number, noun)} {'is' if number == 1 else 'are'}"
