"""What changed between two issued statements: what was done, and what was found out."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import CommandParser

from register.fabric.figures_json import as_json
from register.management.commands._sentences import SayingCommand
from register.services.changes import compared, ids_of, in_words, of_statement


class Command(SayingCommand):
    help = "What changed between two issued statements: new work and new knowledge, apart, and by part."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("first", metavar="STATEMENT", help="the number of the earlier one, such as CS-0003")
        parser.add_argument("second", metavar="STATEMENT", help="the number of the later one")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def run(self, *, first: str, second: str, **options: Any) -> None:
        sides = of_statement(first), of_statement(second)
        found = compared(*sides)
        if options["json"]:
            self.stdout.write(written(as_json(found, ids_of(*sides))))
            return
        told = in_words(*sides, found)
        for sentence in told.sentences:
            self.stdout.write(sentence)
        for what, day, bounds in told.bounds:
            self.stdout.write(f"  bounds, {what} as at {day}: {bounds}")
        for row in told.rows:
            self.stdout.write(f"  {row.part_id} {row.part}: work {row.work}, knowledge {row.knowledge}")


def written(answer: dict[str, object]) -> str:
    return json.dumps(answer, ensure_ascii=False, indent=1)
