"""The files of a schedule: workbook, paper, charts, and the inputs whose SHA-256 is the data hash."""

from __future__ import annotations

from register.documents.png import png
from register.documents.schedule import Entry, Schedule
from register.documents.schedule_charts import CHARTS
from register.documents.schedule_paper import render_schedule
from register.documents.schedule_sheets import sheets_of
from register.documents.svg import svg
from register.exchange.plain_workbook import workbook_bytes
from register.fabric.inputs_json import inputs_bytes
from register.services.schedule import Gathered

KINDS = {"svg": "image/svg+xml", "png": "image/png"}
"""Of a chart: its ending and its media type."""


def workbook_of(schedule: Schedule) -> bytes:
    """As a workbook (.xlsx)."""
    return workbook_bytes(sheets_of(schedule), made_at=schedule.run.at)


def paper_of(schedule: Schedule) -> bytes:
    """As a PDF."""
    return render_schedule(schedule)


def chart_of(schedule: Schedule, entry: Entry, chart: str, kind: str) -> bytes:
    """One chart of one vehicle, both of ``KINDS`` drawn from the same shapes. KeyError for another chart or kind."""
    sheet = CHARTS[chart](entry, schedule)
    made = {"svg": lambda: svg(sheet, prefix="c", stand_alone=True).encode(), "png": lambda: png(sheet)}
    return made[kind]()


def inputs_of_state(found: Gathered, vehicle: str, state: str) -> bytes | None:
    """What the figures of a vehicle (its key) in a state were computed from; None where there are none. Its SHA-256 is the
    data hash."""
    inputs = found.inputs.get((vehicle, state))
    return None if inputs is None else inputs_bytes(inputs)
