"""Moving, exchanging, replacing and taking away: by installations and movements, refused by the rules of the register."""

from __future__ import annotations

from datetime import date

import pytest
from builders import change, changes_of, tiny

from register.exchange.faults import Refused
from register.exchange.overlay import overlay
from register.exchange.records import Register
from register.fabric.dates import span_of
from register.fabric.figures import figures_on
from register.models import Act, Installation, Movement, Part
from register.services.change_sets import apply
from register.services.inputs import inputs_from, inputs_of
from register.services.structure import preview
from register.services.structure_break import Child, changes_for_break_down
from register.services.structure_moves import (
    changes_for_exchange,
    changes_for_move,
    changes_for_taking,
    exchange,
    move,
    plan_exchange,
    take_to,
)
from register.services.structure_replace import changes_for_replacement, replace
from tests.services.random_structures import laid, numbered

STORE = [{"place_id": "STORE", "name": "store"}, {"place_id": "SHED", "name": "shed"}]


def wheels(**more):
    """Two engines, a pair of wheels under each; on the first, an axle with two tyres on it."""
    rows = tiny(
        places=[dict(row) for row in STORE],
        positions=[{"position_id": "L1-W", "vehicle_id": "L1", "name": "Trailing wheels", "visibility": "in view", "safety": "running gear", "significance": "some"},
                   {"position_id": "L1-W-AX", "vehicle_id": "L1", "parent_id": "L1-W", "name": "Axle", "visibility": "hidden"},
                   {"position_id": "L1-W-AX-TY", "vehicle_id": "L1", "parent_id": "L1-W-AX", "name": "Tyres", "visibility": "in view", "wear_part": "yes", "design_mass": "400 kg"},
                   {"position_id": "L2-W", "vehicle_id": "L2", "name": "Trailing wheels", "visibility": "in view"},
                   {"position_id": "L2-A", "vehicle_id": "L2", "parent_id": "L2-W", "name": "AXLE", "visibility": "hidden"}],
        parts=[{"part_id": "W1", "name": "wheels of L1", "mass": "0 kg"}, {"part_id": "A1", "name": "axle of L1", "mass": "300 kg"}, {"part_id": "T1", "name": "tyres of L1", "quantity": "2"},
               {"part_id": "W2", "name": "wheels of L2", "mass": "0 kg"}, {"part_id": "A2", "name": "axle of L2", "mass": "310 kg"}],
        installations=[{"position_id": "L1-W", "part_id": "W1", "fitted": "as built"}, {"position_id": "L1-W-AX", "part_id": "A1", "fitted": "as built"},
                       {"position_id": "L1-W-AX-TY", "part_id": "T1", "fitted": "1925"}, {"position_id": "L2-W", "part_id": "W2", "fitted": "as built"},
                       {"position_id": "L2-A", "part_id": "A2", "fitted": "as built"}],
        assessments=[{"part_id": "A1", "assessed_on": "2020-05-01", "status": "original"}, {"part_id": "A2", "assessed_on": "2020-05-01", "status": "original"}],
    )  # fmt: skip
    for name, extra in more.items():
        rows.setdefault(name, []).extend(extra)
    return rows


@pytest.fixture
def shed():
    return laid(Register(), wheels())


def done(register, changes):
    result = overlay(register, changes)
    assert not result.faults, [str(fault) for fault in result.faults]
    return numbered(result.register)


def there_on(register, day):
    """position: part, of every position that is certainly filled on the day."""
    found = {}
    for row in register.tables["installations"].values():
        begins = row["fitted"].edtf
        start = 0 if begins == "as built" else span_of(begins).latest
        end = span_of(row["removed"].edtf).earliest if row["removed"] else 10**7
        if start <= day.toordinal() < end:
            found[row["position_id"]] = row["part_id"]
    return found


