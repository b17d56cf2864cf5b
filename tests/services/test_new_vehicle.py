"""The first evening: a new vehicle with positions from a short list, or from another vehicle."""

from __future__ import annotations

from datetime import date

import pytest
from builders import change, changes_of, tiny

from register.exchange.faults import Refused
from register.exchange.overlay import overlay
from register.exchange.records import Register
from register.exchange.starter_lists import BASIS, STARTER_LISTS, lists_for
from register.fabric.vocabulary import SAFETY, VEHICLE_KINDS, VISIBILITY
from register.models import Act, Part, Position, Vehicle
from register.services.change_sets import apply
from register.services.new_vehicle import (
    add_positions,
    changes_for_copy,
    changes_for_list,
    changes_for_new_vehicle,
    new_vehicle,
    plan_new_vehicle,
)
from register.services.next_entries import next_entries_of
from register.services.records import strike_out
from register.services.structure import preview
from tests.services.random_structures import laid

NEW = {"vehicle_id": "W31", "name": "Ballast wagon 31", "kind": "wagon", "built": "c. 1905"}
TREE = [
    {"position_id": "L1-FR", "vehicle_id": "L1", "name": "Frames", "visibility": "hidden", "safety": "running gear;lifting", "significance": "exceptional",
     "significance_by": "A. Bell", "significance_reason": "carries the identity"},
    {"position_id": "L1-FR-L", "vehicle_id": "L1", "parent_id": "L1-FR", "name": "Left-hand plate", "visibility": "close inspection", "design_mass": "1600-1700 kg"},
    {"position_id": "l1-tyre", "vehicle_id": "L1", "parent_id": "L1-FR-L", "name": "Tyres", "visibility": "in view", "wear_part": "yes"},
]  # fmt: skip


# --- the short lists ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", VEHICLE_KINDS)
def test_every_kind_of_vehicle_has_a_short_list_of_its_own(kind):
    assert lists_for(kind)


@pytest.mark.parametrize("name", STARTER_LISTS)
def test_a_short_list_is_short_has_assemblies_and_says_what_wears_and_what_is_dangerous(name):
    """What is on the lists is common practice, no source; this holds their form."""
    positions = STARTER_LISTS[name].positions
    assert 15 <= len(positions) <= 40 and STARTER_LISTS[name].basis == BASIS == "common practice, no source"
    above = [one.stem for one in positions if any(other.parent == one.stem for other in positions)]
    assert len(above) >= 3 and all(one.parent in ("", *above) for one in positions)
    assert {one.visibility for one in positions} == set(VISIBILITY)
    assert any(one.wear for one in positions) and not any(one.wear for one in positions if one.stem in above)
    assert {word for one in positions if one.safety for word in one.safety.split(";")} <= set(SAFETY)
    for word in ("brakes", "running gear"):
        assert any(word in one.safety for one in positions)


def test_what_holds_steam_is_marked_so():
    boiler = [one for one in STARTER_LISTS["steam-locomotive"].positions if one.stem in ("BO", "BO-BARREL", "BO-OUTER", "BO-INNER", "BO-TUBES", "BO-FIT", "CM-CYL-L", "CM-CYL-R")]
    assert len(boiler) == 8 and all("pressure" in one.safety for one in boiler)


@pytest.mark.parametrize("name", STARTER_LISTS)
def test_every_short_list_can_be_taken_over_as_it_is(name):
    register = laid(Register(), tiny())
    texts = {**NEW, "kind": STARTER_LISTS[name].kind}
    result = overlay(register, changes_for_new_vehicle(register, vehicle=texts, list_name=name))
    assert not result.faults and len(result.created["positions"]) == len(STARTER_LISTS[name].positions)
    made = [row for row in result.register.tables["positions"].values() if row["vehicle_id"] == "w31"]
    assert not any(row["significance"] or row["design_mass"] for row in made), "nobody has looked at her yet"


# --- another vehicle's positions ----------------------------------------------------------------------------------


def test_a_copied_tree_keeps_its_shape_and_what_is_said_of_the_places_and_leaves_the_parts():
    register = laid(Register(), tiny(positions=TREE))
    result = overlay(register, changes_for_new_vehicle(register, vehicle={**NEW, "vehicle_id": "L9", "kind": "locomotive"}, from_vehicle="l1"))
    assert not result.faults and set(result.created) == {"vehicles", "positions"}
    after = result.register.tables["positions"]
    made = {row["_code"]: row for row in after.values() if row["vehicle_id"] == "l9"}
    assert set(made) == {"L9-FR", "L9-FR-L", "L9-tyre", "L9-Q1", "L9-Q2"}, "an id that did not begin with the vehicle's gets the prefix before it"
    assert (made["L9-FR-L"]["parent_id"], made["L9-tyre"]["parent_id"]) == ("l9-fr", "l9-fr-l")
    same = ("name", "visibility", "wear_part", "safety", "significance", "design_mass_low", "design_mass", "design_mass_high")
    for old, new in (("l1-fr", "L9-FR"), ("l1-fr-l", "L9-FR-L"), ("l1-tyre", "L9-tyre")):
        assert [made[new][column] for column in same] == [after[old][column] for column in same]
    assert made["L9-FR"]["significance_by"] is made["L9-FR"]["significance_reason"] is None, "nobody has judged this vehicle"


