"""The inputs of every vehicle, cut out of a whole register at once, give the figures that each has by itself."""

from __future__ import annotations

from datetime import date

import pytest
from builders import DEMO, planted, write_folder

from register.fabric.figures import figures_on
from register.models import Vehicle
from register.services.import_register import import_register
from register.services.inputs import inputs_of_all
from register.services.loading import load_register
from register.services.slices import inputs_by_vehicle
from tests.demo_register import plant_demo_register

pytestmark = pytest.mark.django_db


def test_they_are_those_that_pages_read_from_the_database():
    plant_demo_register()
    from_rows, from_database = inputs_by_vehicle(load_register()), inputs_of_all(Vehicle.objects.all())
    assert len(from_rows) == 8 and DEMO.is_dir()
    assert from_rows == from_database


def test_a_part_that_went_to_another_vehicle_is_seen_from_both(tmp_path):
    import_register(write_folder(tmp_path / "planted", planted()))
    found = inputs_by_vehicle(load_register())
    assert "p4" in found["l1"].parts and "p4" in found["l2"].parts
    for key, inputs in found.items():
        answer = figures_on(inputs, day=date(2026, 1, 1).toordinal(), reference=inputs.references[0], bases=("count",))
        assert answer["count"].vehicle == key
