"""When a part was fitted, and what is in each position on a day (method, end of section 2, and section 3)."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from typing import NamedTuple

from register.fabric.dates import AS_BUILT, HistoricDate, Span, day_in_words, span_of
from register.fabric.inputs import Installation, VehicleInputs


class ImpossibleDates(ValueError):
    """Dates that cannot all be true. column: fitted, seen_on or removed, where to look; str(): the reason."""

    def __init__(self, column: str, sentence: str) -> None:
        super().__init__(sentence)
        self.column = column


class Occupancy(NamedTuple):
    """What is in a position on a day.

    possible: the installations that may be there, none struck out, in the order of their part ids.
    best: the one taken for the best figures, None where none is. certain: the only possible one is definite.
    """

    position: str
    possible: tuple[Installation, ...]
    best: Installation | None
    certain: bool


def resolve(
    fitted: HistoricDate | None, seen_on: int | None, removed: HistoricDate | None, built: Span
) -> tuple[Span, Span | None]:
    """The (fitted, removed) spans of an installation in a vehicle with this ``built`` span.

    fitted: may say "as built"; None where only ``seen_on``, a day on which the part was known to be in
    place, is given. removed: None where the part is still fitted. Best days are those of the tightened
    spans. Raises ValueError, with a sentence for the person who typed the dates, where they cannot all be
    true.
    """
    if seen_on is not None and seen_on < built.earliest:
        raise ImpossibleDates(
            "seen_on", f"Seen on {_day(seen_on)} is before the vehicle was built: correct one of the dates."
        )
    start = _fitted(fitted, seen_on, built)
    if removed is None:
        return start, None
    end = span_of(removed.edtf)
    if seen_on is not None:
        if seen_on >= end.latest:
            raise ImpossibleDates(
                "seen_on",
                f"Seen on {_day(seen_on)} is not before the last possible day of the removal, "
                f"{removed.text}: correct one of the dates.",
            )
        end = end.tightened(earliest=seen_on + 1)
    if end.latest < start.earliest or end.best < start.best:
        began = f"fitted, {fitted.text}" if fitted else f"seen on, {_day(start.best)}"
        raise ImpossibleDates(
            "removed", f"Removed, {removed.text}, is before {began}: correct one of the dates."
        )
    return start, end


def _fitted(fitted: HistoricDate | None, seen_on: int | None, built: Span) -> Span:
    if fitted is None:
        if seen_on is None:
            raise ImpossibleDates(
                "fitted",
                "Neither fitted nor seen on is given: give the date of fitting (it may be a range), or a day "
                "on which the part was seen in place.",
            )
        return Span(built.earliest, seen_on, seen_on)
    span = built if fitted.edtf == AS_BUILT else span_of(fitted.edtf)
    if seen_on is None:
        return span
    if seen_on < span.earliest:
        raise ImpossibleDates(
            "seen_on", f"Seen on {_day(seen_on)} is before fitted, {fitted.text}: correct one of the dates."
        )
    return span.tightened(latest=seen_on)


def _day(day: int) -> str:
    return day_in_words(date.fromordinal(day))


def is_possible(installation: Installation, day: int) -> bool:
    removed = installation.removed
    return installation.fitted.earliest <= day and (removed is None or day < removed.latest)


def is_definite(installation: Installation, day: int) -> bool:
    removed = installation.removed
    return installation.fitted.latest <= day and (removed is None or day < removed.earliest)


def is_best(installation: Installation, day: int) -> bool:
    removed = installation.removed
    return installation.fitted.best <= day and (removed is None or day < removed.best)


def occupancy(inputs: VehicleInputs, day: int) -> list[Occupancy]:
    """One for each position of the vehicle that may be occupied on ``day``, in the order of the positions."""
    here: dict[str, list[Installation]] = defaultdict(list)
    for installation in unstruck(inputs.installations, day):
        here[installation.position].append(installation)
    return [settle(position, here[position], day) for position in inputs.positions if position in here]


def stand_ins(inputs: VehicleInputs, day: int) -> list[Installation]:
    """The temporary installations in the vehicle that are possible on ``day``."""
    return [
        installation
        for installation in inputs.installations
        if installation.temporary
        and installation.position in inputs.positions
        and is_possible(installation, day)
    ]


def unstruck(installations: Iterable[Installation], day: int) -> list[Installation]:
    """The possible installations, less those that another one, of the same position or part, rules out."""
    possible = [one for one in installations if not one.temporary and is_possible(one, day)]
    definite = [one for one in possible if is_definite(one, day)]
    positions = Counter([one.position for one in definite])
    parts = Counter([one.part for one in definite])
    if len(definite) == len(possible) == len(positions) == len(parts):
        return possible  # nothing in doubt, nothing twice: the usual case
    return [one for one in possible if not struck_out(one, day, positions, parts)]


def struck_out(
    installation: Installation, day: int, positions: Mapping[str, int], parts: Mapping[str, int]
) -> bool:
    """Whether another one is definite: ``positions`` and ``parts`` count the definite ones of each."""
    in_position, of_part = positions.get(installation.position, 0), parts.get(installation.part, 0)
    if not in_position and not of_part:
        return False
    itself = 1 if is_definite(installation, day) else 0
    return in_position > itself or of_part > itself


def settle(position: str, possible: list[Installation], day: int) -> Occupancy:
    """The occupancy of a position where these installations (at least one) are possible, none struck out."""
    if len(possible) == 1:
        only = possible[0]
        if is_definite(only, day):
            return Occupancy(position, (only,), only, True)
        return Occupancy(position, (only,), only if is_best(only, day) else None, False)
    possible = sorted(possible, key=lambda one: (one.part, one.fitted))
    return Occupancy(position, tuple(possible), best_of(possible, day), False)


def best_of(installations: Iterable[Installation], day: int) -> Installation | None:
    """The best one on ``day``: latest best start, then the lowest part id, then the lowest position id."""
    best = [one for one in installations if is_best(one, day)]
    return min(best, key=_precedence, default=None)


def _precedence(one: Installation) -> tuple[int, str, str, Span, Span | tuple[()]]:
    """The dates at the end only tell two stays of one part in one position apart, whatever their order."""
    return -one.fitted.best, one.part, one.position, one.fitted, one.removed or ()
