"""The figures of each vehicle at both ends of a period, and how much of their change is work and how much knowledge."""

from __future__ import annotations

from collections.abc import Iterator

from register.documents.figure_words import STRENGTHS
from register.documents.period_content import FiguresTold
from register.documents.period_figures import Sides, figures_told
from register.fabric.change import Change, Stated, changes
from register.fabric.inputs import BASES, Reference, VehicleInputs
from register.services.inputs import reference_named
from register.services.period_moments import Moment, Moments
from register.services.slices import inputs_by_vehicle


class VehicleSums:
    """before, after: the inputs of every vehicle, as known when the period began and in the end."""

    def __init__(self, moments: Moments) -> None:
        self.moments = moments
        self.after = inputs_by_vehicle(moments.after.full)
        is_same = moments.before.full is moments.after.full
        self.before = self.after if is_same else inputs_by_vehicle(moments.before.full)

    def strengths(self) -> dict[str, str]:
        """How strong the evidence is for what each part is held to be, in words."""
        found = {}
        for inputs in self.after.values():
            for part, one in inputs.assessments.items():
                found[part] = STRENGTHS[one.strength] + (", disputed" if one.disputed else "")
        return found

    def sides(self, vehicle: str) -> Sides | None:
        """None for a vehicle that is not in the register in the end."""
        after, before = self.after.get(vehicle), self.before.get(vehicle)
        if after is None:
            return None
        period = self.moments.period
        reference = reference_named(after, None)
        second = Stated(after, period.last, reference)
        first = Stated(before or after, period.eve, _same_reference(before, reference) if before else reference)
        return Sides(before, after, changes(first, second, bases=("mass",) if self.moments.sight.public else BASES))

    def told(self, vehicle: str) -> tuple[FiguresTold | None, bool]:
        """The figures in words, and whether they changed as far as the reader may know."""
        sides = self.sides(vehicle)
        if sides is None:
            return None, True
        is_closed = self.moments.sight.public and self._is_closed(vehicle, sides)
        told = figures_told(sides, dict(self._names(sides)), public=self.moments.sight.public, is_closed=is_closed)
        return told, not is_closed and any(map(_has_changed, sides.changes.values()))

    def _names(self, sides: Sides) -> Iterator[tuple[str, tuple[str, str]]]:
        for one in {*sides.after.parts, *(sides.before.parts if sides.before else ())}:
            row = self.moments.after.seen.row("parts", one) or self.moments.before.seen.row("parts", one)
            if row is not None:
                yield one, (row["_code"], str(row["name"]))

    def _is_closed(self, vehicle: str, sides: Sides) -> bool:
        """Whether something that is not public has a part in what changed, or what was known then was not public."""
        if sides.before is not None and not self.moments.was_public("vehicles", vehicle):
            return True
        mine = {*sides.after.parts, *(sides.before.parts if sides.before else ())}
        hidden = {one for one in mine if not self._is_open(one)}
        return any(_stirred(one, sides, self.moments) for one in hidden)

    def _is_open(self, part: str) -> bool:
        """Whether anybody could and can read of the part."""
        rows = [moment.full.tables["parts"].get(part) for moment in self._states()]
        return all(row is None or row["access"] == "public" for row in rows) and part in self.moments.now.tables["parts"]

    def _states(self) -> tuple[Moment, ...]:
        return self.moments.before, self.moments.last, self.moments.after, Moment(self.moments.now, self.moments.after.seen)


def _stirred(part: str, sides: Sides, moments: Moments) -> bool:
    """Whether anything about the part is known otherwise than before, or may have happened in the period."""
    if sides.before is not None and _facts(sides.before, part) != _facts(sides.after, part):
        return True
    spans = [one.fitted for one in sides.after.installations if one.part == part]
    spans += [one.removed for one in sides.after.installations if one.part == part and one.removed]
    spans += [one.span for one in sides.after.treatments.get(part, ())]
    return any(moments.period.may_be_of(one) for one in spans)


def _facts(inputs: VehicleInputs, part: str) -> tuple[object, ...]:
    return (
        inputs.parts.get(part),
        [one for one in inputs.installations if one.part == part],
        inputs.assessments.get(part),
        inputs.treatments.get(part, ()),
    )


def _same_reference(before: VehicleInputs, reference: Reference) -> Reference:
    """What is measured against in the end, as it was known then; else what was the default."""
    known = (one for one in before.references if one.label == reference.label)
    return next(known, reference_named(before, None))


def _has_changed(change: Change) -> bool:
    ends = [
        (one.whole.best, one.whole.low, one.whole.high, one.reference.label, one.reference.edtf)
        for one in (change.before, change.after)
    ]
    return bool(change.parts) or ends[0] != ends[1]
