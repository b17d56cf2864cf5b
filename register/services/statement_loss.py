"""How a vehicle's figures went, and what it has lost since the reference date, for a statement."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from register.documents.figure_words import figure, percent, reference_words
from register.documents.statement_texts_content import Cumulative, Fate, SinceRow, TimeRow
from register.documents.statement_words import SURVIVAL_SHARES
from register.documents.timeline_view import TimelineView
from register.fabric.change import Stated
from register.fabric.dates import day_in_words, in_words
from register.fabric.figures import best_to_show
from register.fabric.rounding import shown_change
from register.fabric.survival import LOST, SHARES
from register.services.statement_figures import at_reference
from register.services.statement_texts import Texts

if TYPE_CHECKING:
    from register.services.statements import Gathered

GONE = frozenset({LOST, "material_renewed"})
"""Shares of survival whose fabric does not come back."""
FirstStated = tuple[str, Fraction | None]
"""What the first issued statement is called, and its best figure by mass as it was printed, if one was."""


def time_rows(gathered: Gathered, view: TimelineView) -> Iterator[TimeRow]:
    """The figures on the days that a reader asks for: of the reference, of every event of the chart, and of the statement."""
    reference = gathered.account.reference
    balloons = gathered.over_time.balloons if gathered.over_time else ()
    days = [(reference.span.latest, in_words(reference.edtf), "the reference date", False)]
    days += [(one.day, one.dated, one.event, True) for one in balloons]
    days.append((view.until, day_in_words(gathered.day), "this statement", False))
    for day, dated, what, is_event in sorted(days, key=lambda row: row[0]):
        row = view.on(day) if day <= view.until else None
        if row is not None:
            yield TimeRow(dated, what, row.bounds, row.best, row.assessed, is_event)


def cumulative(gathered: Gathered, texts: Texts, first: FirstStated | None) -> Cumulative | None:
    """None before the end of the reference date, and where no percentage by mass may be given."""
    account, day = gathered.account, gathered.day.toordinal()
    if gathered.beside.is_withheld or day <= account.reference.span.latest:
        return None
    then = best_to_show(at_reference(Stated(account.inputs, day, account.reference)).whole)
    now = best_to_show(gathered.beside.mass.whole)
    since = [_since(f"the reference date, {reference_words(account.reference)}", then, now)]
    if first is not None:
        since.append(_since(f"the {first[0]}", first[1], now))
    fates = tuple(_fates(gathered))
    return Cumulative(
        f"by mass, against {reference_words(account.reference)}",
        tuple(since),
        fates,
        *_totals(gathered),
        limit=_limit(texts, None if then is None or now is None else now - then),
    )


def _since(label: str, then: Fraction | None, now: Fraction | None) -> SinceRow:
    change = None if then is None or now is None else now - then
    return SinceRow(label, percent(then), percent(now), shown_change(change))


def _fates(gathered: Gathered) -> Iterator[Fate]:
    found = gathered.survival_asked_for
    for share in SHARES if found and found.weight else ():
        part = found.shares[share] if found else None
        if found and part:
            yield Fate(SURVIVAL_SHARES[share], figure(part * found.weight / 100, 0), figure(part), share in GONE)


def _totals(gathered: Gathered) -> tuple[tuple[str, str], tuple[str, str]]:
    """(kg, %) of the whole reference vehicle, and of what of it is gone for good."""
    found = gathered.survival_asked_for
    if found is None or not found.weight:
        return ("", ""), ("", "")
    gone = sum((found.shares[share] or Fraction(0) for share in GONE), Fraction(0))
    return (figure(found.weight, 0), "100.0"), (figure(gone * found.weight / 100, 0), figure(gone))


def _limit(texts: Texts, change: Fraction | None) -> str:
    policy = texts["policy"] or {}
    limit = policy.get("loss_limit", "")
    if not limit:
        return ""
    allowed = f"The policy of this vehicle allows a loss of {limit} points since the reference date"
    if change is None:
        return f"{allowed}; whether that is kept to is not known, for there is no figure to tell it by."
    return f"{allowed}: it is {'kept to' if -change <= int(limit) else 'exceeded'}."
