"""SQLite makes an empty database of a file that is not there, and a lost register would look like a new one. Here a file
that is not there is an error; ``migrate`` alone makes one."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from django.db.backends.sqlite3 import base


class DatabaseWrapper(base.DatabaseWrapper):
    """Django's own, on a file that has to be there."""

    def get_connection_params(self) -> dict[str, Any]:
        params: dict[str, Any] = super().get_connection_params()
        path = file_of(self.settings_dict["NAME"])
        return params if path is None else params | {"database": f"{path.as_uri()}?mode=rw"}

    def prepare_database(self) -> None:
        """Called by ``migrate`` before it opens the database: no bytes are an empty one."""
        path = file_of(self.settings_dict["NAME"])
        if path is not None and not path.exists():
            os.close(os.open(path, os.O_WRONLY | os.O_CREAT, 0o640))


def file_of(name: object) -> Path | None:
    """The file of a database, None for one in memory."""
    text = str(name)
    return None if text == ":memory:" or text.startswith("file:") else Path(text).absolute()
