"""The figures of a period report in words: as at the day before it and as at its last day, and what changed them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from register.documents.change_words import told
from register.documents.figure_view import FigureView, figure_view
from register.documents.figure_words import reference_words
from register.documents.period_content import FigureRow, FiguresTold, SplitRow
from register.fabric.change import Change
from register.fabric.dates import day_in_words
from register.fabric.figures import VehicleFigures, best_to_show
from register.fabric.inputs import VehicleInputs
from register.fabric.rounding import NO_FIGURE, shown_change

NOT_TO_BE_SHOWN = (
    "How much of the change by mass is work is not said, since not every figure that it would be worked out of may be"
    " shown. Compare the bounds."
)

Names = Mapping[str, tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Sides:
    """before: the inputs as they were known when the period began, None for a vehicle that was not known. after: as known
    in the end. changes: by basis. With ``before`` None they are all work, from what is known in the end."""

    before: VehicleInputs | None
    after: VehicleInputs
    changes: Mapping[str, Change]


def figures_told(sides: Sides, names: Names, *, public: bool, is_closed: bool = False) -> FiguresTold:
    """names: (id, name) of the parts that may be named. public: for visitors. is_closed: what changed may not be worked
    out in public, since something that is closed is in it: the figures of the last day alone are given."""
    by_mass = sides.changes["mass"]
    rows = [row for change in sides.changes.values() for row in _rows(sides, change, is_closed=is_closed)]
    views = [_view(change.after, sides.after) for change in sides.changes.values()]
    notes = tuple(dict.fromkeys(note for view in views for note in view.notes))
    against = reference_words(by_mass.after.reference)
    plain = tuple(_plainly(views[0], sides.after, public=public))
    if is_closed:
        return FiguresTold(against, tuple(rows), sentences=plain, notes=notes)
    words = told(by_mass, names, first="", second="") if _may_be_split(sides, by_mass) else None
    split = tuple(_split(sides, change) for change in sides.changes.values())
    return FiguresTold(
        against,
        tuple(rows),
        split if any(change.parts for change in sides.changes.values()) else (),
        (*plain, *_beginnings(sides), *(words.sentences if words else (NOT_TO_BE_SHOWN,))),
        words.rows if words else (),
        words.smaller if words else "",
        notes,
    )


def _view(answer: VehicleFigures, inputs: VehicleInputs) -> FigureView:
    return figure_view(answer, inputs, guarded=True)


def _views(sides: Sides, change: Change) -> Iterator[FigureView]:
    if sides.before is not None:
        yield _view(change.before, sides.before)
    yield _view(change.known_better, sides.after)
    yield _view(change.after, sides.after)


def _rows(sides: Sides, change: Change, *, is_closed: bool) -> Iterator[FigureRow]:
    """As known then, as known better, and at the end, for each kind of bounds; what is the same twice is given once."""
    views = list(_views(sides, change))
    days = [day_in_words(date.fromordinal(view.answer.day)) for view in views]
    ends = ["" for _ in views]
    if sides.before is not None:
        ends[:2] = [", as known then", ", as known in the end"]
    listed = [list(_row(view, f"{day}{end}")) for view, day, end in zip(views, days, ends, strict=True)]
    if is_closed:
        listed = listed[-1:]
    else:
        if sides.before is not None and _same(listed[0], listed[1]):
            listed = [[replace(row, day=days[0]) for row in listed[0]], listed[2]]
        if len(listed) == 2 and _same(*listed):
            listed = [[replace(row, day=f"{days[0]} and {days[-1]}") for row in listed[1]]]
    every = [row for rows in listed for row in rows]
    yield from (row for label in dict.fromkeys(row.basis for row in every) for row in every if row.basis == label)


def _same(one: list[FigureRow], other: list[FigureRow]) -> bool:
    def said(rows: list[FigureRow]) -> list[tuple[str, ...]]:
        return [(row.basis, row.words, row.best, row.assessed, row.unweighted) for row in rows]

    return said(one) == said(other)


def _row(view: FigureView, day: str) -> Iterator[FigureRow]:
    """The whole vehicle first where its bounds stand first."""
    basis = view.answer.basis
    own = f"{basis}, weighted parts" if view.is_of_weighted_only else basis
    found = [(own, view.own), (f"{basis}, whole vehicle", view.whole)]
    counts = (NO_FIGURE if view.is_withheld else view.assessed_text, view.unweighted)
    given = [(words, bounds) for words, bounds in (reversed(found) if view.whole_first else found) if bounds is not None]
    for words, bounds in given:
        yield FigureRow(words, day, bounds, bounds.short, bounds.best_text or NO_FIGURE, *counts)
    if not given:
        yield FigureRow(basis, day, None, "none given", NO_FIGURE, *counts)


def _may_be_split(sides: Sides, change: Change) -> bool:
    """Whether every best figure that the change is worked out of may be shown."""
    views = list(_views(sides, change))
    return all(not view.is_withheld and best_to_show(view.figures) is not None for view in views)


def _split(sides: Sides, change: Change) -> SplitRow:
    if not _may_be_split(sides, change):
        return SplitRow(change.basis, NO_FIGURE, NO_FIGURE, NO_FIGURE)
    total, work, knowledge = (shown_change(one) for one in (change.total, change.work, change.knowledge))
    return SplitRow(change.basis, *((total, work, knowledge) if sides.before else (NO_FIGURE, work, NO_FIGURE)))


def _plainly(view: FigureView, inputs: VehicleInputs, *, public: bool) -> Iterator[str]:
    """For visitors one sentence; where no percentage by mass may be given, why, and the parts by status instead."""
    if public:
        yield figure_view(view.answer, inputs, public=True).plain
    if view.answer.basis == "mass" and view.lead is None:
        counts = ", ".join(f"{one.mark.words.lower()} {one.number:,}" for one in view.statuses)
        yield f"{view.no_figure} {counts[:1].upper()}{counts[1:]}."


def _beginnings(sides: Sides) -> Iterator[str]:
    """What has to be said before the change."""
    if sides.before is None:
        yield (
            "The register did not know this vehicle when the period began, so what was found out since cannot be told: both days are"
            " given as they are known in the end."
        )
        return
    was, now = (change.reference for change in (sides.changes["mass"].before, sides.changes["mass"].after))
    if (was.label, was.edtf) != (now.label, now.edtf):
        yield f"What it is measured against was {reference_words(was)}, and is {reference_words(now)}: that is part of what changed."
