"""Figures before and after, as a table prints them: bounds, best and counts on each basis."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from register.documents.figure_view import FigureView, figure_view
from register.fabric.rounding import shown_change
from register.models import Vehicle
from register.services.structure import Effect


@dataclass(frozen=True, slots=True)
class EffectRow:
    """One basis. changes: sentences, "nothing moves" where it is so."""

    before: FigureView
    after: FigureView
    changes: tuple[str, ...]

    @property
    def basis(self) -> str:
        return self.after.basis_words


@dataclass(slots=True)
class EffectTable:
    """One vehicle. caption: the reference and the day; stays: whether nothing moves by mass."""

    vehicle: str
    caption: str
    stays: bool
    rows: list[EffectRow] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def effect_tables(effects: Iterable[Effect]) -> list[EffectTable]:
    """A table a vehicle, in the order given; a row a basis."""
    effects = list(effects)
    names = {
        one.code: one.full_name for one in Vehicle.objects.filter(code__in={one.vehicle for one in effects})
    }
    found: dict[str, EffectTable] = {}
    for effect in effects:
        before, after = figure_view(effect.then), figure_view(effect.now)
        table = found.get(effect.vehicle)
        if table is None:
            caption = f"against {after.reference}, as at {after.day}"
            table = found[effect.vehicle] = EffectTable(names[effect.vehicle], caption, effect.stays)
        table.rows.append(EffectRow(before, after, _changes(effect)))
        if effect.stays and effect.likely:
            table.notes.append(f"{after.basis_words.capitalize()}:{effect.likely}")
    return list(found.values())


def _changes(effect: Effect) -> tuple[str, ...]:
    one, other = effect.before, effect.after
    items = () if one.items == other.items else (f"{one.items} items become {other.items}",)
    if effect.stays:
        return ("nothing moves", *items)
    moved = [
        f"{word} {shown_change(after - before)}"
        for word, before, after in (
            ("low", one.low, other.low),
            ("high", one.high, other.high),
            ("best", one.best, other.best),
        )
        if isinstance(before, Fraction) and isinstance(after, Fraction) and before != after
    ]
    return (*(moved or ["changes"]), *items)
