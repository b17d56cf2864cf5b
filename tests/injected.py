"""Faults put under the register: a disk that is full, a database that is locked, read-only, away or gone, and a process that
is killed. What can be had from the system itself is: the limits of SQLite and of PostgreSQL, and the kill signal."""

from __future__ import annotations

import errno
import os
import signal
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connection, connections


def is_sqlite() -> bool:
    return connection.vendor == "sqlite"


def run(*statements: str) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


# --- the disk ---------------------------------------------------------------------------------------------------------


@contextmanager
def full_database() -> Iterator[None]:
    """The database cannot grow. SQLite: by its own limit of pages, at which it answers as on a full disk (SQLITE_FULL).
    PostgreSQL: every new act is answered with its code for a full disk (53100)."""
    if is_sqlite():
        run("VACUUM")  # no free page is left in the file
        with connection.cursor() as cursor:
            pages = cursor.execute("PRAGMA page_count").fetchone()[0]
            cursor.execute(f"PRAGMA max_page_count = {pages}")
        try:
            yield
        finally:
            run("PRAGMA max_page_count = 1073741823")
        return
    tables = ("register_act", "register_entry")
    run(
        "CREATE OR REPLACE FUNCTION full_disk() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION 'could not extend file: No space left on device' USING ERRCODE = 'disk_full'; END $$",
        *(f"CREATE TRIGGER full_disk BEFORE INSERT ON {table} EXECUTE FUNCTION full_disk()" for table in tables),
    )
    try:
        yield
    finally:
        run(*(f"DROP TRIGGER full_disk ON {table}" for table in tables))


def no_room_for_files(monkeypatch, *, after: int = 0, error: int = errno.ENOSPC) -> None:
    """Writing a file is answered with ``error`` from the one after the first ``after`` on: at its flush, where a file
    system that writes late tells of it."""
    flush, left = os.fsync, [after]

    def fsync(handle: int) -> None:
        if left[0] <= 0:
            raise OSError(error, os.strerror(error))
        left[0] -= 1
        flush(handle)

    monkeypatch.setattr(os, "fsync", fsync)


# --- the database -----------------------------------------------------------------------------------------------------


@contextmanager
def held_by_somebody_else() -> Iterator[None]:
    """Another connection is writing, and ours waits a moment and not twenty seconds."""
    other = connections.create_connection("default")
    try:
        with other.cursor() as cursor:
            if is_sqlite():
                cursor.execute("BEGIN IMMEDIATE")
                run("PRAGMA busy_timeout = 20")
            else:
                cursor.execute("BEGIN")
                cursor.execute("LOCK TABLE register_registerstate, register_act IN EXCLUSIVE MODE")
                run("SET lock_timeout = '20ms'")
            yield
    finally:
        other.close()
        run("PRAGMA busy_timeout = 20000" if is_sqlite() else "SET lock_timeout = '20s'")


@contextmanager
def only_to_be_read() -> Iterator[None]:
    """SQLite answers as it does for a file without leave to write; PostgreSQL as a standby does."""
    on, off = ("PRAGMA query_only = 1", "PRAGMA query_only = 0") if is_sqlite() else ("SET default_transaction_read_only = on", "SET default_transaction_read_only = off")
    run(on)
    try:
        yield
    finally:
        run(off)


@contextmanager
def database_at(path: Path) -> Iterator[None]:
    """SQLite's database is looked for there."""
    name = connection.settings_dict["NAME"]
    connection.close()
    connection.settings_dict["NAME"] = str(path)
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = name


# --- the process ------------------------------------------------------------------------------------------------------


def die() -> None:
    """As ``kill -9``: nothing is cleared up, no ``finally`` runs."""
    os.kill(os.getpid(), signal.SIGKILL)


def in_a_child(work: Callable[[], object], *, kill_after: float | None = None, how: int = signal.SIGKILL) -> int:
    """Do something in a process of its own, with a connection of its own; the signal that ended it, 0 where it ended by
    itself. kill_after: seconds until it is killed from outside, wherever it is then. how: by which signal. An error in it fails the test."""
    connections.close_all()
    child = os.fork()
    if child == 0:
        status = 1
        try:
            work()
            connections.close_all()
            status = 0
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(status)
    if kill_after is not None:
        time.sleep(kill_after)
        os.kill(child, how)
    _, ended = os.waitpid(child, 0)
    if os.WIFSIGNALED(ended):
        return os.WTERMSIG(ended)
    assert os.WEXITSTATUS(ended) == 0, "the child ended with an error"
    return 0
