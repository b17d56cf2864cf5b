"""Everything that a period report says, as frozen plain values: what a page shows, a paper prints.

A service fills it; text is as it was typed. What the reader may not know is left out by whoever fills it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from pathlib import Path

from register.documents.change_words import ChangeRow
from register.documents.figure_parts import BoundsView

TRUSTEES, MAGAZINE = EDITIONS = ("trustees", "magazine")

FITTED, REMOVED, TREATED, MOVED, DISPOSED = "fitted", "removed", "treated", "moved", "disposed"
FOUND, DECIDED, ISSUED, EVENTS, POSSIBLE = "found", "decided", "statements", "events", "possible"
KINDS = (FITTED, REMOVED, TREATED, MOVED, DISPOSED, FOUND, DECIDED, ISSUED, EVENTS, POSSIBLE)
"""What is told of a vehicle, in this order."""

WEAR = "wear"
NO_CHIP = "none"


@dataclass(frozen=True, slots=True)
class Front:
    """first, last: the days of the period, both included. known: the last day whose entries were read. vehicles: the
    names of those asked for, none for all. change_number: the last act that was read."""

    railway: str
    edition: str
    first: date
    last: date
    known: date
    vehicles: tuple[str, ...]
    written_by: str
    method_version: str
    software_version: str
    change_number: int

    @property
    def is_public(self) -> bool:
        return self.edition == MAGAZINE


@dataclass(frozen=True, slots=True)
class Line:
    """One thing that happened, or was found out.

    when: its date in words. about: the part, or what else it is of; code: its id; key: of a part with a page of its own.
    status: what the part is held to be, "" not assessed, ``WEAR``, ``NO_CHIP`` where none is said. said: what more
    there is to say, a sentence or a few words each. doubts: what is uncertain, or was entered late.
    """

    when: str
    about: str
    code: str = ""
    key: str = ""
    position: str = ""
    status: str = NO_CHIP
    visibility: str = ""
    said: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    """Lines of one of ``KINDS``. more: how many further ones are left out, in words."""

    kind: str
    lines: tuple[Line, ...]
    more: str = ""

    @property
    def has_dates(self) -> bool:
        return any(one.when for one in self.lines)

    @property
    def has_statuses(self) -> bool:
        return any(one.status != NO_CHIP for one in self.lines)


@dataclass(frozen=True, slots=True)
class FigureRow:
    """The figures on one basis as at one day. bounds: None where none may be given; words: as printed, or why not."""

    basis: str
    day: str
    bounds: BoundsView | None
    words: str
    best: str
    assessed: str
    unweighted: str


@dataclass(frozen=True, slots=True)
class SplitRow:
    """Points by which the best figure went up or down, on one basis."""

    basis: str
    total: str
    work: str
    knowledge: str


@dataclass(frozen=True, slots=True)
class FiguresTold:
    """against: the reference period in words. parts: by part, by mass, largest first. smaller: how many moved it less."""

    against: str
    rows: tuple[FigureRow, ...]
    split: tuple[SplitRow, ...] = ()
    sentences: tuple[str, ...] = ()
    parts: tuple[ChangeRow, ...] = ()
    smaller: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Photo:
    """A photograph: its copy without metadata, and what stands below it."""

    sha256: str
    path: Path
    caption: str
    credit: str
    licence: str
    taken: str


@dataclass(frozen=True, slots=True)
class VehicleReport:
    """key: of the vehicle, "" for parts that belong to none. lead: what is said of the vehicle's own record."""

    name: str
    key: str
    lead: tuple[str, ...] = ()
    figures: FiguresTold | None = None
    groups: tuple[Group, ...] = ()
    photographs: tuple[Photo, ...] = ()

    @property
    def counts(self) -> dict[str, int]:
        """How many lines of each kind."""
        return {group.kind: len(group.lines) for group in self.groups}


@dataclass(frozen=True, slots=True)
class PeriodReport:
    """quiet: names of vehicles of which there is nothing to tell. notes: of the whole report. beside: what the asker reads
    on the page and nobody on paper."""

    front: Front
    vehicles: tuple[VehicleReport, ...]
    quiet: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()

    @property
    def totals(self) -> dict[str, int]:
        counts = [one.counts for one in self.vehicles]
        return {kind: sum(one.get(kind, 0) for one in counts) for kind in KINDS}


def texts_of(value: object, where: str = "") -> Iterator[tuple[str, str]]:
    """Every text in the content after the place it stands in, such as ``vehicles 1, groups 2, lines 3, about``, counted
    from 1; those aside that only the page shows."""
    if isinstance(value, str):
        yield where, value
    elif isinstance(value, tuple):
        for number, one in enumerate(value, 1):
            yield from texts_of(one, f"{where} {number}")
    elif is_dataclass(value) and not isinstance(value, BoundsView):
        for field in fields(value):
            if field.name not in ("beside", "key", "sha256"):
                yield from texts_of(getattr(value, field.name), f"{where}, {field.name}".lstrip(", "))
