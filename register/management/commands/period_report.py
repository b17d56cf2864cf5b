"""A report on what was done and found out between two days, as a PDF."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from register.documents.period_content import MAGAZINE, TRUSTEES
from register.exchange.faults import Refused
from register.fabric.dates import read_day
from register.management.commands._sentences import SayingCommand
from register.services.period import Asked, paper_of, period_report
from register.services.photographs import write_aside
from register.services.sight import EVERYTHING


class Command(SayingCommand):
    help = "Write a report on what was done to the vehicles and what was found out between two days as a PDF."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("first", metavar="FROM", help="the first day, an ISO day")
        parser.add_argument("last", metavar="TO", help="the last day, which belongs to the period")
        parser.add_argument("--output", type=Path, required=True, metavar="FILE.pdf")
        parser.add_argument("--public", action="store_true", help="for the magazine: only what anybody may read")
        parser.add_argument("--vehicle", action="append", default=[], metavar="VEHICLE_ID", help="of these alone; may be said again")
        parser.add_argument("--entered-until", metavar="DAY", help="with what was entered until then; TO if left out")

    def run(
        self, *, first: str, last: str, output: Path, public: bool, vehicle: list[str], entered_until: str | None, **_: Any
    ) -> None:
        asked = Asked(
            read_day(first),
            read_day(last),
            read_day(entered_until) if entered_until else None,
            tuple(vehicle),
            MAGAZINE if public else TRUSTEES,
        )
        try:
            report = period_report(asked, today=date.today(), sight=EVERYTHING)
        except Refused as refused:
            self.fail("\n".join(fault.message for fault in refused.faults))
        write_aside(output, paper_of(report))
        for sentence in report.beside:
            self.stdout.write(sentence)
        self.stdout.write(f"Wrote a period report: {output}")
