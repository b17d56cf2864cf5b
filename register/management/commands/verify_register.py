"""Whether everything that the register keeps is still what was recorded and issued."""

from __future__ import annotations

from itertools import chain, islice
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from register.management.commands._sentences import SayingCommand
from register.models import Act, Photograph, Statement
from register.services.verifying import faults
from register.services.verifying_pictures import picture_faults
from register.services.verifying_records import guarded, record_faults
from register.services.verifying_seals import first_sealed, seal_faults

SHOWN = 100


class Command(SayingCommand):
    help = "Check the database, every record and its history, the pictures and the issued statements; exits 1 naming what is wrong."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--recompute", action="store_true", help="work out every issued figure again")
        parser.add_argument(
            "--checkpoint", type=Path, metavar="FILE", help="a checkpoint file that was kept elsewhere"
        )
        parser.add_argument("--without-pictures", action="store_true", help="leave the files of photographs out")

    def run(self, *, recompute: bool, checkpoint: Path | None, without_pictures: bool, **_: Any) -> None:
        found = chain(
            record_faults(),
            seal_faults(),
            () if without_pictures else picture_faults(),
            guarded("The issued statements", faults(recompute=recompute, checkpoint=checkpoint)),
        )
        if told := list(islice(found, SHOWN)):
            more = sum(1 for _ in found)
            self.fail("\n".join(told) + (f"\nThere are {more} more faults after these." if more else ""))
        first = first_sealed() or 0
        pictures = 0 if without_pictures else Photograph.objects.values("sha256").distinct().count()
        self.stdout.write(
            f"{Act.objects.count()} acts, {pictures} pictures and {Statement.objects.count()} issued statements: nothing was altered."
        )
        if first > 1:
            self.stdout.write(f"What was written before change {first} has no seal, and only what stands now was compared.")
