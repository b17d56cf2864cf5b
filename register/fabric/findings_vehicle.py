"""Findings about a vehicle, its positions and what is fitted in them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date

from register.fabric.dates import day_in_words
from register.fabric.finding_facts import (
    Finding,
    Form,
    Stay,
    VehicleFacts,
    about_part,
    change_part,
    kilograms,
)
from register.fabric.inputs import Installation
from register.fabric.interval import Interval
from register.fabric.occupancy import is_best, is_possible, occupancy
from register.fabric.weights import by_mass

LONG = 2 * 365
"""Days after which a stand-in is no longer for the time being (our own rule, no source)."""


MANY = 10
"""More findings of one kind than so many are told once, of the vehicle."""


def mass_closure(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """The sum of the parts against the vehicle's empty mass."""
    empty = facts.inputs.vehicle.empty_mass
    if empty is None:
        return
    low = high = unweighted = 0
    for there in occupancy(facts.inputs, day):
        part = there.best.part if there.best else there.possible[0].part
        weight, _ = by_mass(facts.inputs.positions[there.position], facts.inputs.parts[part])
        if weight is None:
            unweighted += 1
            continue
        low, high = low + (weight.low if there.certain else 0), high + weight.high
    listed = Interval(low, None, high)
    key, form = facts.inputs.vehicle.key, Form("Look at the empty mass", "vehicles", facts.inputs.vehicle.key)
    if low > empty.high:
        yield Finding(
            "weighs-more", "vehicles", key, facts.code, "The parts weigh more than the vehicle.",
            f"They add up to {kilograms(listed)}, and its empty mass is {kilograms(empty)}. Check the heaviest masses, a part "
            "that is counted with what lies in it, and the empty mass.", form, (listed, empty))  # fmt: skip
    elif high and not unweighted and high < empty.low:
        yield Finding(
            "weighs-less", "vehicles", key, facts.code, "The parts weigh less than the vehicle.",
            f"They add up to {kilograms(listed)}, and its empty mass is {kilograms(empty)}, though every part has a mass. "
            "List what is missing, or check the masses.", form, (listed, empty))  # fmt: skip


