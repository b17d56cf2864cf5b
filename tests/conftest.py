"""Fixtures for every test: a private data folder, and append-only tables that can be emptied between tests."""

from __future__ import annotations

import pytest


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix):
    """No power cut is tried here, and a killed process loses nothing that the system was given: SQLite need not wait for
    the disk."""
    from django.db import connection

    if connection.vendor == "sqlite":
        connection.settings_dict["OPTIONS"]["init_command"] += "PRAGMA synchronous=OFF;"


@pytest.fixture(autouse=True)
def private_data_folder(settings, tmp_path_factory):
    """No test writes into a real data folder."""
    folder = tmp_path_factory.mktemp("data")
    settings.DATA = folder
    settings.MEDIA_ROOT = folder / "media"
    settings.STATEMENTS = folder / "statements"
    settings.CHECKPOINT_FILE = ""
    settings.BACKUPS = folder / "backups"
    settings.AXES_ENABLED = False
    settings.JOBS_IN_BACKGROUND = False
    return folder


@pytest.fixture(autouse=True)
def append_only_tables_can_be_emptied(request):
    """Tests that commit empty the tables afterwards, which the triggers rightly refuse; flushing makes them again."""
    marker = request.node.get_closest_marker("django_db")
    commits = bool(marker and marker.kwargs.get("transaction")) or {"transactional_db", "live_server"} & set(request.fixturenames)
    if not commits:
        yield
        return
    request.getfixturevalue("transactional_db")
    yield
    from register.models.triggers import drop_triggers

    drop_triggers()
