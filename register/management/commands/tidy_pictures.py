"""Take away originals that nobody accepted; without --remove, say which they are."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from register.management.commands._sentences import SayingCommand
from register.services.picture_tidying import DAYS, FEWEST_DAYS, Tidied, look_through, remove_old


class Command(SayingCommand):
    help = "List the pictures that nobody accepted and nothing names any more; with --remove, take them off the disk."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--remove", action="store_true", help="take them away, and enter it in the log")
        parser.add_argument("--days", type=int, default=DAYS, metavar="N", help=f"older than so many days; {DAYS} if left out")

    def run(self, *, remove: bool, days: int, **_: Any) -> None:
        if not FEWEST_DAYS <= days <= 36_500:
            self.fail(f"--days {days}: a number from {FEWEST_DAYS} to 36500 is wanted.")
        found = remove_old(days=days) if remove else look_through(days=days)
        for one in found.old:
            self.stdout.write(f"{one.sha256}  {one.size:,} bytes, came {one.came:%Y-%m-%d}")
        self.stdout.write(_in_words(found, removed=remove))
        for sha256 in found.missing:
            self.stderr.write(f"{sha256} is named by the register and is not on the disk; look for it in a backup.")


def _in_words(found: Tidied, *, removed: bool) -> str:
    verb = "Took away" if removed else "May go (say --remove)"
    words = f"{verb}: {_count(len(found.old), 'picture')} that nobody accepted, {found.size:,} bytes"
    return f"{words}; {_count(len(found.leftovers), 'file')} left over from uploads that broke off."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"
