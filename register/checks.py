"""System checks: what must hold before the site is served."""

from __future__ import annotations

from typing import Any

from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import DatabaseError


@register(Tags.database)
def history_is_append_only(*, databases: Any = None, **_: Any) -> list[CheckMessage]:
    """Every append-only table has its triggers (checked where the database has been migrated). While migrations are still to
    be run it is a warning: an error would keep ``migrate`` from making them."""
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    from register.models.triggers import missing_triggers

    if not databases:
        return []
    try:
        if "register_act" not in connection.introspection.table_names():
            return []
        missing = missing_triggers()
        executor = MigrationExecutor(connection)
        waiting = bool(missing and executor.migration_plan(executor.loader.graph.leaf_nodes()))
    except DatabaseError as error:
        return [Error(f"The database cannot be read: {error}", id="register.E002")]
    kind, hint, number = (
        (Warning, "Run manage.py migrate.", "register.W001")
        if waiting
        else (Error, "Run manage.py migrate --skip-checks, which makes them again.", "register.E001")
    )
    return [
        kind(f"The history table {table} can be changed: its triggers are missing.", hint=hint, id=number)
        for table in missing
    ]


@register(Tags.security)
def hostile_workbooks_are_refused(**_: Any) -> list[CheckMessage]:
    """openpyxl reads hostile XML safely only where defusedxml is installed."""
    import importlib.util

    if importlib.util.find_spec("defusedxml") is None:
        return [Error("defusedxml is not installed: workbooks could not be read safely.", id="register.E003")]
    return []
