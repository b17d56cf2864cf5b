"""The timeline against plain re-evaluation of every day, and the work it takes."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import partial
from itertools import pairwise
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from register.fabric.dates import BEGINNING, END
from register.fabric.figures import figures
from register.fabric.inputs import Reference, VehicleInputs
from register.fabric.timeline import Level, Step, timeline
from tests.fabric.builders import Engine, day
from tests.fabric.random_registers import LAST, bases, registers


def days_of_change(inputs: VehicleInputs, reference: Reference) -> tuple[set[int], set[int]]:
    """(days on which a part is assessed, every other day of method section 9)"""
    here = {one.part for one in inputs.installations if one.vehicle == inputs.vehicle.key}
    other = {inputs.vehicle.built.earliest, reference.span.latest + 1}
    for one in inputs.installations:
        if one.part in here:
            other |= {*one.fitted, *(one.removed or ())}
    for part in here:
        for treatment in inputs.treatments.get(part, ()):
            other |= set(treatment.span)
    return {one.day for part, one in inputs.assessments.items() if part in here}, other


def plainly(inputs: VehicleInputs, reference: Reference, basis: str, wear: bool) -> list[Step]:
    """Section 7 anew on every day."""
    assessed, other = days_of_change(inputs, reference)
    steps: list[Step] = []
    for when in sorted(assessed | other):
        if BEGINNING < when < END:
            whole = figures(inputs, day=when, reference=reference, basis=basis, include_wear=wear).whole
            level = Level(whole.best, whole.low, whole.high, whole.assessed_share, whole.weight)
            if not steps or steps[-1].level != level:
                steps.append(Step(when, level, when in assessed and when not in other))
    return steps


@settings(max_examples=300)
@given(registers, st.integers(0, 1), bases, st.booleans())
def test_the_steps_are_the_figures_of_every_day_exactly(
    inputs: VehicleInputs, period: int, basis: str, wear: bool
) -> None:
    reference = inputs.references[period]
    found = timeline(inputs, reference=reference, basis=basis, include_wear=wear)
    assert list(found.steps) == plainly(inputs, reference, basis, wear)


@given(registers, st.integers(0, 1), bases, st.integers(0, LAST - 700_000 + 20))
def test_a_step_holds_until_the_next(inputs: VehicleInputs, period: int, basis: str, ahead: int) -> None:
    """On any day at all, not only on those of change."""
    reference = inputs.references[period]
    steps = timeline(inputs, reference=reference, basis=basis).steps
    when = steps[0].start + ahead
    level = [step.level for step in steps if step.start <= when][-1]
    whole = figures(inputs, day=when, reference=reference, basis=basis).whole
    assert level == (whole.best, whole.low, whole.high, whole.assessed_share, whole.weight)


@given(registers, bases)
def test_steps_go_forward_and_no_two_neighbours_are_alike(inputs: VehicleInputs, basis: str) -> None:
    for one, following in pairwise(timeline(inputs, reference=inputs.references[0], basis=basis).steps):
        assert one.start < following.start
        assert one.level != following.level


def test_a_day_on_which_something_was_only_found_out_is_recorded_as_such() -> None:
    engine = Engine().item("frames", 500, "original").item("cab", 500, "replica")
    engine.assess("cab", "restored", 0.5, on="1990-03-01").treat("frames", "4 May 1990", 0.1)
    engine.assess("frames", "original", on="1985-01-01")
    steps = {
        step.start: step.recorded
        for step in timeline(engine.inputs(), reference=engine.as_built, basis="mass").steps
    }
    assert steps[day("1990-03-01")] is True
    assert steps[day("1990-05-04")] is False


def test_an_assessment_on_the_day_of_a_fitting_is_not_only_recorded() -> None:
    engine = Engine().item("frames", 500, "original").item("cab", 500, "replica", fitted="1 March 1990")
    engine.assess("frames", "restored", 0.5, on="1990-03-01")
    steps = {
        step.start: step.recorded
        for step in timeline(engine.inputs(), reference=engine.as_built, basis="mass").steps
    }
    assert steps[day("1990-03-01")] is False


def test_what_happens_elsewhere_to_a_part_that_was_never_here_is_no_day_of_this_vehicle() -> None:
    engine = Engine().item("frames", 500, "original").item("cab", 500, "replica")
    engine.assess("frames", "restored", 0.5, on="1990-03-01")
    engine.fit("stranger", "sister's cab", "1 March 1990", vehicle="sister")
    steps = timeline(engine.inputs(), reference=engine.as_built, basis="mass").steps
    assert {step.start: step.recorded for step in steps}[day("1990-03-01")] is True


def test_a_part_fitted_nobody_knows_how_early_is_there_at_the_first_step() -> None:
    engine = Engine().item("frames", 500, "original", fitted="before 1907")
    steps = timeline(engine.inputs(), reference=engine.as_built, basis="mass").steps
    assert steps[0].start == day("1894-01-01")
    assert steps[0].level.high == 100


# The work


def grown(positions: int, seed: int = 7) -> Engine:
    """Each position has a row of parts, each part a treatment now and then; dates of every precision."""
    chance, engine = Random(seed), Engine()
    for number in range(positions):
        engine.position(f"q{number}")
        year = 1894
        for turn in range(4):
            part, following = f"p{number}-{turn}", year + chance.randint(5, 25)
            mass = chance.randint(1, 500)
            engine.part(part, (mass * 0.9, mass, mass * 1.1))
            engine.fit(part, f"q{number}", str(year), str(following) if turn < 3 else None)
            best = chance.randint(1, 99) / 100
            engine.assess(
                part, chance.choice(["original", "restored", "replica"]), (best / 2, best, (1 + best) / 2)
            )
            if chance.random() < 0.3:
                engine.treat(part, f"May {chance.randint(1900, 2020)}", (0.1, 0.2, 0.3))
            year = following
    return engine


def lines_run(work: Callable[[], Any]) -> int:
    """How many lines of Python ``work`` runs: the same on every machine, however busy."""
    lines = 0

    def count(_frame: Any, event: str, _argument: Any) -> Any:
        nonlocal lines
        lines += event == "line"
        return count

    before = sys.gettrace()
    sys.settrace(count)
    try:
        work()
    finally:
        sys.settrace(before)
    return lines


@pytest.mark.parametrize("basis", ["mass", "count"])
def test_the_work_grows_as_the_number_of_positions(basis: str) -> None:
    """Four times the positions and dates: four times the work, but for the logarithm of the trees."""
    work = []
    for positions in (40, 160):
        engine = grown(positions)
        inputs, reference = engine.inputs(), engine.as_built
        work.append(lines_run(partial(timeline, inputs, reference=reference, basis=basis)))
    assert work[1] < 4 * 1.25 * work[0]
