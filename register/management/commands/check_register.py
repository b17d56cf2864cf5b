"""What does not agree in the records: findings, each with what is wrong and what to do."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from django.core.management.base import CommandParser

from register.management.commands._sentences import SayingCommand
from register.services.findings import check_register, check_vehicle


class Command(SayingCommand):
    help = "What does not agree in the records of a vehicle, or of all; findings are no errors, so the exit is 0."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("vehicle_id", metavar="VEHICLE_ID", nargs="?")
        parser.add_argument("--json", action="store_true", help="print one JSON list")

    def run(self, *, vehicle_id: str | None, **options: Any) -> None:
        day, explained = date.today(), 0
        if vehicle_id:
            checked = check_vehicle(vehicle_id, day=day)
            found, explained = checked.open, len(checked.explained)
        else:
            found = check_register(day=day)
        if options["json"]:
            listed = [{"code": one.code, "record": one.place, "message": one.message} for one in found]
            self.stdout.write(json.dumps(listed, ensure_ascii=False, indent=1))
            return
        for one in found:
            self.stdout.write(f"{one.code}, {one.place}: {one.message}")
        count = len(found)
        self.stdout.write(f"{count:,} finding{'' if count == 1 else 's'}" + (f", {explained:,} more explained." if explained else "."))