def gross_closure(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """A part as weighed, complete, against itself and against what is fitted below it."""
    fitted = {there.position: there.best.part for there in occupancy(facts.inputs, day) if there.best}
    places: dict[str, list[str]] = defaultdict(list)
    for place, part_key in fitted.items():
        places[part_key].append(place)
    below: dict[str, list[str]] = defaultdict(list)
    for key, position in facts.positions.items():
        if position.parent:
            below[position.parent].append(key)
    masses = facts.inputs.parts
    for key, part in facts.parts.items():
        own, gross = masses[key].mass, part.gross
        if own is None or gross is None:
            continue
        form = change_part(key, "Look at both masses")
        if own.low > gross.high:
            yield about_part(
                facts, key, "gross-below-net", f"{part.words} weighs more alone than complete.",
                f"Its own mass is {kilograms(own)}, complete it is {kilograms(gross)}. One of them is mistaken, or they have "
                "changed places.", form, own, gross)  # fmt: skip
            continue
        inside = [fitted[one] for place in places[key] for one in _under(place, below) if one in fitted]
        weights = [masses[one].mass for one in inside]
        if not inside or any(one is None for one in weights):
            continue
        total = Interval(
            own.low + sum(one.low for one in weights if one), None, own.high + sum(one.high for one in weights if one)
        )
        if total.low > gross.high or total.high < gross.low:
            yield about_part(
                facts, key, "gross-does-not-close", f"{part.words} and what is fitted in it do not add up.",
                f"Together they make {kilograms(total)}, and weighed complete it was {kilograms(gross)}. Check what is fitted "
                "below its position, and both masses.", form, total, gross)  # fmt: skip


def _under(position: str, below: dict[str, list[str]]) -> Iterator[str]:
    waiting = list(below.get(position, ()))
    while waiting:
        one = waiting.pop()
        yield one
        waiting += below.get(one, ())


def never_filled(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """Positions that no part was ever in; those that only hold other positions are no places for a part."""
    filled = {stay.position for stay in facts.stays}
    parents = {position.parent for position in facts.positions.values()}
    for key, position in facts.positions.items():
        if key not in filled and key not in parents:
            yield Finding(
                "never-filled", "positions", key, position.code, f"Nothing was ever fitted in “{position.name}”.",
                "Record what is or was there, or strike the position out if it never was.",
                Form("Record what is fitted", "installations", "", (("position_id", position.code),)), ())  # fmt: skip


def two_places(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """A part that is held to be in two positions at once."""
    by_part: dict[str, list[Installation]] = defaultdict(list)
    for one in facts.inputs.installations:
        if not one.temporary and is_best(one, day):
            by_part[one.part].append(one)
    rows = {(stay.part, stay.position): stay.key for stay in facts.stays}
    for key, places in by_part.items():
        if len(places) < 2 or key not in facts.parts:
            continue
        names = " and ".join(_place(facts, one) for one in places)
        row = next((rows[key, one.position] for one in places if (key, one.position) in rows), "")
        form = Form("Date the removal", "installations", row) if row else change_part(key, "Look at the part")
        yield about_part(
            facts, key, "two-places", f"{facts.parts[key].words} is in two places at once.",
            f"By the best days it is fitted in {names}. Say when it left the first.", form,
            *sorted((one.position, *one.fitted) for one in places))  # fmt: skip


def _place(facts: VehicleFacts, one: Installation) -> str:
    position = facts.positions.get(one.position)
    return f"“{position.name}”" if position else "another vehicle"


def stand_ins(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """Stand-ins of long standing, and those that stand in for nothing."""
    belongs = {one.position for one in facts.inputs.installations if not one.temporary and is_possible(one, day)}
    for stay in facts.stays:
        if not stay.temporary or not _there(stay, day) or stay.part not in facts.parts:
            continue
        name, part = facts.positions[stay.position].name, facts.parts[stay.part]
        form = Form("Date its removal", "installations", stay.key)
        since = day_in_words(date.fromordinal(stay.fitted.best))
        if day - stay.fitted.best > LONG:
            yield about_part(
                facts, stay.part, "stand-in-long", f"{part.words} has stood in for more than two years.",
                f"It has been in “{name}” since about {since}, and enters no figure. Record its removal, or fit it for good if "
                "that is what it has become.", form, stay.position, stay.fitted)  # fmt: skip
        if stay.position not in belongs:
            yield about_part(
                facts, stay.part, "stand-in-alone", f"{part.words} stands in for nothing.",
                f"No other part belongs in “{name}” today. Record whose place it takes, or that it is there for good.",
                form, stay.position, stay.fitted)  # fmt: skip


def _there(stay: Stay, day: int) -> bool:
    return stay.fitted.best <= day and (stay.removed is None or day < stay.removed.best)


def fitted_before_built(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """Each part by itself; of very many, as in a vehicle that was long in building, one finding of the vehicle."""
    vehicle = facts.inputs.vehicle
    early = [one for one in facts.stays if one.fitted.latest < vehicle.built.earliest and one.part in facts.parts]
    if len(early) > MANY:
        yield Finding(
            "fitted-before-built", "vehicles", vehicle.key, facts.code,
            f"{len(early)} parts were fitted before the vehicle was built.",
            "Their dates end before the earliest day on which it can have been built. If it was long in building, say so by "
            "explaining this; else correct the built date, or write “as built” for the parts.",
            Form("Look at the built date", "vehicles", vehicle.key), (vehicle.built, *sorted(one.part for one in early)))  # fmt: skip
        return
    for stay in early:
        part, name = facts.parts[stay.part], facts.positions[stay.position].name
        yield about_part(
            facts, stay.part, "fitted-before-built", f"{part.words} was fitted before the vehicle was built.",
            f"The date in “{name}” ends before the earliest day on which the vehicle can have been built. Correct one of "
            "the two, or write “as built”.", Form("Correct the fitting", "installations", stay.key),
            stay.position, stay.fitted, vehicle.built)  # fmt: skip


def design_mass_only(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """Parts that weigh only what a drawing says the position should."""
    for there in occupancy(facts.inputs, day):
        if there.best is None or there.best.part not in facts.parts:
            continue
        design = facts.inputs.positions[there.position].design_mass
        if facts.inputs.parts[there.best.part].mass is None and design is not None:
            yield about_part(
                facts, there.best.part, "design-mass-only", f"{facts.parts[there.best.part].words} has no mass of its own.",
                f"It counts with the design mass of “{facts.positions[there.position].name}”, {kilograms(design)}. Weigh it, or "
                "work its mass out from its dimensions.", Form("Work out its mass", "mass", there.best.part),
                there.position, design)  # fmt: skip


CHECKS = (mass_closure, gross_closure, two_places, fitted_before_built, stand_ins, design_mass_only, never_filled)

