"""What is kept between requests is what would be worked out anew, whatever was changed in between."""

from __future__ import annotations

import random
from datetime import date
from unittest.mock import patch

import pytest
from builders import change, changes_of
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from register.documents.figure_view import figure_view
from register.exchange.faults import Refused
from register.exchange.records import Change
from register.fabric.survey import survey
from register.fabric.timeline import timeline
from register.models import Vehicle, VehicleVersion
from register.services.change_sets import Conflicted, apply
from register.services.findings import check_vehicle, open_count, with_last_note
from register.services.inputs import Labels, inputs_of, inputs_of_all
from register.services.kept import Kept
from register.services.public_page import page_lines, public_vehicle_page
from register.services.tables import MODELS
from register.services.vehicle_page import (
    Question,
    account_of,
    accounts_of,
    fleet_views,
    survey_of,
    timeline_of,
)
from register.services.vehicle_versions import with_version

DAY = date(2026, 11, 25)
ASKED = Question(DAY)
VEHICLES = ("l1", "l2", "l3")
pytestmark = pytest.mark.django_db

FLEET = {
    "vehicles": [
        {"vehicle_id": f"L{n}", "name": name, "kind": "locomotive", "built": built, "empty_mass": "2 t", "published": "yes"}
        for n, name, built in ((1, "Larkspur", "1894"), (2, "Lapwing", "c. 1890"), (3, "Linnet", "1902"))
    ],
    "positions": [
        {"position_id": f"L{n}-{place}", "vehicle_id": f"L{n}", "name": place, "visibility": "in view"}
        for n in (1, 2, 3) for place in ("frame", "boiler")
    ],
    "parts": [{"part_id": f"P{n}", "name": f"part {n}", "mass": f"{n}00 kg"} for n in range(1, 7)],
    "sources": [{"source_id": "S1", "kind": "mark", "title": "stamp"}],
    "places": [{"place_id": "SHED", "name": "Shed"}],
    "installations": [{"position_id": "L1-frame", "part_id": "P1", "fitted": "as built"}, {"position_id": "L2-frame", "part_id": "P2", "fitted": "as built"},
                      {"position_id": "L2-boiler", "part_id": "P3", "fitted": "as built", "removed": "1921"}, {"position_id": "L1-boiler", "part_id": "P3", "fitted": "1922"},
                      {"position_id": "L2-boiler", "part_id": "P4", "fitted": "c. 1921"}, {"position_id": "L3-frame", "part_id": "P5", "fitted": "as built"}],
    "assessments": [{"part_id": f"P{n}", "assessed_on": "2020-05-01", "status": "original", "original_to": f"L{of}"} for n, of in ((1, 1), (2, 2), (3, 2), (5, 3))],
    "citations": [{"part_id": "P3", "source_id": "S1", "supports": "yes"}],
}  # fmt: skip


@pytest.fixture
def fleet():
    apply(changes_of(FLEET), kind="import", whole=True)


def ask_everything():
    """Every kept answer beside the one worked out anew."""
    vehicles = list(with_last_note(with_version(Vehicle.objects.order_by("key"))))
    views = fleet_views(vehicles, DAY)
    for vehicle, view, anew in zip(vehicles, views, accounts_of(vehicles, ASKED), strict=True):
        assert view.answer == anew.chosen == figure_view(anew.chosen, anew.inputs).answer
        assert open_count(vehicle, day=DAY) == check_vehicle(vehicle.key, day=DAY).total
        account, labels = account_of(vehicle.key, ASKED), Labels()
        assert account.inputs == inputs_of_all([vehicle], labels)[vehicle.key]
        assert account.labels == labels and account.figures["mass"] == anew.chosen
        assert survey_of(account) == survey(anew.chosen)
        assert timeline_of(account) == timeline(anew.inputs, reference=anew.reference, basis="mass")
        assert account_of(vehicle.key, ASKED, rivals=True).inputs == inputs_of(vehicle.key)
        read = page_lines(public_vehicle_page(vehicle.key, DAY))
        with patch.object(Kept, "find", return_value=None):
            assert read == page_lines(public_vehicle_page(vehicle.key, DAY))


