"""Laws are checked without a deadline: a shared machine may stall for longer than any sensible one."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("no deadline", deadline=None)
settings.load_profile("no deadline")
