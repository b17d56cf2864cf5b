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

from register.models import User
from register.services.import_register import import_register

_rows: list[tuple[type[models.Model], list[dict[str, Any]]]] = []
_files = tempfile.TemporaryDirectory(prefix="demo-pictures-")


def plant_demo_register() -> None:
    """As ``import_register(DEMO)`` into an empty register leaves it, pictures too."""
    if _rows:
        with transaction.atomic():  # what refers to a later row is checked at the end
            for model, rows in _rows:
                model._base_manager.bulk_create([model(**row) for row in rows], batch_size=500)
        if connection.vendor == "postgresql":  # as after an import: else queries are planned as if nothing were there
            with connection.cursor() as cursor:
                for model, _ in _rows:
                    cursor.execute(f'ANALYZE "{model._meta.db_table}"')
        shutil.copytree(_files.name, settings.MEDIA_ROOT, dirs_exist_ok=True)
        return
    import_register(DEMO)
    for model in apps.get_app_config("register").get_models():
        if model is not User:
            _rows.append((model, [_without_number(model, row) for row in model._base_manager.order_by("pk").values()]))
    shutil.copytree(settings.MEDIA_ROOT, _files.name, dirs_exist_ok=True)


def _without_number(model: type[models.Model], row: dict[str, Any]) -> dict[str, Any]:
    """Numbers that the database gives out are given out again, so that its counters are right afterwards."""
    key = model._meta.pk
    return {name: value for name, value in row.items() if not (isinstance(key, models.AutoField) and name == key.attname)}
