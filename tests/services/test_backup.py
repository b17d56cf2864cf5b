"""Backup and restore: everything, at one moment, unaltered, into an empty place."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
WORKED = ROOT / "tests" / "worked_example"


def manage(folder: Path, *arguments: str, check: bool = True, **environment: str) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, on a SQLite database in ``folder``: a restore replaces the file itself."""
    own = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"} | {"REGISTER_DATA": str(folder), "SECRET_KEY": "x" * 60} | environment
    done = subprocess.run([sys.executable, str(ROOT / "manage.py"), *arguments], env=own, capture_output=True, text=True)
    if check:
        assert done.returncode == 0, done.stdout + done.stderr
    return done


@pytest.fixture(scope="module")
def backed_up(tmp_path_factory):
    folder = tmp_path_factory.mktemp("railway")
    manage(folder / "data", "migrate", "-v0")
    manage(folder / "data", "import_register", str(WORKED))
    manage(folder / "data", "add_person", "A. Name", "officer")
    (folder / "data" / "media" / "originals").mkdir(parents=True)
    (folder / "data" / "media" / "originals" / "a-picture").write_bytes(b"picture")
    manage(folder / "data", "backup", str(folder / "backup"))
    return folder


def test_a_restored_register_gives_the_same_export(backed_up, tmp_path):
    manage(tmp_path / "new", "restore", str(backed_up / "backup"))
    for name, data in (("before", backed_up / "data"), ("after", tmp_path / "new")):
        manage(data, "export_register", str(tmp_path / name))
    tables = [path.name for path in (tmp_path / "before").glob("*.csv") if path.name != "export.csv"]
    assert len(tables) > 10
    for name in tables:
        assert (tmp_path / "before" / name).read_bytes() == (tmp_path / "after" / name).read_bytes(), name
    assert (tmp_path / "new" / "media" / "originals" / "a-picture").read_bytes() == b"picture"


def test_a_restored_register_is_the_same_in_every_table_and_every_file(backed_up, tmp_path):
    """Acts, history, seals, accounts and roles too: what the standard library reads of the two is the same."""
    manage(tmp_path / "new", "restore", str(backed_up / "backup"))
    told = []
    for data in (backed_up / "data", tmp_path / "new"):
        with closing(sqlite3.connect(data / "register.sqlite3")) as database:
            told.append(list(database.iterdump()))
    assert told[0] == told[1] and any('INSERT INTO "register_seal"' in line for line in told[0])
    assert "nothing was altered" in manage(tmp_path / "new", "verify_register").stdout


@pytest.mark.django_db(transaction=True)
def test_a_restored_database_of_postgresql_is_the_same_in_every_table(tmp_path):
    from django.db import connection

    from register.services.backup import backup
    from tests.services.issued import issue, plant

    if connection.vendor != "postgresql" or shutil.which("pg_dump") is None:
        pytest.skip("of PostgreSQL, with its client programs")
    plant(tmp_path)
    issue()
    found, name = connection.settings_dict, f"restored_{os.getpid()}"
    site = f"postgres://{found['USER']}:{found['PASSWORD']}@{found['HOST']}:{found['PORT']}"
    manage(tmp_path / "data", "migrate", "--fake", "-v0", DATABASE_URL=f"{site}/{found['NAME']}")  # the tables of tests are made from the models
    try:
        assert backup(tmp_path / "backup")["change_no"] == 1
    finally:
        with connection.cursor() as cursor:
            cursor.execute("DROP TABLE django_migrations")
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE DATABASE {name}")
    try:
        url = f"{site}/{name}"
        manage(tmp_path / "new", "restore", str(tmp_path / "backup"), DATABASE_URL=url)
        assert "1 issued statements: nothing was altered" in manage(tmp_path / "new", "verify_register", "--recompute", DATABASE_URL=url).stdout
        other = connection.copy("default")
        other.settings_dict = {**found, "NAME": name}
        assert rows_of(connection) == rows_of(other)
        other.close()
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"DROP DATABASE {name} WITH (FORCE)")


def rows_of(database):
    """Every row of every table as text; django_migrations aside, which says when a test's own tables were made."""
    told = {}
    for table in sorted(database.introspection.table_names()):
        if table != "django_migrations":
            with database.cursor() as cursor:
                cursor.execute(f'SELECT t::text FROM "{table}" t')
                told[table] = sorted(row[0] for row in cursor.fetchall())
    assert told["register_statement"] and told["register_seal"]
    return told


def test_a_restored_register_keeps_its_triggers(backed_up, tmp_path):
    manage(tmp_path / "new", "restore", str(backed_up / "backup"))
    assert "no issues" in manage(tmp_path / "new", "check", "--database", "default").stdout


def test_restoring_over_a_register_is_refused(backed_up):
    done = manage(backed_up / "data", "restore", str(backed_up / "backup"), check=False)
    assert done.returncode == 1 and "empty place" in done.stderr and "Traceback" not in done.stderr


def test_backing_up_into_a_folder_that_is_not_empty_is_refused(backed_up):
    done = manage(backed_up / "data", "backup", str(backed_up / "backup"), check=False)
    assert done.returncode == 1 and "there already" in done.stderr


@pytest.mark.parametrize("damage", ["flip", "missing", "added", "newer", "no manifest", "manifest is not json", "outside"])
def test_a_damaged_or_newer_backup_is_refused_and_nothing_is_touched(damage, backed_up, tmp_path):
    copy = tmp_path / "copy"
    shutil.copytree(backed_up / "backup", copy)
    database, manifest = copy / "database.sqlite3", copy / "manifest.json"
    if damage == "flip":
        data = bytearray(database.read_bytes())
        data[len(data) // 2] ^= 1
        database.write_bytes(bytes(data))
    elif damage == "missing":
        (copy / "media" / "originals" / "a-picture").unlink()
    elif damage == "added":
        (copy / "media" / "stray").write_text("x")
    elif damage == "no manifest":
        manifest.unlink()
    elif damage == "manifest is not json":
        manifest.write_text("{")
    else:
        told = json.loads(manifest.read_text())
        if damage == "newer":
            told["migrations"].append("register.9999_from_the_future")
        else:
            told["files"]["../../etc/hostname"] = "0" * 64
        manifest.write_text(json.dumps(told))
    done = manage(tmp_path / "new", "restore", str(copy), check=False)
    assert done.returncode == 1 and "Traceback" not in done.stderr and len(done.stderr.strip().splitlines()) == 1, done.stderr
    assert not (tmp_path / "new" / "register.sqlite3").exists() or (tmp_path / "new" / "register.sqlite3").stat().st_size == 0