def any_change(chance: random.Random):
    part, vehicle = f"P{chance.randint(1, 6)}", f"L{chance.randint(1, 3)}"
    place = f"{vehicle}-{chance.choice(['frame', 'boiler'])}"
    year = chance.choice(["1905", "c. 1922", "1931", "between 1903 and 1950"])
    return chance.choice([
        lambda: change("vehicles", vehicle_id=vehicle, built=chance.choice(["1894", "1890", "c. 1900"]), name=chance.choice(["Larkspur", "Wren"])),
        lambda: change("reference_periods", vehicle_id=vehicle, label=chance.choice(["as rebuilt", "as withdrawn"]), date=year),
        lambda: change("positions", position_id=place, visibility=chance.choice(["in view", "hidden"]), design_mass=chance.choice(["", "2 t"])),
        lambda: change("parts", part_id=part, mass=chance.choice(["", "90 kg", "1 t ±5%"]), name=chance.choice(["plate", "casting"]), access=chance.choice(["public", "restricted"])),
        lambda: change("installations", part_id=part, position_id=place, fitted=year, temporary=chance.choice(["yes", "no"])),
        lambda: any_strike(chance),
        lambda: any_removal(chance, year),
        lambda: change("assessments", part_id=part, assessed_on=f"2021-0{chance.randint(1, 9)}-01", status="replica", reason="found", pattern_basis="drawing"),
        lambda: change("treatments", part_id=part, date=year, work="patched", replaced="0.2"),
        lambda: change("citations", part_id=part, source_id="S1", supports=chance.choice(["yes", "no"])),
        lambda: change("sources", source_id="S1", kind=chance.choice(["mark", "testimony"]), date=chance.choice(["", year])),
        lambda: change("events", vehicle_id=vehicle, date=year, kind="overhaul", title=chance.choice(["Overhaul", "Repair"]), part_id=part, access=chance.choice(["public", "restricted"])),
        lambda: change("people", person_id="P", name=chance.choice(["Ann", "Ben"]), role="driver"),
        lambda: change("parts", part_id=part, public_note=chance.choice(["", "Look at the rivets."])),
        lambda: change("movements", part_id=part, moved_on=year, place_id="SHED", due_back="1960"),
    ])()  # fmt: skip


def rows_of(table):
    return list(MODELS[table].objects.order_by("key").values_list("key", flat=True))


def any_strike(chance):
    table = chance.choice(["installations", "citations", "treatments"])
    rows = rows_of(table)
    if not rows:
        return change("vehicles", vehicle_id="L1", name="Lark")
    key = chance.choice(rows)
    return Change(table, {"key": key}, row_id=key, action="strike")


def any_removal(chance, year):
    return change("installations", chance.choice(rows_of("installations")), removed=chance.choice(["", year]))


@pytest.mark.parametrize("seed", range(6))
def test_what_is_kept_is_what_would_be_worked_out_anew_after_any_act(fleet, seed):
    chance, done = random.Random(seed), 0
    ask_everything()
    for _ in range(14):
        try:
            act, _ = apply([any_change(chance)], kind="edit", reason="tried")
        except (Refused, Conflicted):
            continue
        done += act is not None
        ask_everything()
    assert done >= 5


def test_what_an_act_did_that_was_undone_is_not_kept(fleet):
    ask_everything()
    with transaction.atomic():
        apply([change("parts", part_id="P1", mass="1 kg")], kind="edit", reason="wrong")
        ask_everything()
        transaction.set_rollback(True)
    ask_everything()
    apply([change("parts", part_id="P1", mass="7 kg")], kind="edit", reason="right")
    ask_everything()


def test_a_vehicle_that_no_act_concerned_is_not_read_again(fleet):
    for key in VEHICLES:
        account_of(key, ASKED)
    apply([change("parts", part_id="P5", mass="1 kg")], kind="edit", reason="weighed")
    for key, again in (("l1", False), ("l2", False), ("l3", True)):
        with CaptureQueriesContext(connection) as queries:
            account_of(key, ASKED)
        assert (len(queries) > 1) is again, key


def test_vehicles_that_shared_a_part_are_concerned_together(fleet):
    before = dict(VehicleVersion.objects.values_list("vehicle", "version"))
    apply([change("vehicles", vehicle_id="L2", built="1888")], kind="edit", reason="works list")
    after = dict(VehicleVersion.objects.values_list("vehicle", "version"))
    assert {key for key in after if after[key] != before.get(key)} == {"l1", "l2"}


def test_without_a_version_nothing_is_kept(fleet):
    VehicleVersion.objects.all().delete()
    for _ in range(2):
        with CaptureQueriesContext(connection) as queries:
            account_of("l1", ASKED)
        assert len(queries) > 1


def test_what_was_used_last_stays_as_long_as_there_is_room():
    kept: Kept[str] = Kept(room=10)
    kept.keep("a", (1, None), "A", 4)
    kept.keep("b", (1, None), "B", 4)
    assert kept.find("a", (1, None)) == "A" and kept.find("a", (2, None)) is None
    kept.keep("c", (1, None), "C", 4)
    assert [kept.find(one, (1, None)) for one in "abc"] == ["A", None, "C"]
    kept.keep("d", (1, None), "D", 11)
    assert kept.find("d", (1, None)) is None and kept.find("a", (1, None)) == "A"
    kept.keep("a", (2, None), "A2", 9)
    assert [kept.find("a", (2, None)), kept.find("c", (1, None))] == ["A2", None]
