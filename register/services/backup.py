"""Backups: the database by its own safe means, the pictures and papers, and a manifest of SHA-256s.

Pictures are kept under their hashes and never overwritten, so a copy of the database taken first and of the files
after it is one moment's state.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection, transaction
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone

from register.services.data_folder import database_file
from register.services.loading import last_change_no, state
from register.services.photographs import flush, flush_folder
from register.services.trouble import LEAST_ROOM, amount, in_a_sentence, size_of, trouble_of

FORMAT = "fabric register backup, version 1"
MANIFEST = "manifest.json"
FOLDERS = ("media", "statements")
UNFINISHED = ".backup-unfinished-"
"""How the folder of a backup is called while it is written."""


class BackupError(Exception):
    """str() is the sentence."""


def backup(folder: Path, *, at: datetime | None = None) -> dict[str, Any]:
    """Write a backup into ``folder``, which must be new or empty; returns the manifest. Written aside and renamed:
    a folder under its own name is always whole. Raises BackupError."""
    folder = folder.resolve()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BackupError(f"{folder} is there already and not an empty folder; name a new one.")
    if folder.is_relative_to(settings.MEDIA_ROOT):
        raise BackupError("A backup inside the media folder would hold itself; name a folder elsewhere.")
    folder.parent.mkdir(parents=True, exist_ok=True)
    needed = _size()
    if (free := shutil.disk_usage(folder.parent).free) < needed:
        raise BackupError(
            f"The backup needs {amount(needed)}, and {amount(free)} are free at {folder.parent}. Free the rest, or name a "
            "folder on another disk. No backup was written."
        )
    aside = Path(tempfile.mkdtemp(dir=folder.parent, prefix=UNFINISHED))
    try:
        manifest = _write_into(aside, at or timezone.now())
        if folder.exists():
            folder.rmdir()
        os.replace(aside, folder)
        flush_folder(folder.parent)
    except BaseException as error:
        shutil.rmtree(aside, ignore_errors=True)
        trouble = trouble_of(error)
        if trouble is None or isinstance(error, MemoryError):
            raise
        raise BackupError(
            f"The backup was broken off: {error}. {in_a_sentence(trouble, room=amount(needed))} No backup was written."
        ) from error
    return manifest


def unfinished(parent: Path) -> list[Path]:
    """What backups that were broken off have left there; or one that is being written now."""
    return sorted(path for path in parent.glob(f"{UNFINISHED}*") if path.is_dir())


def _size() -> int:
    """About how much a backup holds now."""
    if connection.vendor == "sqlite":
        path = database_file()
        size = path.stat().st_size if path is not None and path.exists() else 0
    else:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_database_size(current_database())")
            size = cursor.fetchone()[0]
    return LEAST_ROOM // 10 + size + sum(size_of(settings.DATA / name) for name in FOLDERS)


def _write_into(aside: Path, at: datetime) -> dict[str, Any]:
    """Statements first, since their checkpoint may not be ahead of the database; pictures last."""
    _copy_folder("statements", aside)
    database, change_no = _dump_database(aside)
    _copy_folder("media", aside)
    manifest = {
        "format": FORMAT,
        "written_at": at.isoformat(timespec="seconds"),
        "engine": connection.vendor,
        "register_id": str(state().register_id),
        "change_no": change_no,
        "migrations": sorted(f"{app}.{name}" for app, name in MigrationLoader(connection).applied_migrations),
        "database": database,
        "files": {path.relative_to(aside).as_posix(): hash_file(path) for path in sorted(files_in(aside))},
    }
    (aside / MANIFEST).write_text(json.dumps(manifest, indent=1))
    for path in aside.rglob("*"):
        flush_folder(path) if path.is_dir() else flush(path)
    flush_folder(aside)
    return manifest


def _copy_folder(name: str, aside: Path) -> None:
    for path in files_in(settings.DATA / name) if (settings.DATA / name).is_dir() else ():
        if not path.name.startswith(".part-"):
            target = aside / path.relative_to(settings.DATA)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, target)


def verify_backup(folder: Path) -> dict[str, Any]:
    """The manifest of a backup whose files are all there and unaltered. Raises BackupError naming the first fault."""
    try:
        manifest: dict[str, Any] = json.loads((folder / MANIFEST).read_text())
    except FileNotFoundError:
        raise BackupError(f"{folder} has no {MANIFEST}: it is not a backup, or not a whole one.") from None
    except (ValueError, OSError) as error:
        raise BackupError(f"The manifest of {folder} cannot be read: {error}.") from None
    if (
        not isinstance(manifest, dict)
        or manifest.get("format") != FORMAT
        or not isinstance(manifest.get("files"), dict)
    ):
        raise BackupError(
            f"{folder} is not a backup that this version reads ({manifest.get('format') if isinstance(manifest, dict) else 'no format'})."
        )
    for name, told in sorted(manifest["files"].items()):
        path = folder / name
        if not path.resolve().is_relative_to(folder.resolve()):
            raise BackupError(f"The manifest names {name}, which lies outside the backup.")
        if not path.is_file():
            raise BackupError(f"{name} is missing from the backup.")
        if hash_file(path) != told:
            raise BackupError(f"{name} is damaged: its SHA-256 is not the one in the manifest.")
    extra = {path.relative_to(folder).as_posix() for path in files_in(folder)} - {*manifest["files"], MANIFEST}
    if extra:
        raise BackupError(f"{min(extra)} is not in the manifest: the backup was added to.")
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
    newer = sorted(set(manifest["migrations"]) - known)
    if newer:
        raise BackupError(
            f"The backup was written by a newer version of the register (it has {newer[0]}); install that version first."
        )
    return manifest


def _dump_database(aside: Path) -> tuple[str, int]:
    """(name of the file, the last change in it): somebody may write meanwhile."""
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        target = sqlite3.connect(aside / "database.sqlite3")
        try:
            connection.connection.backup(target)
            last = target.execute("SELECT coalesce(max(change_no), 0) FROM register_act").fetchone()[0]
        finally:
            target.close()
        return "database.sqlite3", last
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        cursor.execute("SET LOCAL idle_in_transaction_session_timeout = 0")
        cursor.execute("SELECT pg_export_snapshot()")
        snapshot = f"--snapshot={cursor.fetchone()[0]}"
        file = f"--file={aside / 'database.pgdump'}"
        run_postgres("pg_dump", "--format=custom", "--no-owner", "--no-privileges", snapshot, file)
        return "database.pgdump", last_change_no()


def run_postgres(program: str, *arguments: str) -> None:
    found = settings.DATABASES["default"]
    names = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    environment = os.environ | {
        variable: str(found[key]) for variable, key in names.items() if found.get(key)
    }
    name = str(connection.settings_dict["NAME"])
    where = (f"--dbname={name}",)
    try:
        done = subprocess.run(
            [program, *where, *arguments], env=environment, capture_output=True, text=True, check=False
        )
    except FileNotFoundError:
        raise BackupError(
            f"{program} is not installed; it comes with PostgreSQL's client programs."
        ) from None
    if done.returncode:
        raise BackupError(
            f"{program} failed: {done.stderr.strip().splitlines()[-1] if done.stderr.strip() else 'no reason given'}."
        )


def files_in(folder: Path) -> Iterator[Path]:
    return (path for path in folder.rglob("*") if path.is_file())


def hash_file(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
