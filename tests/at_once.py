"""Work that many people do at the same moment: threads let loose together, each with a connection of its own."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

from django.db import connection


def at_once(work: Callable[[int], Any], number: int = 20) -> list[Any]:
    """Run ``work(n)`` in this many threads; each gives what it returned, or what it raised. The test's transaction must be
    a real one (``django_db(transaction=True)``), or they would see nothing. Fails where they ran one after another."""
    barrier, found = threading.Barrier(number), [None] * number
    began, ended = [0.0] * number, [0.0] * number

    def run(index: int) -> None:
        try:
            barrier.wait()
            began[index] = time.monotonic()
            found[index] = work(index)
        except Exception as error:
            found[index] = error
        finally:
            ended[index] = time.monotonic()
            connection.close()

    threads = [threading.Thread(target=run, args=(index,)) for index in range(number)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(began)[number // 2] < sorted(ended)[1], "half of them had begun before the second was done"
    return found


def kinds(found: list[Any]) -> dict[str, int]:
    """How many of each: the name of what was raised, "" for what returned."""
    names = [type(one).__name__ if isinstance(one, Exception) else "" for one in found]
    return {name: names.count(name) for name in set(names)}
