"""A conservation statement, marked as a draft."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from register.management.commands._sentences import SayingCommand, day_from
from register.services.photographs import write_aside
from register.services.statements import draft_statement


class Command(SayingCommand):
    help = "Write a conservation statement (draft) of a vehicle as a PDF."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("vehicle_id", metavar="VEHICLE_ID")
        parser.add_argument("--output", type=Path, required=True, metavar="FILE.pdf")
        parser.add_argument("--as-at", metavar="DAY", help="an ISO day; today if left out")
        parser.add_argument(
            "--reference", metavar="LABEL", help="the reference period; the default one if left out"
        )

    def run(
        self, *, vehicle_id: str, output: Path, as_at: str | None, reference: str | None, **_: Any
    ) -> None:
        data = draft_statement(vehicle_id, day=day_from(as_at), reference=reference)
        write_aside(output, data)
        self.stdout.write(f"Wrote a conservation statement (draft): {output}")
