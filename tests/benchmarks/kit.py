"""What the benchmarks have in common: a clock, an exponent, generated registers, and the peer that fetches the rows.

Imported first, for it sets Django up on a data folder of its own.
"""

from __future__ import annotations

import gc
import math
import os
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

FOLDER = Path(tempfile.mkdtemp(prefix="register-bench-"))
os.environ |= {"DJANGO_SETTINGS_MODULE": "register.settings", "REGISTER_DATA": str(FOLDER / "data"), "SECRET_KEY": "x" * 60}
os.environ.pop("DATABASE_URL", None)
ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import django  # noqa: E402

django.setup()

from builders import write_folder  # noqa: E402
from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection, connections  # noqa: E402
from django.test import Client  # noqa: E402

from benchmarks.generate import register as generated  # noqa: E402

DAY = date(2026, 11, 25)


@dataclass(slots=True)
class Result:
    """goal: its letter and number; what: in words; figure, goal_words: what came out and what is asked; met: whether."""

    goal: str
    what: str
    figure: str
    goal_words: str
    met: bool


def best_of(work: Callable[[], object], runs: int = 5) -> float:
    """CPU seconds of the quickest of several runs."""
    times = []
    for _ in range(runs):
        gc.collect()
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def exponent(sizes: tuple[int, ...], seconds: list[float]) -> float:
    """The slope of log(time) over log(size), end to end."""
    return math.log(seconds[-1] / seconds[0]) / math.log(sizes[-1] / sizes[0])


def use(name: str, positions: int, *, vehicles: int = 1) -> None:
    """A database of its own holding a generated register; kept for the run."""
    path = FOLDER / "data" / f"{name}.sqlite3"
    connections.close_all()
    settings.DATABASES["default"]["NAME"] = connection.settings_dict["NAME"] = str(path)
    if not path.exists():
        call_command("migrate", interactive=False, verbosity=0)
        from register.services.import_register import import_register

        import_register(write_folder(FOLDER / name, generated(positions, vehicles=vehicles)))


def forget() -> None:
    """As after a change of everything: nothing that was worked out before may be taken."""
    from register.models import VehicleVersion

    VehicleVersion.objects.all().delete()
    VehicleVersion.objects.create(vehicle="")


def first_and_again(work: Callable[[], object], runs: int = 3) -> tuple[float, float]:
    """CPU seconds of the work right after a change, and of the same work when nothing changed since."""

    def first() -> None:
        forget()
        work()

    return best_of(first, runs), best_of(work, runs)


def signed_in() -> Client:
    from django.contrib.auth.models import Group

    from register.models import User

    settings.ALLOWED_HOSTS = ["testserver"]
    user, _ = User.objects.get_or_create(username="bench")
    user.groups.add(Group.objects.get_or_create(name="officer")[0])
    client = Client()
    client.force_login(user, backend="register.web.backends.RoleBackend")
    return client


FETCHALL = """SELECT i.position_id, i.part_id, i.fitted_edtf, i.removed_edtf, i.seen_on_edtf, i.temporary, p.mass_low, p.mass, p.mass_high, q.visibility, q.significance,
a.status, a.fraction_low, a.fraction, a.fraction_high, a.original_to_id FROM register_installation i JOIN register_part p ON p.key = i.part_id
JOIN register_position q ON q.key = i.position_id LEFT JOIN register_assessment a ON a.part_id = p.key WHERE q.vehicle_id LIKE ?"""


def fetchall(vehicle: str) -> Callable[[], object]:
    """The peer: sqlite3 fetching the rows in force, by joins, into tuples."""
    bare = sqlite3.connect(connection.settings_dict["NAME"])
    return lambda: bare.execute(FETCHALL, (vehicle,)).fetchall()
