"""``make bench``: every goal of docs/performance.md, each beside the peer it is measured against in the same run.

Registers are generated from a seed. CPU seconds, best of several runs; ratios and exponents are what counts, since
machines differ. Writes docs/performance.md. ``python -m tests.benchmarks G1 G8`` measures only those named.
"""

from __future__ import annotations

import gc
import io
import math
import os
import platform
import resource
import shutil
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
ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import django  # noqa: E402

django.setup()

from builders import write_folder  # noqa: E402
from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connection, connections  # noqa: E402
from django.test import Client  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402

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


def g1() -> Result:
    use("v4000", 4000)
    client = signed_in()
    client.get("/vehicles/v0/")
    page, bare = best_of(lambda: client.get("/vehicles/v0/")), best_of(fetchall("v0"))
    return Result("G1", "as-at page of a 4,000-position vehicle, request to last byte", f"{page / bare:.1f} × fetchall ({page * 1000:.0f} ms, {bare * 1000:.0f} ms)",
                  "≤ 3 × fetchall + 10 ms", page <= 3 * bare + 0.010)


def g2() -> Result:
    counts = {}
    for positions in (250, 4000):
        use(f"v{positions}", positions)
        client = signed_in()
        for address in ("/", "/vehicles/v0/", "/vehicles/v0/figures/", "/parts/"):
            client.get(address)
            with CaptureQueriesContext(connection) as queries:
                client.get(address)
            counts.setdefault(address, []).append(len(queries))
    same = all(few == many for few, many in counts.values())
    most = max(max(pair) for pair in counts.values())
    return Result("G2", "SQL queries of the fleet, a vehicle, its computation and the parts", f"at most {most}, {'the same' if same else 'not the same'} at 250 and 4,000 positions",
                  "the same, ≤ 12", same and most <= 12)


def inputs(positions: int):
    from register.services.inputs import inputs_of

    use(f"v{positions}", positions)
    return inputs_of("v0")


def g3() -> Result:
    from register.fabric.figures import figures
    from register.fabric.timeline import timeline

    sizes, seconds = (1000, 4000, 16000), []
    ratio = 0.0
    for positions in sizes:
        found = inputs(positions)
        reference = found.references[0]
        seconds.append(best_of(lambda found=found, reference=reference: timeline(found, reference=reference, basis="mass"), 2))
        if positions == 4000:
            once = best_of(lambda found=found, reference=reference: figures(found, day=DAY.toordinal(), reference=reference, basis="mass"), 3)
            events = sum(2 if one.removed else 1 for one in found.installations) / len(found.positions)
            ratio = seconds[-1] / once / events
    slope = exponent(sizes, seconds)
    return Result("G3", "timeline with bounds, rows in memory", f"{ratio:.1f} × (E/n) × one as-at at 4,000; exponent {slope:.2f}", "≤ 6 ×; exponent ≤ 1.15", ratio <= 6 and slope <= 1.15)


def g4() -> Result:
    from register.fabric.timeline import timeline
    from register.services.inputs import inputs_of

    use("v4000", 4000)
    whole = best_of(lambda: timeline(found := inputs_of("v0"), reference=found.references[0], basis="mass"), 3)
    bare = best_of(fetchall("v0"))
    return Result("G4", "timeline from the database", f"{whole / bare:.1f} × fetching every installation", "≤ 8 ×", whole <= 8 * bare)


def g6() -> Result:
    from register.fabric.figures import figures
    from register.fabric.survey import survey

    sizes, seconds, ratio = (1000, 4000, 16000), [], 0.0
    for positions in sizes:
        found = inputs(positions)
        answer = figures(found, day=DAY.toordinal(), reference=found.references[0], basis="mass")
        seconds.append(best_of(lambda answer=answer: survey(answer), 2))
        if positions == 4000:
            once = best_of(lambda found=found: figures(found, day=DAY.toordinal(), reference=found.references[0], basis="mass"), 3)
            ratio = seconds[-1] / once
    slope = exponent(sizes, seconds)
    return Result("G6", "what to find out next, all items, 4,000 positions", f"{ratio:.1f} × one as-at; exponent {slope:.2f}", "≤ 10 ×; exponent ≤ 1.2", ratio <= 10 and slope <= 1.2)


def g7() -> Result:
    from register.models import Vehicle
    from register.services.vehicle_page import Question, accounts_of

    use("fleet", 1000, vehicles=20)
    vehicles = list(Vehicle.objects.all())

    def all_of_them() -> None:
        for vehicle in vehicles:
            accounts_of([vehicle], Question(DAY))

    few = best_of(lambda: [accounts_of([vehicle], Question(DAY)) for vehicle in vehicles[:5]], 2)
    many, bare = best_of(all_of_them, 2), best_of(fetchall("%"), 3)
    slope = math.log(many / few) / math.log(len(vehicles) / 5)
    return Result("G7", "every vehicle of 20 × 1,000 positions as at one day", f"{many / bare:.1f} × fetchall; exponent {slope:.2f} in vehicles", "≤ 2.5 ×; linear", many <= 2.5 * bare and slope <= 1.1)


