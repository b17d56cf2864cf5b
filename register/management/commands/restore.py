"""Put a backup back into an empty place."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from register.management.commands._sentences import SayingCommand
from register.services.backup import BackupError
from register.services.restoring import restore


class Command(SayingCommand):
    help = "Put a backup back into an empty place (an empty database, a new REGISTER_DATA folder)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path)

    def run(self, *, folder: Path, **_: Any) -> None:
        try:
            manifest = restore(folder)
        except BackupError as error:
            self.fail(str(error))
            return
        self.stdout.write(
            f"Restored {folder}, written {manifest['written_at']}: change {manifest['change_no']}, {len(manifest['files'])} files checked."
        )
