"""The account of a vehicle on a day: what is in each position, what it weighs, how much of it is original.

Every figure is a sum over these rows (method, sections 3 to 6).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import NamedTuple

from register.fabric.fraction import ANYTHING, NEVER_ASSESSED, PartFabric, part_fabric
from register.fabric.inputs import Installation, Part, Position, Reference, VehicleInputs
from register.fabric.interval import Interval
from register.fabric.occupancy import Occupancy
from register.fabric.weights import WEIGHTS, Weigh

FabricOf = Callable[[str], PartFabric]


class Row(NamedTuple):
    """One item.

    part: the best installation's, else the only possible one's, else None. parts: all that may be there.
    fabric: that of ``part``, or of a part never assessed.
    weight: grams, 1 or points; None: unweighted; its best is None where the item has no best.
    f: original fraction, over all that may be there, in 1/ONE.
    certain: the part is certainly there. no_best: weighted, but no best installation, or one without weight.
    """

    position: str
    part: str | None
    parts: tuple[str, ...]
    fabric: PartFabric
    weight: Interval | None
    f: Interval
    certain: bool
    assumed: bool
    no_best: bool
    visibility: str

    @property
    def status(self) -> str:
        """As assessed, "" where the part is not."""
        return self.fabric.status

    @property
    def category(self) -> str:
        """One of the seven of the composition; never new material, which is the rest of a historic part."""
        return self.fabric.category

    @property
    def s(self) -> Interval:
        """The surviving fraction of ``part``, in 1/ONE."""
        return self.fabric.s

    @property
    def straddles(self) -> bool:
        """f is an either/or, by the part's ``original since``."""
        return self.fabric.straddles

    @property
    def disputed(self) -> bool:
        return self.fabric.disputed

    @property
    def strength(self) -> int:
        """Of the evidence, 0 to 3."""
        return self.fabric.strength

    @property
    def counts_in_best(self) -> bool:
        """Assessed, and with a best value: among the items that make the best figure."""
        return self.weight is not None and self.weight.best is not None and self.f.best is not None


def fabrics(inputs: VehicleInputs, reference: Reference, *, day: int, evidence_floor: int) -> FabricOf:
    """The fabric of any part of the inputs on ``day``, by its key; worked out once a part."""
    assessments, treatments, vehicle = inputs.assessments, inputs.treatments, inputs.vehicle
    done: dict[str, PartFabric] = {}

    def fabric_of(part: str) -> PartFabric:
        fabric = done.get(part)
        if fabric is None:
            fabric = done[part] = part_fabric(
                vehicle,
                reference,
                assessments.get(part),
                treatments.get(part, ()),
                day=day,
                evidence_floor=evidence_floor,
            )
        return fabric

    return fabric_of


def rows(
    inputs: VehicleInputs, occupancies: Iterable[Occupancy], fabric_of: FabricOf, basis: str
) -> Iterator[Row]:
    """A row for each occupancy, in its order, wear positions too."""
    weigh, positions, parts = WEIGHTS[basis], inputs.positions, inputs.parts
    for occupancy in occupancies:
        yield row_of(positions[occupancy.position], occupancy, parts, fabric_of, weigh)


def row_of(
    position: Position, occupancy: Occupancy, parts: Mapping[str, Part], fabric_of: FabricOf, weigh: Weigh
) -> Row:
    if occupancy.certain and occupancy.best is not None:
        return _ordinary(position, occupancy.best, parts, fabric_of, weigh)
    return _uncertain(position, occupancy, parts, fabric_of, weigh)


def _ordinary(
    position: Position, there: Installation, parts: Mapping[str, Part], fabric_of: FabricOf, weigh: Weigh
) -> Row:
    part = there.part
    fabric = fabric_of(part)
    weight, assumed = weigh(position, parts[part])
    no_best = weight is not None and weight.best is None
    visibility = there.visibility or position.visibility
    return Row(position.key, part, (part,), fabric, weight, fabric.f, True, assumed, no_best, visibility)


def _perhaps(
    position: Position, occupancy: Occupancy, parts: Mapping[str, Part], fabric_of: FabricOf, weigh: Weigh
) -> Row:
    """The only possible part, or nothing: what ``_uncertain`` says of it, without going through several."""
    (only,), best = occupancy.possible, occupancy.best
    fabric = fabric_of(only.part)
    weight, assumed = weigh(position, parts[only.part])
    f = ANYTHING
    if weight is not None:
        weight = Interval(0, weight.best if best else None, weight.high)
        f = fabric.f if best else Interval(fabric.f.low, None, fabric.f.high)
    no_best = weight is not None and weight.best is None
    seen = (best.visibility if best else "") or position.visibility
    return Row(position.key, only.part, (only.part,), fabric, weight, f, False, assumed, no_best, seen)


def _uncertain(
    position: Position, occupancy: Occupancy, parts: Mapping[str, Part], fabric_of: FabricOf, weigh: Weigh
) -> Row:
    """Hulls over the possible parts that have a weight; the position may be empty: the low weight is 0."""
    if len(occupancy.possible) == 1:
        return _perhaps(position, occupancy, parts, fabric_of, weigh)
    best, keys = occupancy.best, tuple(dict.fromkeys(one.part for one in occupancy.possible))
    weighed = [(key, *weigh(position, parts[key])) for key in keys]
    weights = {key: weight for key, weight, _ in weighed if weight is not None}
    part = best.part if best else keys[0] if len(keys) == 1 else None
    fabric = NEVER_ASSESSED if part is None else fabric_of(part)
    best_weight = weights.get(best.part) if best else None
    weight = f = None
    if weights:
        heaviest = max(one.high for one in weights.values())
        weight = Interval(0, best_weight.best if best_weight else None, heaviest)
        f = _hull([fabric_of(key).f for key in weights], fabric.f.best if best_weight else None)
    return Row(
        position=position.key,
        part=part,
        parts=keys,
        fabric=fabric,
        weight=weight,
        f=f or ANYTHING,
        certain=False,
        assumed=any(assumed for _, _, assumed in weighed),
        no_best=weight is not None and weight.best is None,
        visibility=(best.visibility if best else "") or position.visibility,
    )


def _hull(intervals: list[Interval], best: int | None) -> Interval:
    return Interval(min(one.low for one in intervals), best, max(one.high for one in intervals))
