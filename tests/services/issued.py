"""A small register to issue statements of, and what is said when everything found is accepted."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from builders import tiny, write_folder

from register.models import Statement
from register.services.import_register import import_register
from register.services.issuing import Asked, issue_statement, prepare

DAY = date(2024, 6, 1)
AT = datetime(2030, 1, 2, 12, 0, tzinfo=UTC)
"""After every act of a test: a paper is never dated before the last act."""


def plant(folder: Path, **more: list[dict[str, str]]) -> None:
    import_register(write_folder(folder / "planted", tiny(**more)))


def accept_all(asked: Asked) -> dict[str, str]:
    return {group.code: "known, and said so" for group in prepare(asked, at=AT).readiness.groups}


def issue(vehicle: str = "L1", *, day: date = DAY, **details: Any) -> Statement:
    """Issued with everything accepted."""
    details.setdefault("why", "a test")
    at = details.pop("at", AT)
    asked = Asked(vehicle, day, **details)
    return issue_statement(Asked(vehicle, day, reasons=accept_all(asked), **details), at=at)
