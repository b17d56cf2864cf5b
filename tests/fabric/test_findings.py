"""Findings grow as the records do: no check goes through all of them once for each."""

from __future__ import annotations

from register.fabric.dates import BEGINNING, Span
from register.fabric.finding_facts import Judgement, PartFacts, PositionFacts, Stay, VehicleFacts
from register.fabric.findings import findings
from register.fabric.inputs import Assessment, Installation, Part, Position, Reference, Vehicle, VehicleInputs
from register.fabric.interval import Interval

BUILT = Span(BEGINNING + 10, BEGINNING + 10, BEGINNING + 10)


class Counted(tuple):
    """A tuple that counts how often it was gone through."""

    times = 0

    def __iter__(self):
        Counted.times += 1
        return super().__iter__()


class CountedMap(dict):
    def items(self):
        Counted.times += 1
        return super().items()


def facts(parts: int) -> VehicleFacts:
    keys = [f"p{number}" for number in range(parts)]
    mass = Interval.exactly(1000)
    stays = Counted(Stay(f"i{key}", f"q{key}", key, "l1", BUILT, None, False, True, "") for key in keys)
    inputs = VehicleInputs(
        Vehicle("l1", BUILT, mass),
        (Reference("as built", "1894", BUILT, True),),
        {f"q{key}": Position(f"q{key}", "l1", "in view", 2, False, None) for key in keys},
        {key: Part(key, mass) for key in keys},
        Counted(Installation(f"q{key}", key, "l1", BUILT) for key in keys),
        {key: Assessment(key, BEGINNING + 100, "original", "l1", None, Interval.exactly(1_000_000), 1) for key in keys},
    )
    return VehicleFacts(
        "L1", inputs, None,
        CountedMap({key: PartFacts(key, key, "public", mass, None, "", "", "") for key in keys}),
        CountedMap({f"q{key}": PositionFacts(f"Q{key}", key, "", "") for key in keys}),
        stays, {key: Judgement(f"a{key}", "", "") for key in keys},
    )  # fmt: skip


def passes(parts: int) -> int:
    Counted.times = 0
    assert len(findings(facts(parts), BEGINNING + 1000)) >= parts
    return Counted.times


def test_the_records_are_gone_through_as_often_for_many_parts_as_for_few():
    assert passes(200) == passes(20)
