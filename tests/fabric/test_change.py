"""What changed between two statements: method, section 12."""

from __future__ import annotations

from fractions import Fraction
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from register.fabric.change import Change, Stated, change, contributions
from register.fabric.figures import figures
from tests.fabric.builders import Engine, day
from tests.fabric.knowledge import settled
from tests.fabric.random_registers import bases, days, dice, register_of

FIRST, SECOND = day("2020-01-01"), day("2024-01-01")


def between(before: Engine, after: Engine) -> Change:
    return change(
        Stated(before.inputs(), FIRST, before.as_built),
        Stated(after.inputs(), SECOND, after.as_built),
        basis="mass",
    )


def engine() -> Engine:
    return Engine().item("frames", 600, "original").item("boiler", 400, "restored", 0.5)


def by_part(found: Change) -> dict[str, tuple[object, object]]:
    return {one.part: (one.work, one.knowledge) for one in found.parts}


def test_nothing_done_and_nothing_learned_is_no_change() -> None:
    found = between(engine(), engine())
    assert (found.total, found.work, found.knowledge, found.parts) == (0, 0, 0, ())


def test_a_repair_between_the_two_days_is_work() -> None:
    found = between(engine(), engine().treat("boiler", "1 May 2022", 0.5))
    assert (found.total, found.work, found.knowledge) == (-10, -10, 0)
    assert by_part(found) == {"boiler": (-10, 0)}


def test_a_fraction_measured_better_is_knowledge() -> None:
    found = between(engine(), engine().assess("boiler", "restored", 0.25, on="2023-01-01"))
    assert (found.total, found.work) == (-10, -30)
    assert found.knowledge == 20  # on the first day nothing dated was lost yet: method, section 4
    found = between(engine(), engine().assess("boiler", "restored", 0.25, on="2019-01-01"))
    assert (found.total, found.work, found.knowledge) == (-10, 0, -10)


def test_work_and_knowledge_at_once_are_told_apart() -> None:
    after = engine().assess("boiler", "restored", 0.25, on="2019-01-01").treat("frames", "2022", 0.5)
    found = between(engine(), after.assess("frames", "original", on="2018-01-01"))
    assert (found.work, found.knowledge, found.total) == (-30, -10, -40)
    assert by_part(found) == {"boiler": (0, -10), "frames": (-30, 0)}


def test_an_old_repair_learned_of_later_is_knowledge() -> None:
    found = between(
        engine(), engine().assess("frames", "original", on="2000-01-01").treat("frames", "2010", 0.5)
    )
    assert (found.work, found.knowledge) == (0, -30)


def test_a_part_exchanged_changes_the_contributions_of_all_by_the_new_total() -> None:
    before = engine()
    after = engine()
    after.installations = [one for one in after.installations if one.part != "boiler"]
    after.fit("boiler", "boiler", "as built", "1 May 2022").part("steel boiler", 600)
    after.fit("steel boiler", "boiler", "1 May 2022").assess("steel boiler", "modern substitute")
    found = between(before, after)
    assert (found.total, found.work, found.knowledge) == (-30, -30, 0)
    assert by_part(found) == {"boiler": (-20, 0), "frames": (-10, 0)}


def test_where_a_figure_is_missing_so_is_every_difference_with_it() -> None:
    unknown = Engine().item("frames", 600)
    known = Engine().item("frames", 600, "original")
    found = between(unknown, known)
    assert (found.total, found.work, found.knowledge) == (None, 0, None)
    assert by_part(found) == {"frames": (0, None)}


def test_the_bounds_of_both_statements_are_kept_beside_the_change() -> None:
    found = between(Engine().item("frames", 600), Engine().item("frames", 600, "original"))
    assert (found.before.whole.low, found.before.whole.high) == (0, 100)
    assert (found.after.whole.low, found.after.whole.high) == (100, 100)


@given(dice, st.tuples(days, days), bases)
def test_work_and_knowledge_add_up_and_parts_add_up_to_each(
    dice: Random, when: tuple[int, int], basis: str
) -> None:
    first = register_of(dice)
    second = settled(first, dice) or first
    reference = first.references[0]
    found = change(Stated(first, min(when), reference), Stated(second, max(when), reference), basis=basis)
    if found.work is not None and found.knowledge is not None:
        assert found.work + found.knowledge == found.total
    for name in ("work", "knowledge"):
        if getattr(found, name) is not None:
            assert sum((getattr(one, name) for one in found.parts), Fraction(0)) == getattr(found, name)


@given(dice, days, bases)
def test_the_contributions_of_the_parts_add_up_to_the_best_figure(
    dice: Random, when: int, basis: str
) -> None:
    inputs = register_of(dice)
    answer = figures(inputs, day=when, reference=inputs.references[0], basis=basis)
    assert sum(contributions(answer).values()) == (answer.whole.best or 0)
