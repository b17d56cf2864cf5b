"""What stands between a draft and an issued statement: findings that block, and findings that may be accepted with a
reason, which is issued with it."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from django.utils import timezone

from register.documents.panel_words import outside
from register.documents.statement import missing_glyphs_of
from register.documents.statement_content import Statement as Content
from register.documents.statement_content import texts_of
from register.exchange.records import Register
from register.models import Act, ChangeSet, Entry, Person, Place
from register.models.change_set import WAITING
from register.services.chain import told_by
from register.services.findings import check_vehicle
from register.services.photographs import original_path
from register.services.statement_figures import stated
from register.services.statement_told import printed_bounds

MAX_REASON = 2000
SHORTEST = 4
"""Letters of a name that is looked for in what leaves the railway: a shorter one would be found in other words."""


@dataclass(frozen=True, slots=True)
class Found:
    """code: what kind it is, the same for all that one reason may accept. record: its id, "" for the vehicle."""

    code: str
    record: str
    message: str
    blocks: bool = False


@dataclass(frozen=True, slots=True)
class Case:
    """What is looked at: the rows to be frozen, what would be printed inside and outside the railway, and when."""

    vehicle: str
    register: Register
    content: Content
    outside: Content
    day: date
    reference: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Group:
    """Findings of one kind. name: of its field in a form. reason: why they are accepted, "" so far."""

    code: str
    found: tuple[Found, ...]
    reason: str = ""

    @property
    def name(self) -> str:
        return f"accept-{self.code}"


@dataclass(slots=True)
class Readiness:
    blocking: list[Found] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)

    @property
    def lacking(self) -> list[Group]:
        """Kinds of findings that nobody has given a reason for."""
        return [one for one in self.groups if not one.reason]


def readiness(case: Case, reasons: Mapping[str, str]) -> Readiness:
    """Every finding. reasons: by code, why findings of that kind are accepted."""
    found = [one for look in LOOKS for one in look(case)]
    kinds: dict[str, list[Found]] = {}
    for one in found:
        if not one.blocks:
            kinds.setdefault(one.code, []).append(one)
    return Readiness(
        [one for one in found if one.blocks],
        [
            Group(code, tuple(some), reasons.get(code, "").strip()[:MAX_REASON])
            for code, some in kinds.items()
        ],
    )


def _clock(case: Case) -> Iterator[Found]:
    """Order is by number, never by clock; but a paper with a date before the last act's would be a wrong paper."""
    last = Act.objects.order_by("-at").values_list("at", flat=True).first()
    entry = Entry.objects.order_by("-seq").first()
    latest = max(
        (one for one in (last, datetime.fromisoformat(told_by(entry)["at"]) if entry else None) if one),
        default=None,
    )
    if latest and case.at < latest:
        yield Found(
            "clock",
            "",
            f"the clock says {timezone.localtime(case.at):%-d %B %Y, %H:%M}, and the register was last changed on "
            f"{timezone.localtime(latest):%-d %B %Y, %H:%M}. Put the clock of the machine right.",
            True,
        )
    if case.day > timezone.localdate(case.at):
        yield Found("future", "", "a statement is of a day that has come: choose today or an earlier day.", True)


def _nothing_to_state(case: Case) -> Iterator[Found]:
    found = stated(case.register, case.vehicle, case.day, case.reference)
    if not any(view.figures.items for view in case.content.figures):
        yield Found(
            "empty", "", "no part is fitted on that day, so there is nothing to state. Record what is fitted.", True
        )
    if case.day.toordinal() < found.inputs.vehicle.built.earliest:
        yield Found("before it was built", "", "the day is before the vehicle was built. Choose a later day.", True)


def _glyphs(case: Case) -> Iterator[Found]:
    """A character that the typeface lacks would be printed as its number: not in an issued paper."""
    for where, letter in missing_glyphs_of(case.content):
        told = f"{where}: the typeface has no {shown_letter(letter)}. Write it another way, in the record."
        yield Found("glyph", where, told, True)