def test_a_part_moved_leaves_one_place_and_is_in_the_other_on_that_day(shed):
    after = done(shed, changes_for_move(shed, part_id="P2", position_id="G1", on="3 March 1937"))
    assert there_on(after, date(1937, 3, 2))["q2"] == "p2" and "g1" not in there_on(after, date(1937, 3, 2))
    assert there_on(after, date(1937, 3, 3))["g1"] == "p2" and "q2" not in there_on(after, date(1937, 3, 3))


def test_a_part_that_is_nowhere_is_simply_fitted(shed):
    after = done(shed, changes_for_move(shed, part_id="P3", position_id="G1", on="March 1937"))
    assert there_on(after, date(1937, 4, 1))["g1"] == "p3"


def test_two_parts_exchanged_take_what_is_on_them_along_to_places_of_the_same_names(shed):
    after = done(shed, changes_for_exchange(shed, part_id="W1", other_id="W2", on="1937-03-10"))
    assert there_on(after, date(1937, 3, 9)).items() >= {"l1-w": "w1", "l1-w-ax": "a1", "l1-w-ax-ty": "t1", "l2-w": "w2", "l2-a": "a2"}.items()
    assert there_on(after, date(1937, 3, 10)).items() >= {"l1-w": "w2", "l1-w-ax": "a2", "l2-w": "w1", "l2-a": "a1", "l2-a-ty": "t1"}.items()
    made = after.tables["positions"]["l2-a-ty"]
    assert (made["parent_id"], made["vehicle_id"], made["wear_part"], made["design_mass"]) == ("l2-a", "l2", True, 400_000)


def test_a_place_made_for_what_comes_along_copies_no_judgement(shed):
    more = done(shed, [change("positions", position_id="L1-W-AX", significance="exceptional", significance_by="A. Bell", significance_reason="the oldest")])
    more = done(more, [change("positions", position_id="G2", vehicle_id="L2", name="Spare wheels", visibility="hidden")])
    after = done(more, changes_for_move(more, part_id="W1", position_id="G2", on="1937"))
    made = after.tables["positions"]["g2-ax"]
    assert made["significance"] is made["significance_by"] is made["significance_reason"] is None and made["name"] == "Axle"
    assert "g2-ax-ty" in after.tables["positions"]


def test_exchanged_wheels_are_historic_from_elsewhere_under_the_other_engine(shed):
    after = done(shed, changes_for_exchange(shed, part_id="W1", other_id="W2", on="1937-03-10"))
    inputs = inputs_from(after, "l2")
    row = next(row for row in figures_on(inputs, day=date(1950, 1, 1).toordinal(), reference=inputs.references[0], bases=("mass",))["mass"].rows if row.part == "a1")
    assert row.category == "historic_from_elsewhere"


def test_what_is_on_a_part_can_stay_behind(shed):
    after = done(shed, changes_for_exchange(shed, part_id="W1", other_id="W2", on="1937-03-10", with_everything=False))
    assert there_on(after, date(1940, 1, 1)).items() >= {"l1-w": "w2", "l1-w-ax": "a1", "l2-a": "a2"}.items()


def test_a_part_broken_down_moves_with_its_pieces(shed):
    broken = done(shed, changes_for_break_down(shed, part_id="P2", children=[Child("P2-1", "shell"), Child("P2-2", "seat")]))
    after = done(broken, changes_for_move(broken, part_id="P2", position_id="G1", on="1937-03-10"))
    inputs = inputs_from(after, "l2")
    weight = figures_on(inputs, day=date(1950, 1, 1).toordinal(), reference=inputs.references[0], bases=("mass",))["mass"].whole.weight
    assert weight == 40 + 310, "the dome's 40 kg, and the axle"


