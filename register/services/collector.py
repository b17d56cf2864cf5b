"""Rows are read without the garbage collector looking through them again and again.

Python's collector looks for cycles whenever many objects have been made, and what is loaded for a figure is many
thousands of tuples that hold none: at 4,000 positions it cost a third of a page. Nothing is kept longer for it: what has
no cycle goes when the last reference to it goes.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

_lock = Lock()
_resting: list[bool] = []
"""Who has asked for rest, each with whether the collector was on before the first did."""


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """No collection of cycles until the last of those who asked for rest is done, in whatever thread."""
    with _lock:
        _resting.append(_resting[0] if _resting else gc.isenabled())
        gc.disable()
    try:
        yield
    finally:
        with _lock:
            was_on = _resting.pop()
            if was_on and not _resting:
                gc.enable()