def test_two_ids_that_would_become_one_do_not():
    rows = [{"position_id": "L1-X", "vehicle_id": "L1", "name": "a", "visibility": "hidden"}, {"position_id": "X", "vehicle_id": "L1", "name": "b", "visibility": "hidden"}]
    register = laid(Register(), tiny(positions=rows))
    names = {change.values["position_id"]: change.values["name"] for change in changes_for_copy(register, vehicle_id="L9", from_vehicle="L1")}
    assert names["L9-X"] == "a" and names["L9-X-2"] == "b"


# --- refusals -----------------------------------------------------------------------------------------------------

REFUSED = {
    "no name": ({"vehicle": {**NEW, "name": ""}}, "needed and missing"),
    "an id that is taken": ({"vehicle": {**NEW, "vehicle_id": "l1"}}, "has that id already"),
    "a date that is none": ({"vehicle": {**NEW, "built": "1894-97"}}, "1894-97"),
    "a list that is none": ({"list_name": "tramcar"}, "no such list"),
    "a vehicle that is not there": ({"from_vehicle": "L7"}, "no vehicle with that id"),
    "a vehicle without positions": ({"from_vehicle": "L2"}, "no positions to copy"),
    "a list and a vehicle": ({"list_name": "wagon", "from_vehicle": "L1"}, "choose one"),
    "a prefix that is none": ({"list_name": "wagon", "prefix": "W 31"}, "cannot hold a space"),
    "a prefix that is too long": ({"list_name": "wagon", "prefix": "W" * 39}, "shorter"),
    "ids that are taken": ({"list_name": "wagon", "prefix": "L2"}, "another, shorter or unused one"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_a_new_vehicle_that_cannot_be_is_refused_with_a_sentence(what):
    rows = tiny()
    rows["positions"] = [*rows["positions"][:2], {"position_id": "L2-UF", "vehicle_id": "L1", "name": "x", "visibility": "hidden"}]
    register = laid(Register(), rows)
    asked, told = REFUSED[what]
    with pytest.raises(Refused, match=told):
        changes_for_new_vehicle(register, **{"vehicle": NEW, **asked})


# --- in the register ----------------------------------------------------------------------------------------------


@pytest.fixture
def officer(db, django_user_model):
    apply(changes_of(tiny(positions=TREE)), kind="import", whole=True)
    return django_user_model.objects.create(username="officer")


def test_on_the_first_evening_a_vehicle_her_positions_and_what_to_enter_next_are_there(officer):
    act = new_vehicle(vehicle=NEW, list_name="wagon", user=officer)
    assert act.kind == "new vehicle" and Vehicle.objects.get(key="w31").tag
    assert Position.objects.filter(vehicle="w31").count() == len(STARTER_LISTS["wagon"].positions)
    assert Position.objects.get(key="w31-rg-tyre").wear_part and Part.objects.count() == 3
    entries = next_entries_of("w31", day=date(2024, 1, 1))
    assert [entry.kind for entry in entries] == ["fitted", "empty mass", "reference"]
    assert all(entry.sentence.endswith(".") for entry in entries)


def test_a_list_can_be_given_to_a_vehicle_that_is_there_already(officer):
    add_positions(vehicle_id="l2", list_name="tender", prefix="L2T", user=officer)
    assert Position.objects.get(key="l2t-tk").vehicle_id == "l2"
    with pytest.raises(Refused, match="has that id already"):
        add_positions(vehicle_id="L2", list_name="tender", prefix="L2T", user=officer)
    with pytest.raises(Refused, match="Choose a short list"):
        add_positions(vehicle_id="L2", user=officer)


def test_the_preview_says_that_the_list_is_our_own(officer):
    shown = preview(plan_new_vehicle(vehicle=NEW, list_name="wagon"), day=date(2024, 1, 1))
    assert shown.sentences == ("The short list is our own (common practice, no source): strike out and add what she has otherwise.",)
    assert not shown.overlaid.faults and Act.objects.count() == 1


def test_an_id_that_was_struck_out_is_not_used_for_a_copy(officer):
    apply([change("positions", position_id="L9-FR", vehicle_id="L2", name="x", visibility="hidden")], kind="test")
    strike_out("positions", "l9-fr", user=officer, reason="entered twice")
    with pytest.raises(Refused, match="entered twice"):
        new_vehicle(vehicle={**NEW, "vehicle_id": "L9"}, from_vehicle="L1", user=officer)


def test_an_id_in_use_elsewhere_is_refused_rather_than_changed(officer):
    apply([change("positions", position_id="W31-UF", vehicle_id="L2", name="a place of L2", visibility="hidden")], kind="test")
    with pytest.raises(Refused, match="has that id already"):
        new_vehicle(vehicle=NEW, list_name="wagon", user=officer)
    assert Position.objects.get(key="w31-uf").name == "a place of L2" and not Vehicle.objects.filter(key="w31").exists()


def test_the_same_form_posted_twice_makes_one_vehicle(officer):
    assert new_vehicle(vehicle=NEW, list_name="wagon", user=officer, token="t") == new_vehicle(vehicle=NEW, list_name="wagon", user=officer, token="t")


def test_a_list_is_made_for_one_prefix_and_no_vehicle_is_touched_twice():
    register = laid(Register(), tiny())
    changes = changes_for_list(register, vehicle_id="L1", list_name="other", prefix="L1X")
    assert {change.table for change in changes} == {"positions"} and all(change.values["position_id"].startswith("L1X-") for change in changes)
