"""Keeping the structure right: breaking down, joining, splitting, moving, merging, striking out.

The law behind most of it is an invariant worked out for this project, not a published one: splitting a part into parts
of equal total mass and the same status leaves the share by mass unchanged, and the share by count may move.
"""

from __future__ import annotations

import pytest
from builders import change, changes_of, tiny
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from random_structures import DAYS, mass_account, numbered, registers

from register.exchange.faults import Refused
from register.exchange.overlay import overlay
from register.services.structure_break import Child, changes_for_break_down

lawful = settings(max_examples=150, deadline=None)


def done(register, changes):
    result = overlay(register, changes)
    assert not result.faults, [str(fault) for fault in result.faults]
    return numbered(result.register)


@lawful
@given(registers(), st.integers(1, 4), st.data())
def test_a_part_broken_down_leaves_every_figure_by_mass_as_it_was(register, number, data):
    best = register.tables["parts"]["p1"]["mass"]
    left, children = best or 0, []
    for at in range(number):
        mass = ""
        if best is not None and data.draw(st.booleans()):
            grams = data.draw(st.integers(0, left))
            left -= grams
            mass = f"{grams / 1000} kg"
        children.append(Child(f"P1-{at + 1}", f"piece {at + 1}", mass))
    try:
        changes = changes_for_break_down(register, part_id="P1", children=children)
    except Refused as refused:
        assert "not certain whether" in str(refused)
        assume(False)
    assert mass_account(done(register, changes), DAYS) == mass_account(register, DAYS)