REFUSED = {
    "into a place that is taken": (changes_for_move, {"part_id": "P3", "position_id": "Q1", "on": "1937"}, "two parts are certainly in this position"),
    "before it was fitted": (changes_for_move, {"part_id": "P2", "position_id": "G1", "on": "1893"}, "is before fitted"),
    "to where it is": (changes_for_move, {"part_id": "P2", "position_id": "q2", "on": "1937"}, "there already"),
    "onto itself": (changes_for_move, {"part_id": "W1", "position_id": "L1-W-AX-TY", "on": "1937"}, "on W1 itself"),
    "with what is on it": (changes_for_exchange, {"part_id": "W1", "other_id": "A1", "on": "1937"}, "on W1 itself"),
    "with itself": (changes_for_exchange, {"part_id": "W1", "other_id": "w1", "on": "1937"}, "for another one"),
    "with what is nowhere": (changes_for_exchange, {"part_id": "W1", "other_id": "P3", "on": "1937"}, "in no position now"),
    "on no day": (changes_for_move, {"part_id": "P2", "position_id": "G1", "on": ""}, "say when"),
    "on an impossible day": (changes_for_move, {"part_id": "P2", "position_id": "G1", "on": "30 February 1937"}, "30 February"),
    "as built": (changes_for_move, {"part_id": "P2", "position_id": "G1", "on": "as built"}, "cannot be said here"),
    "to a position that is not there": (changes_for_move, {"part_id": "P2", "position_id": "G7", "on": "1937"}, "no position with that id"),
    "a part that is not there": (changes_for_move, {"part_id": "P77", "position_id": "G1", "on": "1937"}, "no part with that id"),
    "to a place and a part": (changes_for_taking, {"part_id": "P2", "place_id": "STORE", "with_part": "P1", "on": "1937"}, "say where it goes"),
    "to a place that is not there": (changes_for_taking, {"part_id": "P2", "place_id": "ATTIC", "on": "1937"}, "no place with that id"),
    "out of nothing": (changes_for_taking, {"part_id": "P3", "place_id": "STORE", "on": "1937", "comes_out": True}, "in no position"),
    "to lie with itself": (changes_for_taking, {"part_id": "P2", "with_part": "P2", "on": "1937"}, "cycle"),
    "by itself": (changes_for_replacement, {"part_id": "P2", "by": "P2", "on": "1937"}, "by another one"),
    "by two things": (changes_for_replacement, {"part_id": "P2", "by": "P3", "new": {"part_id": "N", "name": "n"}, "on": "1937"}, "what takes its place"),
    "by a new part with an old id": (changes_for_replacement, {"part_id": "P2", "new": {"part_id": "P3", "name": "n"}, "on": "1937"}, "has that id already"),
    "by a new part without a name": (changes_for_replacement, {"part_id": "P2", "new": {"part_id": "N"}, "on": "1937"}, "needed and missing"),
    "to an unknown end": (changes_for_replacement, {"part_id": "P2", "by": "P3", "on": "1937", "disposal": "eaten"}, "scrapped"),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED)
def test_a_move_that_cannot_be_is_refused_with_a_sentence(what, shed):
    work, asked, told = REFUSED[what]
    try:
        faults = overlay(shed, work(shed, **asked)).faults
    except Refused as refused:
        faults = refused.faults
    assert any(told.casefold() in str(fault).casefold() for fault in faults), [str(fault) for fault in faults]


def test_a_part_with_two_open_stays_is_not_moved_by_guess(shed):
    doubtful = laid(Register(), wheels(installations=[{"position_id": "G1", "part_id": "P3", "fitted": "after 1900"}, {"position_id": "Q2", "part_id": "P3", "fitted": "after 1900"}]))
    with pytest.raises(Refused, match="in several positions"):
        changes_for_move(doubtful, part_id="P3", position_id="L2-W", on="1937")


def test_a_part_taken_to_the_store_is_still_its_positions_and_what_is_on_it_lies_with_it(shed):
    after = done(shed, changes_for_taking(shed, part_id="W1", place_id="STORE", on="3 May 2026", due_back="2027", why="overhaul"))
    assert there_on(after, date(2026, 6, 1))["l1-w"] == "w1"
    lies = {row["part_id"]: (row["place_id"], row["with_part"]) for row in after.tables["movements"].values()}
    assert lies == {"w1": ("store", None), "a1": (None, "w1"), "t1": (None, "w1")}


