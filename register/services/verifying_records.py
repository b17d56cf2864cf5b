"""Look through the records for whatever was changed behind the register's back, by a failing disk or by hand: the
database's own structure, and every record against its history."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from django.db import DatabaseError, connection

from register.services.change_sets import quoted
from register.services.tables import MODELS, writer_of

UNREADABLE = (DatabaseError, UnicodeDecodeError, ValueError)


def record_faults() -> Iterator[str]:
    """Everything that is wrong, a sentence each, with the table and the id."""
    yield from structure_faults()
    for name in MODELS:
        yield from guarded(f"The records of {words(name)}", against_history(name))


def guarded(what: str, faults: Iterator[str]) -> Iterator[str]:
    """What cannot be read at all is a fault too, and the next is looked at."""
    try:
        yield from faults
    except UNREADABLE as error:
        yield f"{what} cannot be read from the database: {error}."


def words(name: str) -> str:
    return name.replace("_", " ")


# --- the structure ----------------------------------------------------------------------------------------------------


def structure_faults() -> Iterator[str]:
    """What SQLite finds wrong with its own file. PostgreSQL tells of it in its log, where the cluster has checksums."""
    if connection.vendor != "sqlite":
        return
    try:
        with connection.cursor() as cursor:
            roots = _roots(cursor)
            cursor.execute("PRAGMA integrity_check")
            for (said,) in cursor.fetchall():
                if said != "ok":
                    yield f"The structure of the database is damaged: {_named(said, roots)}."
            cursor.execute("PRAGMA foreign_key_check")
            for table, row, parent, _ in cursor.fetchall():
                yield f"{_of(table)}, row {row} refers to something in {_of(parent)} that is not there."
    except DatabaseError as error:
        yield f"The structure of the database is damaged: {error}."


def _roots(cursor: Any) -> dict[str, str]:
    cursor.execute("SELECT rootpage, tbl_name FROM sqlite_master WHERE rootpage")
    return {str(page): _of(str(table)) for page, table in cursor.fetchall()}


def _named(said: str, roots: dict[str, str]) -> str:
    """What SQLite says of a tree, with the table that it is of."""
    found = re.search(r"Tree (\d+)", said)
    table = roots.get(found[1]) if found else None
    return f"{' '.join(said.split())}{f' ({table})' if table else ''}"


def _of(table: str) -> str:
    known = {model._meta.db_table: words(name) for name, model in MODELS.items()}
    known |= {f"register_historical{model._meta.model_name}": f"history of {words(name)}" for name, model in MODELS.items()}
    return known.get(table, table)


# --- records and their history ----------------------------------------------------------------------------------------


def against_history(name: str) -> Iterator[str]:
    """Every record is what its last act wrote into its history, and nothing that history holds is gone."""
    model = MODELS[name]
    now, past = quoted(model._meta.db_table), quoted(model.history.model._meta.db_table)  # type: ignore[attr-defined]
    # +act_id: found by its key, which has few rows, and not by its act, which may have all of them
    latest = f"NOT EXISTS (SELECT 1 FROM {past} l WHERE l.key = {{0}}.key AND +l.act_id > {{0}}.act_id)"
    same = f"n.key = p.key AND n.act_id = +p.act_id AND p.history_type <> '-' AND {latest.format('n')}"
    yield from _told(
        f"SELECT n.key FROM {now} n LEFT JOIN {past} p ON {same} WHERE p.key IS NULL ORDER BY n.key",
        f"{words(name)}, {{}}: the record is not in its history as it stands.",
    )
    yield from _told(
        f"SELECT DISTINCT p.key FROM {past} p WHERE p.history_type <> '-' AND {latest.format('p')} "
        f"AND NOT EXISTS (SELECT 1 FROM {now} n WHERE n.key = p.key) ORDER BY p.key",
        f"{words(name)}, {{}}: the record is gone, and its history does not say that it was struck out.",
    )
    columns = [column for column in writer_of(name).columns if column not in ("key", "act_id")]
    is_not = "IS NOT" if connection.vendor == "sqlite" else "IS DISTINCT FROM"
    changed = [f"n.{quoted(column)} {is_not} p.{quoted(column)}" for column in columns]
    query = f"SELECT n.key, {', '.join(changed)} FROM {now} n JOIN {past} p ON {same} WHERE {' OR '.join(changed)} ORDER BY n.key"
    for key, *flags in _rows(query):
        which = ", ".join(words(column) for column, flag in zip(columns, flags, strict=True) if flag)
        yield f"{words(name)}, {key}: {which} was changed since it was recorded, in the record or in its history."


def _told(query: str, sentence: str) -> Iterator[str]:
    yield from (sentence.format(key) for (key,) in _rows(query))


def _rows(query: str) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(query)
        return list(cursor.fetchall())
