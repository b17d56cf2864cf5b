"""Putting a backup back into an empty place: every file is compared with the manifest first, the pictures and papers come
next, and the database last, so that nothing is served before all of it is there."""

from __future__ import annotations

import os
import shutil
import sqlite3
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.db import DatabaseError, connection

from register.models import Act, User
from register.services.backup import FOLDERS, BackupError, files_in, hash_file, run_postgres, verify_backup
from register.services.data_folder import database_file, is_lost
from register.services.loading import last_change_no
from register.services.photographs import flush, flush_folder
from register.services.trouble import amount, size_of


def restore(folder: Path) -> dict[str, Any]:
    """Put a backup back into an empty place; returns its manifest. Raises BackupError; what is there is left alone."""
    folder = folder.resolve()
    manifest = verify_backup(folder)
    if manifest["engine"] != connection.vendor:
        raise BackupError(
            f"The backup is of a {manifest['engine']} database and DATABASE_URL names a {connection.vendor} one. Restore it into its own kind."
        )
    _refuse_unless_empty()
    needed, free = size_of(folder), shutil.disk_usage(settings.DATA).free
    if free < needed:
        raise BackupError(f"The backup needs {amount(needed)}, and {amount(free)} are free in {settings.DATA}: free the rest.")
    for name in FOLDERS:
        for path in files_in(folder / name) if (folder / name).is_dir() else ():
            _put_back(path, path.relative_to(folder).as_posix(), manifest["files"])
    _load_database(folder / manifest["database"])
    call_command("migrate", interactive=False, verbosity=0)
    if last_change_no() != manifest["change_no"]:
        raise BackupError(
            f"The restored database ends at change {last_change_no()}, the manifest says {manifest['change_no']}."
        )
    return manifest


def _put_back(path: Path, name: str, told: dict[str, str]) -> None:
    """What is there stays, unless it is a picture that was damaged: a checkpoint may have grown since the backup."""
    target = settings.DATA / name
    if target.exists() and (not name.startswith("media/") or hash_file(target) == told[name]):
        return
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_name(f".part-{target.name}")
    shutil.copyfile(path, part)
    flush(part)
    os.replace(part, target)
    flush_folder(target.parent)


def _refuse_unless_empty() -> None:
    if is_lost():
        return
    try:
        tables = connection.introspection.table_names()
        if "register_act" in tables and (Act.objects.exists() or User.objects.exists()):
            raise BackupError(
                "There is a register here already. Restore into an empty place: an empty database, and a new REGISTER_DATA folder."
            )
    except DatabaseError as error:
        raise BackupError(f"The database cannot be read: {error}.") from None


def _load_database(file: Path) -> None:
    if connection.vendor == "sqlite":
        target = database_file()
        if target is None:
            raise BackupError("The database is in memory, and nothing can be restored there: look at DATABASE_URL.")
        target.parent.mkdir(parents=True, exist_ok=True)
        part = target.with_name(f".part-{target.name}")
        shutil.copyfile(file, part)
        with sqlite3.connect(part) as restored:
            answer = restored.execute("PRAGMA quick_check").fetchone()[0]
        restored.close()
        if answer != "ok":
            part.unlink()
            raise BackupError(f"The database in the backup is damaged: {answer}.")
        connection.close()
        for suffix in ("-wal", "-shm", "-journal"):
            target.with_name(target.name + suffix).unlink(missing_ok=True)
        flush(part)
        os.replace(part, target)
        flush_folder(target.parent)
        return
    connection.close()
    run_postgres(
        "pg_restore",
        "--clean",
        "--if-exists",
        "--no-owner",
        "--no-privileges",
        "--single-transaction",
        str(file),
    )
