"""A statement reads each table once, however large the vehicle, and its figures are of the same rows as everybody's."""

from __future__ import annotations

from datetime import date

import pytest
from benchmarks.generate import register as generated
from builders import change, changes_of, empty_the_register
from django.db import connection
from django.test.utils import CaptureQueriesContext

from register.models import Vehicle
from register.services.change_sets import apply
from register.services.inputs import Labels, inputs_of, inputs_of_all
from register.services.statement_rows import StatementRows
from register.services.statements import statement_content
from tests.demo_register import plant_demo_register

pytestmark = pytest.mark.django_db
DAY = date(2026, 11, 25)
GOAL = 12


def queries_of(vehicle):
    """Of a vehicle whose records nobody has asked for since they were changed."""
    connection.features.supports_json_field  # noqa: B018  (SQLite is asked once a process whether it knows JSON)
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
    plant_demo_register()
    for vehicle in Vehicle.objects.filter(in_fleet=True):
        apply([change("vehicles", vehicle_id=vehicle.code, gauge="standard")], kind="test")
        assert len(queries_of(vehicle.key)) <= GOAL, queries_of(vehicle.key)
