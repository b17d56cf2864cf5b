"""The demo register in a test's database, quickly: imported once a run, and copied row by row after that.

An import reads, checks and draws every picture, which takes seconds; a test that asks what a page says of the register
does not want to pay for it. Tests of the import itself import.
"""

from __future__ import annotations

import shutil
import tempfile
from typing import Any

from builders import DEMO
from django.apps import apps
from django.conf import settings
from django.db import connection, models, transaction

from register.models import User, VehicleVersion
from register.services.import_register import import_register

_rows: list[tuple[type[models.Model], list[dict[str, Any]]]] = []
_files = tempfile.TemporaryDirectory(prefix="demo-pictures-")


SOME = frozenset({"fr-001", "bo-180"})
"""Parts that tests ask for by name, where a few will do."""


def plant_demo_register() -> None:
    """As ``import_register(DEMO)`` into an empty register leaves it, pictures too."""
    _plant(_rows or _imported())


def plant_some_of_the_demo_register() -> None:
    """Every vehicle, source, place and person of the demo, and of its parts ``SOME`` and one of each vehicle: for tests
    that ask hundreds of pages and look at none."""
    rows = _rows or _imported()
    named = {model.__name__: found for model, found in rows}
    position = {row["key"]: row for row in named["Position"]}
    first = {position[row["position_id"]]["vehicle_id"]: row["part_id"] for row in reversed(named["Installation"])}
    parts, places = {*SOME, *first.values()}, set()
    for row in named["Installation"]:
        place = row["position_id"] if row["part_id"] in parts else None
        while place is not None:
            places.add(place)
            place = position[place]["parent_id"]

    def wanted(model: type[models.Model], row: dict[str, Any]) -> bool:
        name = model.__name__.removeprefix("Historical")
        if name in ("Part", "Position"):
            return row["key"] in (parts if name == "Part" else places)
        of_parts = all(row.get(column) in (None, *parts) for column in ("part_id", "with_part_id"))
        return of_parts and row.get("position_id") in (None, *places)

    _plant([(model, [row for row in found if wanted(model, row)]) for model, found in rows])


def _imported() -> list[tuple[type[models.Model], list[dict[str, Any]]]]:
    """The rows of an import that is then undone."""
    with transaction.atomic():
        import_register(DEMO)
        for model in apps.get_app_config("register").get_models():
            if model not in (User, VehicleVersion):
                rows = model._base_manager.order_by("pk").values()
                _rows.append((model, [_without_number(model, row) for row in rows]))
        transaction.set_rollback(True)
    shutil.copytree(settings.MEDIA_ROOT, _files.name, dirs_exist_ok=True)
    return _rows


def _plant(planted: list[tuple[type[models.Model], list[dict[str, Any]]]]) -> None:
    with transaction.atomic():  # what refers to a later row is checked at the end
        for model, rows in planted:
            model._base_manager.bulk_create([model(**row) for row in rows], batch_size=500)
        VehicleVersion.objects.create(vehicle="")
    if connection.vendor == "postgresql":  # as after an import: else queries are planned as if nothing were there
        with connection.cursor() as cursor:
            for model, _ in planted:
                cursor.execute(f'ANALYZE "{model._meta.db_table}"')
    shutil.copytree(_files.name, settings.MEDIA_ROOT, dirs_exist_ok=True)


def _without_number(model: type[models.Model], row: dict[str, Any]) -> dict[str, Any]:
    """Numbers that the database gives out are given out again, so that its counters are right afterwards."""
    key = model._meta.pk
    return {name: value for name, value in row.items() if not (isinstance(key, models.AutoField) and name == key.attname)}
