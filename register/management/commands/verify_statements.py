"""Whether every issued statement is still what was issued."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from register.management.commands._sentences import SayingCommand
from register.models import Entry, Statement
from register.services.chain import head
from register.services.verifying import faults


class Command(SayingCommand):
    help = "Check the chain of issued statements, their files and the triggers; exits 1 naming the first fault."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--recompute", action="store_true", help="work out every figure again from its frozen rows"
        )
        parser.add_argument(
            "--checkpoint", type=Path, metavar="FILE", help="a checkpoint file that was kept elsewhere"
        )

    def run(self, *, recompute: bool, checkpoint: Path | None, **_: Any) -> None:
        found = faults(recompute=recompute, checkpoint=checkpoint)
        first = next(found, None)
        if first is not None:
            more = sum(1 for _ in found)
            self.fail(first + (f"\nThere are {more} more faults after this one." if more else ""))
        length, last = head()
        self.stdout.write(
            f"{Statement.objects.count()} issued statements in a chain of {Entry.objects.count()} entries: nothing was altered."
        )
        if length:
            self.stdout.write(f"Last hash, of entry {length}: {last}")
