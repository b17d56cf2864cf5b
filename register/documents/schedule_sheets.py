"""A schedule of figures as the sheets of a workbook: numbers as they are printed, everything else as text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from register.documents.schedule import Entry, Line, Schedule, State, lines_of
from register.documents.schedule_words import COLUMNS, MAY_NOT, notes_beside, paragraph
from register.fabric.fraction import NOT_ASSESSED
from register.fabric.rounding import Number, shown, shown_change, shown_high, shown_low

Value = str | int | float | None
"""What stands in a cell; None for an empty one."""


class SheetOf(NamedTuple):
    """A sheet: its name, the head of its columns and their widths in characters, its rows."""

    name: str
    header: Sequence[str]
    widths: Sequence[float]
    rows: Sequence[Sequence[Value]]


FIGURES = (
    ("vehicle_id", 12), ("vehicle", 26), ("state", 24), ("as_at", 12), ("basis", 13), ("headline", 10), ("of", 24),
    ("leads", 8), ("reference", 26), ("reference_date", 16), ("low", 8), ("best", 8), ("high", 8), ("why_no_best", 30),
    ("assessed_share", 15), ("parts", 8), ("not_assessed", 13), ("unweighted", 12), ("wear_left_out", 14),
    ("stand_ins", 11), ("weight", 12), ("unit", 8), ("change_low", 12), ("change_best", 12), ("change_high", 12),
    ("data_sha256", 68), ("note", 90),
)  # fmt: skip


def sheets_of(schedule: Schedule) -> list[SheetOf]:
    """The sheets in the order in which they are read."""
    header, widths = zip(*FIGURES, strict=True)
    return [
        SheetOf("schedule", header, widths, list(_figures(schedule))),
        SheetOf(
            "composition",
            ("vehicle_id", "state", "as_at", "basis", "code", "what it is", "per cent", "weight", "unit"),
            (12, 24, 12, 13, 8, 36, 10, 12, 8),
            list(_composition(schedule)),
        ),
        SheetOf(
            "in words", ("vehicle_id", "paragraph to copy"), (12, 120), [[one.vehicle_id, paragraph(one, schedule)] for one in schedule.entries]
        ),
        SheetOf("not to be claimed", ("what may not be claimed",), (120,), [[one] for one in MAY_NOT]),
        SheetOf("the same again", ("name", "value"), (22, 110), list(_again(schedule))),
        SheetOf("columns", ("column", "what it holds"), (34, 110), [list(one) for one in COLUMNS]),
    ]


def _figures(schedule: Schedule) -> Iterator[list[Value]]:
    for entry in schedule.entries:
        if entry.missing:
            yield _without(entry, None, entry.missing)
            continue
        for basis in schedule.bases:
            for line in lines_of(entry, basis):
                yield _row(entry, line, schedule)
        for state in entry.states:
            if not state.views:
                yield _without(entry, state, state.missing)


def _without(entry: Entry, state: State | None, why: str) -> list[Value]:
    """The row of a vehicle or a state that has no figures."""
    known: dict[str, Value] = {
        "vehicle_id": entry.vehicle_id,
        "vehicle": entry.name,
        "state": state.name if state else None,
        "reference": entry.reference or None,
        "reference_date": entry.reference_date or None,
        "note": why,
    }
    return [known.get(name) for name, _ in FIGURES]


def _row(entry: Entry, line: Line, schedule: Schedule) -> list[Value]:
    view, bounds, figures = line.view, line.bounds, line.view.figures
    kept_back = view.is_withheld
    known: dict[str, Value] = {
        "vehicle_id": entry.vehicle_id,
        "vehicle": entry.name,
        "state": line.state.name,
        "as_at": line.state.day.isoformat() if line.state.day else None,
        "basis": line.basis,
        "headline": "yes" if line.basis == schedule.basis else "no",
        "of": line.of,
        "leads": "yes" if line.leads else "no",
        "reference": entry.reference,
        "reference_date": entry.reference_date,
        "low": float(shown_low(bounds.low)) if bounds else None,
        "best": _number(bounds.best) if bounds else None,
        "high": float(shown_high(bounds.high)) if bounds else None,
        "why_no_best": None if bounds and bounds.best is not None else (bounds.no_best if bounds else "") or line.why or None,
        "assessed_share": None if kept_back else _number(figures.assessed_share),
        "parts": figures.items,
        "not_assessed": sum(row.category == NOT_ASSESSED for row in view.answer.rows_asked_for),
        "unweighted": figures.unweighted,
        "wear_left_out": figures.wear,
        "stand_ins": figures.temporary,
        "weight": None if kept_back else _number(figures.weight),
        "unit": view.unit,
        "change_low": _change(line.change_low),
        "change_best": _change(line.change_best),
        "change_high": _change(line.change_high),
        "data_sha256": line.state.data_hash,
        "note": " ".join(notes_beside(line)) or None,
    }
    return [known[name] for name, _ in FIGURES]


def _number(value: Number | None) -> float | None:
    """To one decimal, half up, as it is printed."""
    return None if value is None else float(shown(value))


def _change(value: Number | None) -> float | None:
    return None if value is None else float(shown_change(value).replace("−", "-"))


def _composition(schedule: Schedule) -> Iterator[list[Value]]:
    for entry in schedule.entries:
        for state in entry.drawn:
            for basis in schedule.bases:
                view = state.views[basis]
                for row in view.composition:
                    yield [
                        entry.vehicle_id,
                        state.name,
                        state.day.isoformat() if state.day else None,
                        basis,
                        row.mark.code,
                        row.words,
                        _number(row.percent),
                        _number(row.percent * view.figures.weight / 100),
                        view.unit,
                    ]


def _again(schedule: Schedule) -> Iterator[Sequence[Value]]:
    """The choices and the run, so that years later it can be asked for again."""
    run = schedule.run
    yield from ([name, value] for name, value in run.parameters)
    yield ["address", run.address]
    yield ["command", run.command]
    yield ["run at", run.at.isoformat(timespec="seconds")]
    yield ["run by", run.by]
    yield ["method version", run.method_version]
    yield ["software version", run.software_version]
    yield ["register", run.register_id]
    yield ["change number", run.change_no]
    for entry in schedule.entries:
        for state in entry.drawn:
            yield [f"data hash, {entry.vehicle_id}, {state.name}", state.data_hash]
    for work in (one for entry in schedule.entries for one in entry.works):
        yield ["works", work]
    yield from (["said", sentence] for sentence in schedule.sentences)
