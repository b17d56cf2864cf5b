"""Everything that a conservation statement prints, as frozen plain values.

A service fills it from the register; ``statement.render`` prints it and asks nothing else. Text is as it
was typed. An empty text or tuple is what nobody knows or recorded, and is printed as such. Sources are
cited by their number in ``sources``. What the reader may not know (private names, stores) is left out by
whoever fills it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from fractions import Fraction

from register.documents.change_words import ChangeTold
from register.documents.elevation import Elevation, Lettering
from register.documents.figure_view import FigureView
from register.documents.statement_evidence_content import (
    Evidence,
    FromElsewhere,
    Loss,
    Masses,
    OpenQuestion,
    WithElsewhere,
    Worked,
)
from register.documents.statement_texts_content import (
    Case,
    Cumulative,
    InPublic,
    LogRow,
    Policy,
    Proposed,
    TimeRow,
    Worth,
)
from register.documents.step_band import Step
from register.fabric.interval import Interval
from register.fabric.survival import Survival


@dataclass(frozen=True, slots=True)
class Issue:
    """What an issued statement bears besides. check_at: the address where it is checked. issue: which one of the
    vehicle's statements. entry: its place in the chain; previous: the last hash before it. accepted: findings that
    were accepted, each with the reason. why: it was issued anew. changed: since the one that it supersedes."""

    number: str
    edition: str
    issued_on: date
    approved_by: str
    supersedes: str
    inputs_sha256: str
    check_at: str
    issue: int = 1
    figures_sha256: str = ""
    texts_sha256: str = ""
    entry: int = 1
    previous: str = ""
    accepted: tuple[str, ...] = ()
    why: str = ""
    changed: ChangeTold | None = None


@dataclass(frozen=True, slots=True)
class Front:
    """What the statement is about, and how it was made.

    kind: of vehicle, in words. built: its date in words. owner: the name that may be public. day: as at when.
    change_number: of the register that the statement was taken from. issue: None for a draft. public_address:
    of the page that anybody may read, "" without one.
    """

    railway: str
    vehicle: str
    number: str
    kind: str
    builder: str
    works_number: str
    built: str
    owner: str
    day: date
    method_version: str
    software_version: str
    change_number: int
    written_by: str
    former_numbers: tuple[str, ...] = ()
    summary: str = ""
    issue: Issue | None = None
    public_address: str = ""

    @property
    def is_public(self) -> bool:
        """Whether it is the short edition for visitors."""
        return self.issue is not None and self.issue.edition == "public"

    @property
    def status(self) -> str:
        return "DRAFT" if self.issue is None else ""

    @property
    def name(self) -> str:
        """``No. 6 Harrenby``; a number that the name says already is not said twice."""
        if not self.number or self.number in self.vehicle:
            return self.vehicle
        return f"{'No. ' if self.number.isdigit() else ''}{self.number} {self.vehicle}".strip()


@dataclass(frozen=True, slots=True)
class ReferencePeriod:
    """date: in words. reason: why this state is one to measure against."""

    label: str
    date: str
    reason: str
    is_default: bool = False


@dataclass(frozen=True, slots=True)
class HistoryEvent:
    """until: the end of a state that lasted. holder: who holds the paper of an examination, which is
    never a result."""

    date: str
    kind: str
    title: str
    until: str = ""
    reference: str = ""
    holder: str = ""
    sources: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Balloon:
    """A numbered event on the chart of change. day: a day number. words: what happened, or was found out. dated, event:
    when, in words, and its title."""

    number: str
    day: int
    words: str
    dated: str = ""
    event: str = ""


@dataclass(frozen=True, slots=True)
class OverTime:
    """How the figures went. about: by what, against what. until: the day number of the statement."""

    about: str
    steps: tuple[Step, ...]
    until: int
    balloons: tuple[Balloon, ...] = ()


@dataclass(frozen=True, slots=True)
class PartRow:
    """A part in its position.

    status: "" not assessed. doubtful: assessed on little. disputed: the other status that is claimed,
    "?" where it is not known which, "" undisputed. original_low, _best, _high: per cent against the
    default reference; best None where there is none. remark: why it is in no figure, or what kind of
    historic part it is, in a few words. mass in grams, None: not known; mass_basis: how it is known.
    evidence: its strength in words.
    """

    position: str
    part: str
    part_id: str
    status: str
    original_low: Fraction
    original_best: Fraction | None
    original_high: Fraction
    fitted: str
    visibility: str
    evidence: str
    quantity: int = 1
    mass: Interval | None = None
    mass_basis: str = ""
    doubtful: bool = False
    disputed: str = ""
    remark: str = ""
    sources: tuple[int, ...] = ()
    is_wear: bool = False


@dataclass(frozen=True, slots=True)
class Assembly:
    """A branch of the tree of positions. mass: of its weighted parts in grams, None where nothing is
    weighed."""

    name: str
    parts: tuple[PartRow, ...]
    mass: int | None = None


@dataclass(frozen=True, slots=True)
class NewPart:
    """A replica or modern substitute. date_mark: how the part itself is marked as new. case: the proposal that it came
    by; undo: whether, and how, it can be undone."""

    position: str
    part: str
    part_id: str
    status: str
    visibility: str
    fitted: str
    reason: str
    date_mark: str
    material: str = ""
    case: str = ""
    undo: str = ""


@dataclass(frozen=True, slots=True)
class Unweighted:
    """A part that is in no figure by mass. grade: its significance."""

    position: str
    part: str
    part_id: str
    status: str
    grade: str = ""


@dataclass(frozen=True, slots=True)
class RemovedPart:
    """A part that has left the vehicle. whereabouts: what may be said of it. survives: per cent, None:
    not assessed."""

    part: str
    part_id: str
    position: str
    removed: str
    reason: str
    whereabouts: str
    status: str = ""
    survives: tuple[Fraction, Fraction] | None = None


@dataclass(frozen=True, slots=True)
class Dispute:
    """Evidence that contradicts an accepted assessment."""

    part: str
    part_id: str
    position: str
    status: str
    contradicted_by: str
    sources: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Hazard:
    """What a part is recorded to hold, or to be presumed to hold."""

    part: str
    part_id: str
    position: str
    hazards: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SourceRow:
    """number: by which it is cited here."""

    number: int
    kind: str
    title: str
    author: str = ""
    date: str = ""
    repository: str = ""
    reference: str = ""


@dataclass(frozen=True, slots=True)
class Statement:
    """figures: views made with ``guarded``, the headline first, then every other basis and reference.
    unknown: sentences. safety: the kinds of danger that its positions are marked with."""

    front: Front
    figures: tuple[FigureView, ...]
    identity: str = ""
    references: tuple[ReferencePeriod, ...] = ()
    history: tuple[HistoryEvent, ...] = ()
    survival: tuple[Survival, ...] = ()
    over_time: OverTime | None = None
    schedule: tuple[Assembly, ...] = ()
    new_parts: tuple[NewPart, ...] = ()
    cases: tuple[Case, ...] = ()
    unweighted: tuple[Unweighted, ...] = ()
    removed: tuple[RemovedPart, ...] = ()
    disputes: tuple[Dispute, ...] = ()
    unknown: tuple[str, ...] = ()
    sources: tuple[SourceRow, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    safety: tuple[str, ...] = ()
    elevation: Elevation | None = None
    losses: tuple[Loss, ...] = ()
    open_questions: tuple[OpenQuestion, ...] = ()
    evidence: Evidence | None = None
    elsewhere: tuple[FromElsewhere, ...] = ()
    with_elsewhere: WithElsewhere | None = None
    masses: Masses | None = None
    worked: Worked | None = None
    significance: tuple[Worth, ...] = ()
    time_rows: tuple[TimeRow, ...] = ()
    cumulative: Cumulative | None = None
    proposed: Proposed | None = None
    policy: Policy | None = None
    log: tuple[LogRow, ...] = ()
    in_public: InPublic | None = None


def texts_of(content: Statement) -> Iterator[tuple[str, str]]:
    """Every text in the content after the place it stands in, such as ``schedule 1, parts 3, position``,
    counted from 1."""
    yield from _texts(content, "")


def _texts(value: object, where: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield where, value
    elif isinstance(value, FigureView | Survival):
        yield (
            f"{where}, reference",
            value.reference if isinstance(value, FigureView) else value.reference.label,
        )
    elif isinstance(value, Elevation):
        yield f"{where}, title", value.title
        for number, one in enumerate((one for one in value.pieces if isinstance(one, Lettering)), 1):
            yield f"{where}, lettering {number}", one.text
    elif isinstance(value, tuple):
        for number, one in enumerate(value, 1):
            yield from _texts(one, f"{where} {number}")
    elif is_dataclass(value):
        for field in fields(value):
            name = field.name.replace("_", " ")
            yield from _texts(getattr(value, field.name), f"{where}, {name}" if where else name)
