"""Backup and restore: the database by its own safe means, the pictures and papers, and a manifest of SHA-256s.

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
from django.core.management import call_command
from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader
from django.utils import timezone

from register.models import Act, User
from register.services.loading import last_change_no, state

FORMAT = "fabric register backup, version 1"
MANIFEST = "manifest.json"
FOLDERS = ("media", "statements")


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
    aside = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}-"))
    try:
        database = _dump_database(aside)
        for name in FOLDERS:
            if (settings.DATA / name).is_dir():
                shutil.copytree(settings.DATA / name, aside / name, ignore=shutil.ignore_patterns(".part-*"))
        manifest = {
            "format": FORMAT,
            "written_at": (at or timezone.now()).isoformat(timespec="seconds"),
            "engine": connection.vendor,
            "register_id": str(state().register_id),
            "change_no": last_change_no(),
            "migrations": sorted(
                f"{app}.{name}" for app, name in MigrationLoader(connection).applied_migrations
            ),
            "database": database,
            "files": {path.relative_to(aside).as_posix(): hash_file(path) for path in sorted(_files(aside))},
        }
        _write_flushed(aside / MANIFEST, json.dumps(manifest, indent=1).encode())
        if folder.exists():
            folder.rmdir()
        os.replace(aside, folder)
    except BaseException:
        shutil.rmtree(aside, ignore_errors=True)
        raise
    return manifest


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
    extra = {path.relative_to(folder).as_posix() for path in _files(folder)} - {*manifest["files"], MANIFEST}
    if extra:
        raise BackupError(f"{min(extra)} is not in the manifest: the backup was added to.")
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
    newer = sorted(set(manifest["migrations"]) - known)
    if newer:
        raise BackupError(
            f"The backup was written by a newer version of the register (it has {newer[0]}); install that version first."
        )
    return manifest


def restore(folder: Path) -> dict[str, Any]:
    """Put a backup back into an empty place; returns its manifest. Raises BackupError; what is there is left alone."""
    folder = folder.resolve()
    manifest = verify_backup(folder)
    if manifest["engine"] != connection.vendor:
        raise BackupError(
            f"The backup is of a {manifest['engine']} database and DATABASE_URL names a {connection.vendor} one. Restore it into its own kind."
        )
    _refuse_unless_empty()
    for name in FOLDERS:
        for path in _files(folder / name) if (folder / name).is_dir() else ():
            target = settings.DATA / path.relative_to(folder)
            if not target.exists():
                target.parent.mkdir(parents=True, exist_ok=True)
                part = target.with_name(f".part-{target.name}")
                shutil.copyfile(path, part)
                os.replace(part, target)
    _load_database(folder / manifest["database"])
    call_command("migrate", interactive=False, verbosity=0)
    if last_change_no() != manifest["change_no"]:
        raise BackupError(
            f"The restored database ends at change {last_change_no()}, the manifest says {manifest['change_no']}."
        )
    return manifest


def _refuse_unless_empty() -> None:
    try:
        tables = connection.introspection.table_names()
        if "register_act" in tables and (Act.objects.exists() or User.objects.exists()):
            raise BackupError(
                "There is a register here already. Restore into an empty place: an empty database, and a new REGISTER_DATA folder."
            )
    except DatabaseError as error:
        raise BackupError(f"The database cannot be read: {error}.") from None


def _dump_database(aside: Path) -> str:
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        with sqlite3.connect(aside / "database.sqlite3") as target:
            connection.connection.backup(target)
        target.close()
        return "database.sqlite3"
    _run_postgres(
        "pg_dump", "--format=custom", "--no-owner", "--no-privileges", f"--file={aside / 'database.pgdump'}"
    )
    return "database.pgdump"


def _load_database(file: Path) -> None:
    if connection.vendor == "sqlite":
        target = Path(settings.DATABASES["default"]["NAME"])
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
        os.replace(part, target)
        return
    connection.close()
    _run_postgres(
        "pg_restore",
        "--clean",
        "--if-exists",
        "--no-owner",
        "--no-privileges",
        "--single-transaction",
        str(file),
    )


def _run_postgres(program: str, *arguments: str) -> None:
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


def _files(folder: Path) -> Iterator[Path]:
    return (path for path in folder.rglob("*") if path.is_file())


def hash_file(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _write_flushed(path: Path, data: bytes) -> None:
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