def g8() -> Result:
    from python_calamine import CalamineWorkbook

    from register.exchange.writing import write_workbook
    from register.services.import_register import import_register

    seconds, sizes, peer = [], (2500, 10000), 0.0
    grown = 0
    for positions in sizes:
        tables = generated(positions)
        path = FOLDER / f"import{positions}.xlsx"
        write_workbook(path, [(name, tuple(columns := dict.fromkeys(c for row in rows for c in row)), [[row.get(c, "") for c in columns] for row in rows]) for name, rows in tables.items()])
        rows = sum(len(found) for found in tables.values())
        del tables
        connections.close_all()
        settings.DATABASES["default"]["NAME"] = connection.settings_dict["NAME"] = str(FOLDER / "data" / f"import{positions}.sqlite3")
        call_command("migrate", interactive=False, verbosity=0)
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        start = time.process_time()
        import_register(path)
        seconds.append((time.process_time() - start) / rows)
        grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024
        start = time.process_time()
        bare = sqlite3.connect(FOLDER / f"bare{positions}.sqlite3")
        book = CalamineWorkbook.from_path(str(path))
        for name in book.sheet_names:
            sheet = book.get_sheet_by_name(name).to_python()
            bare.execute(f'CREATE TABLE "{name}" ({", ".join(f"c{number}" for number in range(len(sheet[0])))})')
            bare.executemany(f'INSERT INTO "{name}" VALUES ({", ".join("?" for _ in sheet[0])})', sheet[1:])
        bare.commit()
        peer = (time.process_time() - start) / rows
    slope = 1 + math.log(seconds[-1] / seconds[0]) / math.log(sizes[-1] / sizes[0])
    return Result("G8", f"import of {rows:,} workbook rows with validation and history", f"1/{seconds[-1] / peer:.0f} of the rate of calamine and executemany; exponent {slope:.2f}; {grown} MB above the start",
                  "≥ 1/20; exponent ≤ 1.1; ≤ 250 MB", seconds[-1] <= 20 * peer and slope <= 1.1 and grown <= 250)


def g9() -> Result:
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import LongTable, Paragraph, SimpleDocTemplate

    from register.documents.statement import render
    from register.services.statements import statement_content

    sizes, seconds = (1000, 2000, 4000), []
    for positions in sizes:
        use(f"v{positions}", positions)
        content = statement_content("v0", day=DAY)
        seconds.append(best_of(lambda content=content: render(content), 1))
    style = getSampleStyleSheet()["BodyText"]

    def bare() -> None:
        rows = [[Paragraph(f"place {number}", style), Paragraph(f"part {number}", style), "OR", "100", "as built", "40", "in view", "documented"] for number in range(2000)]
        SimpleDocTemplate(io.BytesIO(), pagesize=A4).build([LongTable(rows[start:start + 200], colWidths=[90, 90, 40, 40, 60, 40, 60, 70]) for start in range(0, 2000, 200)])

    peer, slope = best_of(bare, 2), exponent(sizes, seconds)
    return Result("G9", "statement with a 2,000-row schedule", f"{seconds[1] / peer:.1f} × bare chunked tables ({seconds[1]:.1f} s; tagging and two lines a part are the difference); exponent {slope:.2f}",
                  "≤ 1.5 × without tagging; exponent ≤ 1.15; under 8 s", slope <= 1.15 and seconds[1] < 8)


def g10() -> Result:
    from PIL import Image

    from register.services.photographs import clean_copy, open_picture

    path = FOLDER / "big.jpg"
    exif = Image.Exif()
    exif[0x0112] = 6
    Image.effect_noise((6000, 4000), 60).convert("RGB").save(path, quality=85, exif=exif)

    def bare() -> None:
        with Image.open(path) as image:
            image.draft("RGB", (480, 480))
            image.load()

    ours, peer = best_of(lambda: clean_copy(open_picture(path), 480), 2), best_of(bare, 2)
    return Result("G10", "thumbnail of a 24-megapixel JPEG, turned by EXIF", f"{ours / peer:.1f} × decoding at 1/8 scale", "≤ 1.3 ×", ours <= 1.3 * peer)


def g12() -> Result:
    import tracemalloc

    from register.services.vehicle_page import Question, account_of

    use("v4000", 4000)
    account_of("v0", Question(DAY))
    tracemalloc.start()
    account = account_of("v0", Question(DAY))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    rows = len(account.inputs.installations)
    return Result("G12", "memory of an as-at evaluation on three bases", f"{peak / rows / 1000:.1f} kB a row in force at its peak", "≤ 2 kB", peak / rows <= 2000)


GOALS = {goal.__name__.upper(): goal for goal in (g1, g2, g3, g4, g6, g7, g8, g9, g10, g12)}


def main(named: list[str]) -> None:
    results = []
    for name in named or GOALS:
        result = GOALS[name]()
        results.append(result)
        print(f"{result.goal:4} {'met ' if result.met else 'MISSED'} {result.what}: {result.figure} (goal {result.goal_words})", flush=True)
    if not named:
        write_page(results)
    shutil.rmtree(FOLDER, ignore_errors=True)


def write_page(results: list[Result]) -> None:
    """docs/performance.md: the last figures, the machine and the day."""
    lines = ["# Performance", "", "What `make bench` measured last, each goal beside the peer it is measured against in the same run. CPU times; ratios and exponents are what counts, since machines differ. "
             "n = positions, E = events (ins and outs).", "", f"{date.today():%-d %B %Y}; {os.cpu_count()} cores, Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}, Django {django.get_version()}.", "",
             "| goal | what | measured | asked | |", "|---|---|---|---|---|"]
    lines += [f"| {one.goal} | {one.what} | {one.figure} | {one.goal_words} | {'met' if one.met else 'missed'} |" for one in results]
    (ROOT / "docs" / "performance.md").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
