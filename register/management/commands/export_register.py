"""Export the register as a workbook or a folder of CSV files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from register.management.commands._sentences import SayingCommand
from register.services.export_register import export_blank, export_register


class Command(SayingCommand):
    help = "Export the register as a workbook (.xlsx) or a folder of CSV files."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path, help="a name ending in .xlsx, or a folder")
        parser.add_argument("--public", action="store_true", help="only what the public may see")
        parser.add_argument(
            "--blank", action="store_true", help="an empty workbook with lists to choose from"
        )
        parser.add_argument("--overwrite", action="store_true", help="write over what is there")

    def run(self, *, path: Path, public: bool, blank: bool, overwrite: bool, **_: Any) -> None:
        try:
            if blank:
                export_blank(path, overwrite=overwrite)
                self.stdout.write(f"Wrote an empty workbook to {path}.")
                return
            lines = export_register(path, public=public, overwrite=overwrite)
        except ValueError as error:
            self.fail(str(error))
            return
        for line in lines:
            self.stdout.write(line)
        self.stdout.write(f"Wrote {path}.")
