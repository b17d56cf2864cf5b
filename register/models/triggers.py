"""Append-only tables: the database itself refuses to change or delete acts, history rows, issued statements, versions of
policies and what was said in review.

SQLite drops a table's triggers when a migration rebuilds the table, so they are made again after every migration,
and a system check fails when one is missing.
"""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.db import connection, connections, transaction

MESSAGE = (
    "The record of what was done is kept: acts, history, issued statements, policies and what was said of findings are"
    " never changed or deleted."
)
KEPT = {
    "AccountChange",
    "Act",
    "Entry",
    "FindingNote",
    "IssueRequest",
    "ProposalAct",
    "RemovedPicture",
    "ReviewEntry",
    "Seal",
    "SignificanceText",
    "Statement",
    "StatementFile",
    "VehiclePolicy",
}
"""Models whose rows are only ever added, besides every history."""


def append_only_tables() -> list[str]:
    """Database names of the tables that only grow."""
    config = apps.get_app_config("register")
    return sorted(
        model._meta.db_table
        for model in config.get_models()
        if model.__name__.startswith("Historical") or model.__name__ in KEPT
    )


def _sqlite(table: str) -> list[str]:
    return [
        f'CREATE TRIGGER IF NOT EXISTS "keep_{table}_{verb.lower()}" BEFORE {verb} ON "{table}" BEGIN SELECT RAISE(ABORT, \'{MESSAGE}\'); END'
        for verb in ("UPDATE", "DELETE")
    ]


def _postgres(table: str) -> list[str]:
    function = (
        "CREATE OR REPLACE FUNCTION register_keep() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'integrity_constraint_violation'; END $$"
    )
    return [
        function,
        *(
            f'CREATE OR REPLACE TRIGGER "keep_{table}_{verb.lower()}" BEFORE {verb} ON "{table}" '
            f"FOR EACH {'STATEMENT' if verb == 'TRUNCATE' else 'ROW'} EXECUTE FUNCTION register_keep()"
            for verb in ("UPDATE", "DELETE", "TRUNCATE")
        ),
    ]


def make_triggers(using: str = "default", **_: Any) -> None:
    """Make every trigger that is missing. Called after every migration."""
    database = connections[using]
    existing = set(database.introspection.table_names())
    statements = _sqlite if database.vendor == "sqlite" else _postgres
    with transaction.atomic(using), database.cursor() as cursor:
        for table in append_only_tables():
            if table in existing:
                for statement in statements(table):
                    cursor.execute(statement)


def drop_triggers() -> None:
    """For tests that empty the tables, and for putting a backup back."""
    with transaction.atomic(), connection.cursor() as cursor:
        for table in append_only_tables():
            for verb in ("update", "delete", "truncate"):
                on = "" if connection.vendor == "sqlite" else f' ON "{table}"'
                cursor.execute(f'DROP TRIGGER IF EXISTS "keep_{table}_{verb}"{on}')


def missing_triggers() -> list[str]:
    """Tables that could be changed behind our back. One that a migration has still to make cannot be."""
    existing = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        else:
            cursor.execute("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'")
        names = {row[0] for row in cursor.fetchall()}
    # PostgreSQL cuts names at 63 letters
    return [
        table
        for table in append_only_tables()
        if table in existing
        and not {f"keep_{table}_update"[:63], f"keep_{table}_delete"[:63]} <= {name[:63] for name in names}
    ]
