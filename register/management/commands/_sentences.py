"""How commands say what is wrong: the sentences to standard error, exit 1, never a traceback."""

from __future__ import annotations

import sqlite3
import sys
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError, connection

from register.exchange.faults import Refused
from register.fabric.dates import DateError, read_day
from register.fabric.inputs import BASES, VISIBILITIES
from register.services.change_sets import Conflicted
from register.services.inputs import NoSuch
from register.services.trouble import in_a_sentence, room_for, trouble_of


class SayingCommand(BaseCommand):
    """A command whose ``run`` may raise the refusals of the register."""

    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self.run(**options)
        except Refused as refused:
            self.fail(str(refused))
        except Conflicted as conflicted:
            count = len(conflicted.conflicts)
            self.fail(
                f"{conflicted}\n{count} conflict{'' if count == 1 else 's'}; nothing was imported. "
                "Say --keep file or --keep register."
            )
        except (NoSuch, DateError) as error:
            self.fail(str(error))
        except CommandError:
            raise
        except BrokenPipeError:
            sys.stderr.close()
        except (OSError, DatabaseError, MemoryError, sqlite3.Error) as error:
            self.fail(said_of(error, room_for(self.sends(**options))))

    def run(self, **options: Any) -> None:
        raise NotImplementedError

    def sends(self, **options: Any) -> int:
        """Bytes that the command brings into the register, as far as the disk must have room for them."""
        return 0

    def fail(self, text: str) -> None:
        self.stderr.write(text)
        raise SystemExit(1)


def said_of(error: BaseException, room: str) -> str:
    """The sentence of an error that is no refusal. Of a file, its path comes first; a file that is not there, or may not
    be read, is no trouble of the register's."""
    trouble = trouble_of(error)
    if isinstance(error, OSError):
        where = f"{error.filename or 'The file'}: {error.strerror or error}."
        return where if trouble is None or isinstance(error, PermissionError) else f"{where} {in_a_sentence(trouble, room=room)}"
    if trouble is None:
        return f"The database cannot be used: {error}. Run manage.py migrate, or look at DATABASE_URL."
    where = f" ({connection.settings_dict['NAME']})" if connection.vendor == "sqlite" else ""
    return f"{in_a_sentence(trouble, room=room)}{where}"


def day_from(text: str | None) -> date:
    """The day asked for, today if none. Raises DateError."""
    return read_day(text) if text else date.today()


def add_question(parser: CommandParser) -> None:
    """VEHICLE_ID, --reference, --basis, --include-wear and --json: what every figure is asked for with."""
    parser.add_argument("vehicle_id", metavar="VEHICLE_ID")
    parser.add_argument(
        "--reference", metavar="LABEL", help="the reference period; the default one if left out"
    )
    parser.add_argument("--basis", choices=BASES, default="mass", help="what parts are weighed by")
    parser.add_argument("--include-wear", action="store_true", help="count wear parts like the others")
    parser.add_argument("--json", action="store_true", help="print one JSON object")


def add_figure_options(parser: CommandParser) -> None:
    """The options of ``fabric`` and ``survey_next``."""
    add_question(parser)
    parser.add_argument("--as-at", metavar="DAY", help="an ISO day; today if left out")
    parser.add_argument(
        "--evidence-floor",
        type=int,
        choices=range(4),
        default=0,
        metavar="N",
        help="0 any, 1 attributed, 2 corroborated, 3 documented",
    )
    parser.add_argument("--visibility", choices=VISIBILITIES, help="only what is seen so")
