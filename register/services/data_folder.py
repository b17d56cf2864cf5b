"""The place where a register is kept: whether its database is there, and whether a new one may be made in its stead."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.db import connection

from register.services.chain import checkpoint_path
from register.sqlite.base import file_of


def database_file() -> Path | None:
    """The file of the database, None where it is none: PostgreSQL's, or one in memory."""
    return file_of(connection.settings_dict["NAME"]) if connection.vendor == "sqlite" else None


def is_lost() -> bool:
    """Whether the database is a file that is not there, or of no bytes."""
    path = database_file()
    return path is not None and (not path.exists() or path.stat().st_size == 0)


def why_no_new_register() -> str:
    """The sentence why ``migrate`` may make no empty database here, "" where it may: a register was here, and its database
    is gone."""
    path = database_file()
    if path is None or str(path) != str(settings.OWN_DATABASE) or not is_lost():
        return ""
    originals = settings.MEDIA_ROOT / "originals"
    left = [
        what
        for what, is_there in (
            (f"pictures ({originals})", originals.is_dir() and any(originals.iterdir())),
            (f"the checkpoint of its statements ({checkpoint_path()})", checkpoint_path().is_file()),
        )
        if is_there
    ]
    if not left:
        return ""
    return (
        f"The database {path} is gone or empty, and a register was kept here: there are {' and '.join(left)}. No new one "
        "was made. Restore the last backup; to begin another register, set REGISTER_DATA to a new folder."
    )
