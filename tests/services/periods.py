"""Registers that grew day by day, for reports on a period."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from builders import WORKED, change, changes_of, read_folder

from register.documents.period_content import PeriodReport, VehicleReport
from register.exchange.records import Change
from register.services.change_sets import apply
from register.services.period import Asked, period_report
from register.services.sight import EVERYTHING, Sight

TODAY = date(2026, 11, 28)
YEAR = date(2026, 1, 1), date(2026, 6, 30)


def on(day: str, *changes: Change, user: Any = None, kind: str = "test", reason: str = "") -> None:
    """Entered at noon of a day."""
    at = datetime.fromisoformat(day).replace(hour=12, tzinfo=UTC)
    apply(list(changes), kind=kind, user=user, at=at, reason=reason)


def brindlewick() -> None:
    """What tests/worked_example/period.md tells of."""
    tables = {name: [{column: text for column, text in row.items() if text} for row in rows] for name, rows in read_folder(WORKED).items()}
    on("2024-06-30", *changes_of(tables))
    on("2024-09-10", change("assessments", part_id="P11", assessed_on="2024-09-01", status="original"))
    on(
        "2024-10-02",
        change("installations", position_id="Q4", part_id="P4", fitted="1975-05-01", removed="2024-10-01"),
        change("installations", position_id="Q4", part_id="P5", fitted="2024-10-01"),
    )


def report(first: date | str = YEAR[0], last: date | str = YEAR[1], *, sight: Sight = EVERYTHING, **details: Any) -> PeriodReport:
    days = [day if isinstance(day, date) else date.fromisoformat(day) for day in (first, last)]
    known = details.pop("known", None)
    asked = Asked(*days, date.fromisoformat(known) if known else None, **details)
    return period_report(asked, today=TODAY, sight=sight)


def of(told: PeriodReport, name: str) -> VehicleReport:
    return next(one for one in told.vehicles if one.name == name)


def lines(told: VehicleReport, kind: str) -> list[tuple[str, str, tuple[str, ...], tuple[str, ...]]]:
    """(when, about, said, doubts) of every line of a kind."""
    return [(one.when, one.about, one.said, one.doubts) for group in told.groups if group.kind == kind for one in group.lines]


def words(told: PeriodReport) -> str:
    return repr(told)
