"""A statement reads each table once, however large the vehicle, and its figures are of the same rows as everybody's."""

from __future__ import annotations

import random
from datetime import date

import pytest
from benchmarks.generate import register as generated
from builders import change, changes_of, empty_the_register
from django.conf import settings
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.exchange.faults import Refused
from register.fabric.figures import figures_on
from register.models import Alternative, Proposal, User, Vehicle
from register.services.change_sets import apply
from register.services.demo_cases import load_cases
from register.services.inputs import Labels, inputs_from, inputs_of, inputs_of_all
from register.services.proposal_effect import laid_over
from register.services.proposal_steps import register_for
from register.services.records import strike_out
from register.services.statement_register import register_for_effects
from register.services.statement_rows import StatementRows
from register.services.statements import statement_content
from tests.demo_register import plant_demo_register

pytestmark = pytest.mark.django_db
DAY = date(2026, 11, 25)
GOAL = 12


def queries_of(vehicle):
    """Of a vehicle whose records nobody has asked for since they were changed."""
    with CaptureQueriesContext(connection) as found:
        statement_content(vehicle, day=DAY)
    return [one["sql"] for one in found.captured_queries]


def test_the_inputs_of_a_statement_are_those_of_every_page():
    """Parts that travelled, stand-ins and who was there first elsewhere too: every vehicle of the demo."""
    plant_demo_register()
    for vehicle in Vehicle.objects.all():
        inputs, labels = StatementRows(vehicle.key).inputs(vehicle)
        assert inputs == inputs_of(vehicle.key), vehicle
        other = Labels()
        inputs_of_all([vehicle], other)
        assert (labels.positions, labels.parts) == (other.positions, other.parts), vehicle
        assert sorted(labels.periods) == sorted(other.periods), vehicle


def test_the_same_twelve_queries_at_any_size():
    counts = []
    for positions in (250, 1000):
        empty_the_register()
        apply(changes_of(generated(positions)), kind="import", whole=True)
        counts.append(len(queries_of("v0")))
    assert counts[0] == counts[1] <= GOAL, queries_of("v0")


def test_the_demo_s_vehicles_take_no_more():
    """Nor does the locomotive with a proposal open take more than five for its overlay, and one for its alternatives."""
    plant_demo_register()
    for vehicle in Vehicle.objects.filter(in_fleet=True):
        apply([change("vehicles", vehicle_id=vehicle.code, gauge="standard")], kind="test")
        assert len(queries_of(vehicle.key)) <= GOAL, queries_of(vehicle.key)
    users = [User.objects.create(username=name) for name in ("author", "officer")]
    load_cases(settings.FIXTURES / "demo_cases.json", author=users[0], officer=users[1])
    assert Proposal.objects.filter(vehicle="har", state="submitted").exists()
    assert len(queries_of("har")) <= GOAL + 6, queries_of("har")


def test_what_was_read_is_laid_over_as_the_whole_register_would_be():
    """The effect of the demo's open proposal, and of steps that treat, take out, fit again and fit anew in every vehicle."""
    plant_demo_register()
    for vehicle in Vehicle.objects.filter(in_fleet=True):
        rows, inputs = StatementRows(vehicle.key), inputs_of(vehicle.key)
        there = [one for one in inputs.installations if one.removed is None and one.vehicle == vehicle.key and not one.temporary]
        for number, one in enumerate(random.Random(vehicle.key).sample(there, 2)):
            part, position = rows.parts[one.part].code, rows.positions[one.position].code
            treat = {"do": "treat", "part_id": part, "work": "welded", "replaced": "0.2"}
            out = {"do": "take out", "part_id": part, "place_id": "STORE"}
            anew = {"do": "fit", "position_id": position, "part_id": f"NEW-{number}", "name": "new", "mass": "7 kg", "status": "replica"}
            again = {"do": "fit", "position_id": position, "part_id": part}
            for steps in ([treat], [out], [out, anew], [anew], [again], [out | {"place_id": "NOWHERE"}], [out | {"disposal": "scrapped"}]):
                found = [told_of(register, vehicle.key, steps) for register in (register_for_effects(rows, steps), register_for(vehicle.key, steps))]
                assert found[0] == found[1], steps


def told_of(register, vehicle, steps):
    """The figures that the steps would leave, or the sentences that refuse them."""
    way = Alternative(letter="A", steps=steps)
    try:
        left = laid_over(register, Proposal(number=1, answers={}), way, DAY)
    except Refused as refused:
        return [fault.message for fault in refused.faults]
    inputs = inputs_from(left, vehicle)
    return figures_on(inputs, day=DAY.toordinal(), reference=inputs.references[0])


def test_steps_that_name_what_is_elsewhere_or_was_struck_out_are_laid_over_the_whole_register():
    plant_demo_register()
    rows = StatementRows("har")
    apply([change("parts", part_id="SPARE", name="a spare")], kind="test")
    strike_out("parts", "spare", user=None, reason="never there")
    position = rows.positions["har-cm-cyl-r"].code
    for part in ("N1-001", "SPARE"):
        steps = [{"do": "fit", "position_id": position, "part_id": part, "name": "x", "mass": "7 kg"}]
        found = [told_of(register, "har", steps) for register in (register_for_effects(rows, steps), register_for("har", steps))]
        assert found[0] == found[1]
    assert "struck out" in found[0][0]
