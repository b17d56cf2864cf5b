"""A schedule of figures, as a workbook or as a PDF."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from register.exchange.faults import Refused
from register.fabric.dates import read_day
from register.fabric.inputs import BASES
from register.management.commands._sentences import SayingCommand, day_from
from register.services.photographs import write_aside
from register.services.schedule import Asked, schedule_of
from register.services.schedule_files import paper_of, workbook_of


class Command(SayingCommand):
    help = "Write a schedule of figures of one or several vehicles as a workbook (.xlsx) or a PDF."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("vehicle_ids", metavar="VEHICLE_ID", nargs="+")
        parser.add_argument("--output", type=Path, required=True, metavar="FILE", help="ends in .xlsx or .pdf")
        parser.add_argument("--as-at", metavar="DAY", help="of the figures before, an ISO day; today if left out")
        parser.add_argument(
            "--reference", metavar="LABEL", help="the reference period; each vehicle's default if left out"
        )
        parser.add_argument("--basis", choices=BASES, default="mass", help="of the headline")
        parser.add_argument(
            "--proposal", action="append", default=[], metavar="P-014", help="works proposed; may be said several times"
        )
        parser.add_argument(
            "--completed", metavar="DAY", help="of the figures after completion; by the proposals if left out"
        )

    def run(
        self,
        *,
        vehicle_ids: list[str],
        output: Path,
        as_at: str | None,
        reference: str | None,
        basis: str,
        proposal: list[str],
        completed: str | None,
        **_: Any,
    ) -> None:
        writers = {".xlsx": workbook_of, ".pdf": paper_of}
        write = writers.get(output.suffix.lower())
        if write is None:
            self.fail(f"{output}: name a file that ends in .xlsx or .pdf.")
            return
        day = read_day(completed) if completed else None
        asked = Asked(tuple(vehicle_ids), day_from(as_at), reference, basis, self.numbers(proposal), day)
        try:
            found = schedule_of(asked)
        except Refused as refused:
            self.fail("\n".join([*(one.message for one in refused.faults), "Nothing was written."]))
            return
        write_aside(output, write(found))
        for sentence in found.sentences:
            self.stdout.write(sentence)
        for entry in found.entries:
            if entry.missing:
                self.stdout.write(f"{entry.vehicle_id}: {entry.missing}")
        self.stdout.write(f"Wrote a schedule of figures: {output}")

    def numbers(self, texts: list[str]) -> tuple[int, ...]:
        found = []
        for text in texts:
            digits = text.strip().upper().removeprefix("P-")
            if not (digits.isascii() and digits.isdigit() and len(digits) <= 9):
                self.fail(f"“{text}” is no number of a proposal, such as P-014.")
            found.append(int(digits))
        return tuple(found)
