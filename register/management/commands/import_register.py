"""Import a register from a workbook or a folder of CSV files: whole or nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from register.management.commands._sentences import SayingCommand
from register.services.import_register import import_register
from register.services.trouble import size_of


class Command(SayingCommand):
    help = "Import a register from a workbook (.xlsx) or a folder of CSV files: whole or nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path, help="a workbook, or a folder with one CSV file a table")
        parser.add_argument("--dry-run", action="store_true", help="say what would happen, change nothing")
        parser.add_argument(
            "--keep", choices=["file", "register"], default="", help="which side wins where both changed"
        )

    def sends(self, *, path: Path, **_: Any) -> int:
        return size_of(path)

    def run(self, *, path: Path, dry_run: bool, keep: str, **_: Any) -> None:
        report = import_register(path, dry_run=dry_run, keep=keep)
        for line in report.lines():
            self.stdout.write(line)
        if dry_run:
            self.stdout.write("Dry run: nothing was changed.")
        elif report.act is None:
            self.stdout.write("Nothing to change: the register holds all of it already.")
        else:
            self.stdout.write(f"Imported as change {report.act.change_no}.")
