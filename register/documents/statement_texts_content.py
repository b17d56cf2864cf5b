"""What a conservation statement says in words beside its figures, as frozen plain values: significance, change over time,
the impact of open proposals, policy, decisions, and what may be said in public."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Worth:
    """What the vehicle, or a main group of it, is worth. name: "" for the whole. grade: of the group's own position;
    reason: why it has that grade. grades: how many positions in it have each grade, in words. heads: (label, words), ""
    for what is not recorded."""

    name: str
    heads: tuple[tuple[str, str], ...]
    code: str = ""
    grade: str = ""
    reason: str = ""
    grades: str = ""

    @property
    def is_recorded(self) -> bool:
        return any(words for _, words in self.heads)


@dataclass(frozen=True, slots=True)
class TimeRow:
    """The figures of one day, as printed. what: happened then, or why the day is told. is_event: whether it is the title of
    an event, of which not everybody may read."""

    day: str
    what: str
    bounds: str
    best: str
    assessed: str
    is_event: bool = False


@dataclass(frozen=True, slots=True)
class SinceRow:
    """Best figures as printed, and the change between them in points."""

    label: str
    then: str
    now: str
    change: str


@dataclass(frozen=True, slots=True)
class Fate:
    """What became of a share of the vehicle of the reference period. is_gone: its fabric is lost for good."""

    words: str
    weight: str
    percent: str
    is_gone: bool = False


@dataclass(frozen=True, slots=True)
class Cumulative:
    """What was lost in all. about: by what, against what. limit: what the policy allows, "" where it says nothing."""

    about: str
    since: tuple[SinceRow, ...]
    fates: tuple[Fate, ...] = ()
    total: tuple[str, str] = ("", "")
    gone: tuple[str, str] = ("", "")
    limit: str = ""


@dataclass(frozen=True, slots=True)
class Option:
    """An alternative of a proposal, its figures as printed with the change in brackets. figures: one for each row of the
    impact. steps: what it would do, in words."""

    letter: str
    title: str
    words: str
    is_recommended: bool
    figures: tuple[str, ...]
    leaving: str
    undo: str
    why_not: str
    steps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Impact:
    """An open proposal. labels: of the figures; now: as they are. tests: (question, answer) of harm against benefit,
    and what else an assessor asks. conclusion: a sentence."""

    code: str
    title: str
    state: str
    need: str
    labels: tuple[str, ...]
    now: tuple[str, ...]
    options: tuple[Option, ...]
    tests: tuple[tuple[str, str], ...]
    conclusion: str


@dataclass(frozen=True, slots=True)
class Proposed:
    """impacts: of open proposals. writing: how many more are being written."""

    impacts: tuple[Impact, ...] = ()
    writing: int = 0


@dataclass(frozen=True, slots=True)
class Case:
    """Why a replica or a modern substitute is there. against: the other ways, each with the reason against it."""

    code: str
    title: str
    why: str
    against: str
    decided: str


@dataclass(frozen=True, slots=True)
class Policy:
    """rules: (label, words), "" for what it does not say. laid_down: when and by whom."""

    rules: tuple[tuple[str, str], ...]
    laid_down: str


@dataclass(frozen=True, slots=True)
class LogRow:
    """A decision. more: conditions, the minute and so on."""

    day: str
    what: str
    who: str
    more: str = ""


@dataclass(frozen=True, slots=True)
class InPublic:
    """sentence: that may stand on a panel, worked out from the figures. panel: what does stand there, "" not recorded.
    agrees: whether the figures in it agree, a sentence. never: what must not be claimed."""

    sentence: str
    panel: str = ""
    agrees: str = ""
    never: tuple[str, ...] = ()
