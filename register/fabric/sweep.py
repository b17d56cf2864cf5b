"""What each position holds, from day to day: every change of an item's weight or fraction, in the order of
the days.

One pass over the events. A position is looked at again only on a day on which one of its possible
installations, or of the parts in it, has a date; so the work grows with the number of dates and not with
days times positions.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from register.fabric.account import row_of
from register.fabric.dates import BEGINNING, END
from register.fabric.fraction import PartFabric, part_fabric
from register.fabric.inputs import Installation, Reference, VehicleInputs
from register.fabric.occupancy import is_definite, is_possible, settle, struck_out
from register.fabric.weights import WEIGHTS


class Stake(NamedTuple):
    """What an item adds to the sums: weight in grams, 1 or points, original fraction in 1/ONE."""

    w_low: int
    w_best: int | None
    w_high: int
    f_low: int
    f_best: int | None
    f_high: int


Moves = list[tuple[Stake | None, Stake | None]]
"""What items added before a day, and what they add from it on."""


class Calendar(NamedTuple):
    """By day: the installations (by their number) and the parts that have a date on it.

    assessed: the days on which parts are assessed. other: every other day on which anything can change.
    """

    installations: dict[int, list[int]]
    parts: dict[int, set[str]]
    assessed: frozenset[int]
    other: frozenset[int]


def calendar(inputs: VehicleInputs, reference: Reference) -> Calendar:
    """Every day on which a figure of the vehicle can change (method, section 9)."""
    installations: dict[int, list[int]] = defaultdict(list)
    parts: dict[int, set[str]] = defaultdict(set)
    own = {one.part for one in inputs.installations if one.position in inputs.positions}
    for number, one in enumerate(inputs.installations):
        if one.part in own:
            for day in {*one.fitted, *(one.removed or ())}:
                installations[day].append(number)
    for part, treatments in inputs.treatments.items():
        for treatment in treatments if part in own else ():
            for day in treatment.span:
                parts[day].add(part)
    other = {*installations, *parts, inputs.vehicle.built.earliest, reference.span.latest + 1}
    assessments = [one for one in inputs.assessments.values() if one.part in own]
    for assessment in assessments:
        parts[assessment.day].add(assessment.part)
    return Calendar(installations, parts, frozenset(one.day for one in assessments), frozenset(other))


class Sweep:
    """The state of a vehicle that goes from day to day; ``moves`` goes through all of them, once."""

    def __init__(self, inputs: VehicleInputs, reference: Reference, basis: str, include_wear: bool) -> None:
        self._inputs = inputs
        self._reference = reference
        self._weigh = WEIGHTS[basis]
        self._counted = {key for key, one in inputs.positions.items() if include_wear or not one.wear}
        self._possible_in: dict[str, dict[int, Installation]] = defaultdict(dict)
        self._possible_of: dict[str, dict[int, Installation]] = defaultdict(dict)
        self._definite: set[int] = set()
        self._definite_in: Counter[str] = Counter()
        self._definite_of: Counter[str] = Counter()
        self._fabric: dict[str, PartFabric] = {}
        self._stakes: dict[str, Stake] = {}
        self._day = BEGINNING

    def moves(self, days: Calendar) -> Iterator[tuple[int, Moves]]:
        """(day, what changes) for every day of the calendar, the open beginning among them, the open end
        not.
        """
        for day in sorted(days.assessed | days.other):
            if day >= END:
                break
            self._day = day
            again: set[str] = set()
            for number in days.installations.get(day, ()):
                self._turn(number, again)
            for part in days.parts.get(day, ()):
                self._fabric.pop(part, None)
                again.update(one.position for one in self._possible_of[part].values())
            if day == self._reference.span.latest + 1:
                self._fabric.clear()
                again.update(self._possible_in)
            yield day, self._moved(again & self._counted)

    def _turn(self, number: int, again: set[str]) -> None:
        """Take note of an installation that begins or ceases to be possible, definite or best today."""
        one, day = self._inputs.installations[number], self._day
        if one.temporary:
            return
        again.add(one.position)
        if is_possible(one, day):
            self._possible_in[one.position][number] = self._possible_of[one.part][number] = one
        else:
            self._possible_in[one.position].pop(number, None)
            self._possible_of[one.part].pop(number, None)
        if is_definite(one, day) == (number in self._definite):
            return
        step = -1 if number in self._definite else 1
        self._definite ^= {number}
        self._definite_in[one.position] += step
        self._definite_of[one.part] += step
        again.update(other.position for other in self._possible_of[one.part].values())

    def _moved(self, positions: set[str]) -> Moves:
        moves: Moves = []
        for position in positions:
            before, after = self._stakes.get(position), self._stake(position)
            if before == after:
                continue
            moves.append((before, after))
            if after is None:
                del self._stakes[position]
            else:
                self._stakes[position] = after
        return moves

    def _stake(self, position: str) -> Stake | None:
        day = self._day
        possible = [
            one
            for one in self._possible_in[position].values()
            if not struck_out(one, day, self._definite_in, self._definite_of)
        ]
        if not possible:
            return None
        row = row_of(
            self._inputs.positions[position],
            settle(position, possible, day),
            self._inputs.parts,
            self._fabric_of,
            self._weigh,
        )
        weight, f = row.weight, row.f
        if weight is None:
            return None
        return Stake(weight.low, weight.best, weight.high, f.low, f.best, f.high)

    def _fabric_of(self, part: str) -> PartFabric:
        fabric = self._fabric.get(part)
        if fabric is None:
            fabric = self._fabric[part] = part_fabric(
                self._inputs.vehicle,
                self._reference,
                self._inputs.assessments.get(part),
                self._inputs.treatments.get(part, ()),
                day=self._day,
            )
        return fabric
