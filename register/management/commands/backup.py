"""Back up everything: database, pictures, papers, and a manifest."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from register.management.commands._sentences import SayingCommand
from register.services.backup import BackupError, backup, unfinished


class Command(SayingCommand):
    help = "Write a backup (database, pictures, papers, manifest with SHA-256) into a new folder."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path)

    def run(self, *, folder: Path, **_: Any) -> None:
        try:
            manifest = backup(folder)
        except BackupError as error:
            self.fail(str(error))
            return
        self.stdout.write(
            f"Backed up to {folder}: change {manifest['change_no']}, {len(manifest['files'])} files. Keep a copy in another building."
        )
        for left in unfinished(folder.resolve().parent):
            self.stdout.write(f"{left} is a backup that was broken off: delete it, unless one is being written now.")
