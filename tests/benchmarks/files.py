"""Files that come in: an import of many rows, a large photograph: G8, G10."""

from __future__ import annotations

import math
import resource
import sqlite3
import time

from django.conf import settings
from django.core.management import call_command
from django.db import connection, connections

from benchmarks.generate import register as generated
from tests.benchmarks.kit import FOLDER, Result, best_of


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

    ours, peer = best_of(lambda: clean_copy(open_picture(path, edge=480), 480), 2), best_of(bare, 2)
    return Result("G10", "thumbnail of a 24-megapixel JPEG, turned by EXIF", f"{ours / peer:.1f} × decoding at 1/8 scale", "≤ 1.3 ×", ours <= 1.3 * peer)


GOALS = (g8, g10)