def shown_letter(letter: str) -> str:
    """A character as it is named where it cannot be printed."""
    return f"“{letter}” (U+{ord(letter):04X})" if letter.isprintable() else f"U+{ord(letter):04X}"


def _evidence_files(case: Case) -> Iterator[Found]:
    """A photograph of a source or a part that is not there, or is another one, is no evidence."""
    for row in case.register.tables["photographs"].values():
        path = original_path(row["sha256"])
        if not path.is_file():
            yield Found(
                "missing photograph",
                row["file"],
                f"the photograph {row['file']} is missing (recorded SHA-256 {row['sha256']}). Import it again, or restore it from a backup.",
                True,
            )
        elif hashlib.sha256(path.read_bytes()).hexdigest() != row["sha256"]:
            yield Found(
                "damaged photograph",
                row["file"],
                f"the photograph {row['file']} is not the file that was recorded (SHA-256 {row['sha256']}). Restore it from a backup.",
                True,
            )


def _waiting(case: Case) -> Iterator[Found]:
    parts = case.register.tables["parts"]
    for draft in ChangeSet.objects.filter(state=WAITING, part__in=list(parts)).order_by("pk"):
        yield Found(
            "waiting for review", parts[draft.part]["_code"], f"{draft.title} waits for review and counts nowhere."
        )


def _disputes(case: Case) -> Iterator[Found]:
    for one in case.content.disputes:
        yield Found("disputed", one.part_id, f"{one.part_id}: some evidence contradicts “{one.status}”.")


def _consistency(case: Case) -> Iterator[Found]:
    """What does not agree in the records and nobody has explained. What was explained needs no second reason."""
    for one in check_vehicle(case.vehicle, day=case.day).open:
        yield Found(one.code, one.record, one.message)


def _unsaid(case: Case) -> Iterator[Found]:
    if not case.content.identity:
        yield Found("identity", "", "what makes this vehicle this vehicle is not stated.")
    if case.content.unweighted:
        ids = ", ".join(one.part_id or one.position for one in case.content.unweighted[:8])
        more = len(case.content.unweighted) - 8
        yield Found(
            "unweighted",
            "",
            f"{len(case.content.unweighted)} fitted without a mass and in no figure by mass: {ids}{f' and {more} more' if more > 0 else ''}.",
        )


def _panel(case: Case) -> Iterator[Found]:
    """A percentage that visitors read beside the vehicle, and that its statement does not bear out."""
    told = case.content.in_public
    for one in outside(told.panel, printed_bounds(case.content.figures)) if told else ():
        yield Found(
            "panel",
            one,
            f"the words on the panel name {one} %, which no bounds of this statement hold. Change them, or the policy's record of them.",
        )


def _private_names(case: Case) -> Iterator[Found]:
    """Names that somebody typed into a text which leaves the railway: of persons who did not agree, and of stores. A person
    without a role is a mere name that some column held, a company's as often as not, and is not looked for."""
    people = list(Person.objects.exclude(role="").values_list("name", "public_as"))
    named = {name for name, public_as in people if name not in public_as}
    named |= set(Place.objects.exclude(access="public").values_list("name", flat=True))
    named -= {public_as for _, public_as in people}  # a firm's yard is called as the firm is
    listed = [re.escape(name) for name in sorted(named) if len(name) >= SHORTEST]
    if not listed:
        return
    pattern = re.compile(rf"(?<!\w)(?:{'|'.join(listed)})(?!\w)")
    for where, words in texts_of(case.outside):
        if found := pattern.search(words):
            told = f"“{found[0]}” stands in {where}, and the assessor’s edition prints it. Write it otherwise, in the record."
            yield Found("private name", found[0], told)


Look = Callable[[Case], Iterable[Found]]
LOOKS: list[Look] = [
    _clock,
    _nothing_to_state,
    _glyphs,
    _evidence_files,
    _waiting,
    _disputes,
    _unsaid,
    _panel,
    _private_names,
    _consistency,
]
"""Every look at a draft, in the order in which its findings are told."""
