"""What was worked out of a vehicle's records, kept in this process for as long as they are the same.

Nothing here decides what is still true: a value is kept under the version of the records that it was worked out of, and is
given back for that version alone (``register.services.vehicle_versions``). What is kept is never changed by those who read it.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable
from threading import Lock
from typing import Generic, TypeVar

from register.services.vehicle_versions import Version

T = TypeVar("T")


class Kept(Generic[T]):
    """The values used last, as many as there is room for. A value that takes more than all the room is not kept."""

    def __init__(self, room: int) -> None:
        self._room = room
        self._taken = 0
        self._held: OrderedDict[Hashable, tuple[Version, T, int]] = OrderedDict()
        self._lock = Lock()

    def find(self, key: Hashable, version: Version | None) -> T | None:
        """The value kept under this version."""
        with self._lock:
            held = self._held.get(key)
            if held is None or held[0] != version:
                return None
            self._held.move_to_end(key)
            return held[1]

    def keep(self, key: Hashable, version: Version | None, value: T, size: int) -> T:
        """The value, kept if it may be. ``version`` must have been read before whatever ``value`` was made of: a change in
        between then leaves it under a version that nobody will ask for."""
        with self._lock:
            self._drop(key)
            if version is not None and size <= self._room:
                self._held[key] = version, value, size
                self._taken += size
            while self._taken > self._room:
                self._drop(next(iter(self._held)))
        return value

    def _drop(self, key: Hashable) -> None:
        held = self._held.pop(key, None)
        if held is not None:
            self._taken -= held[2]
