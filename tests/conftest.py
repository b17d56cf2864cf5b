"""Fixtures for every test: a private data folder, and append-only tables that can be emptied between tests."""

from __future__ import annotations

import pytest


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