def test_a_part_that_comes_out_for_good_leaves_its_position_with_what_is_on_it(shed):
    after = done(shed, changes_for_taking(shed, part_id="W1", place_id="STORE", on="3 May 2026", comes_out=True))
    assert not {"l1-w", "l1-w-ax", "l1-w-ax-ty"} & there_on(after, date(2026, 6, 1)).keys()


def test_a_part_replaced_by_a_new_one_is_scrapped_on_the_day(shed):
    new = {"part_id": "N1", "name": "new dome", "mass": "45 kg", "date_mark": "R 2026 inside"}
    after = done(shed, changes_for_replacement(shed, part_id="P2", new=new, on="3 May 2026", disposal="scrapped", why="cracked"))
    assert there_on(after, date(2026, 6, 1))["q2"] == "n1"
    old = after.tables["parts"]["p2"]
    assert (old["disposal"], old["disposal_date"].edtf) == ("scrapped", "2026-05-03")
    assert {row["reason"] for row in after.tables["installations"].values() if row["position_id"] == "q2"} == {"cracked"}


def test_a_part_replaced_by_one_from_another_engine_goes_to_the_store_with_what_was_on_it(shed):
    after = done(shed, changes_for_replacement(shed, part_id="W1", by="W2", on="1937-03-10", place_id="STORE"))
    assert there_on(after, date(1940, 1, 1)).items() >= {"l1-w": "w2", "l1-w-ax": "a2"}.items()
    assert "l2-w" not in there_on(after, date(1940, 1, 1)) and "l1-w-ax-ty" not in there_on(after, date(1940, 1, 1))
    lies = {row["part_id"]: (row["place_id"], row["with_part"]) for row in after.tables["movements"].values()}
    assert lies == {"w1": ("store", None), "a1": (None, "w1"), "t1": (None, "w1")}


def test_the_reason_for_which_a_part_was_fitted_is_kept_when_it_comes_out(shed):
    first = done(shed, changes_for_move(shed, part_id="P3", position_id="G1", on="1937", why="lent"))
    after = done(first, changes_for_taking(first, part_id="P3", place_id="STORE", on="1950", comes_out=True, why="given back"))
    assert next(row["reason"] for row in after.tables["installations"].values() if row["position_id"] == "g1") == "lent"


# --- in the register ----------------------------------------------------------------------------------------------


@pytest.fixture
def officer(db, django_user_model):
    apply(changes_of(wheels()), kind="import", whole=True)
    return django_user_model.objects.create(username="officer")


def test_an_exchange_in_the_register_is_what_its_preview_showed(officer):
    shown = preview(plan_exchange(part_id="w1", other_id="w2", on="1937-03-10"), day=date(2024, 1, 1))
    assert {effect.vehicle for effect in shown.effects} == {"L1", "L2"}
    exchange(part_id="w1", other_id="w2", on="1937-03-10", user=officer, reason="shed ledger")
    for key in ("l1", "l2"):
        assert inputs_of(key) == inputs_from(shown.overlaid.register, key)
    act = Act.objects.first()
    assert (act.kind, act.reason, act.user) == ("exchange two parts", "shed ledger", officer)


def test_a_refused_exchange_changes_nothing(officer):
    with pytest.raises(Refused):
        exchange(part_id="w1", other_id="w2", on="1893", user=officer)
    assert Installation.objects.filter(removed="").count() == Installation.objects.count() and Act.objects.count() == 1


def test_moved_taken_and_replaced_in_the_register(officer):
    move(part_id="P2", position_id="G1", on="1937", user=officer)
    take_to(part_id="P2", place_id="STORE", on="1940", user=officer)
    replace(part_id="P1", new={"part_id": "N1", "name": "new chimney"}, on="1950", place_id="SHED", user=officer, token="t")
    replace(part_id="P1", new={"part_id": "N1", "name": "new chimney"}, on="1950", place_id="SHED", user=officer, token="t")
    assert Installation.objects.get(part="p2", position="g1").fitted == "1937"
    assert set(Movement.objects.values_list("part", "place")) == {("p2", "store"), ("p1", "shed")}
    assert Part.objects.get(key="n1").tag and Act.objects.count() == 4
