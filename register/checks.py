"""System checks: what must hold before the site is served."""

from __future__ import annotations

from typing import Any

from django.core.checks import CheckMessage, Error, Tags, register
from django.db import DatabaseError


@register(Tags.database)
def history_is_append_only(*, databases: Any = None, **_: Any) -> list[CheckMessage]:
    """Every append-only table has its triggers (checked where the database has been migrated)."""
    from django.db import connection

    from register.models.triggers import missing_triggers

    if not databases:
        return []
    try:
        if "register_act" not in connection.introspection.table_names():
            return []
        missing = missing_triggers()
    except DatabaseError as error:
        return [Error(f"The database cannot be read: {error}", id="register.E002")]
    return [
        Error(
            f"The history table {table} can be changed: its triggers are missing.",
            hint="Run manage.py migrate.",
            id="register.E001",
        )
        for table in missing
    ]


@register(Tags.security)
def hostile_workbooks_are_refused(**_: Any) -> list[CheckMessage]:
    """openpyxl reads hostile XML safely only where defusedxml is installed."""
    import importlib.util

    if importlib.util.find_spec("defusedxml") is None:
        return [Error("defusedxml is not installed: workbooks could not be read safely.", id="register.E003")]
    return []
