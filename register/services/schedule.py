"""A schedule of figures for an application: several vehicles, before, after the works proposed and after completion.

Nothing is stored: the same choices give the same schedule, and the data hash tells whether the records were the same.
"""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from urllib.parse import urlencode

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from register.documents.figure_view import figure_view
from register.documents.figure_words import reference_words
from register.documents.schedule import (
    BEFORE,
    COMPLETED,
    NOT_CHOSEN,
    PROPOSED,
    Entry,
    Run,
    Schedule,
    State,
)
from register.exchange.faults import Fault, Refused
from register.exchange.values import key_of
from register.fabric.figures import figures_on
from register.fabric.inputs import BASES, Reference, VehicleInputs
from register.fabric.inputs_json import data_hash
from register.models import Proposal, RetiredId, User, Vehicle
from register.policy import ROLES, may, roles_of
from register.services.inputs import NoSuch, inputs_of_all, reference_named
from register.services.loading import last_change_no, state
from register.services.schedule_works import (
    Proposed,
    Work,
    completion,
    hidden_by_assessments,
    proposals_numbered,
    proposed,
    too_late,
    work_of,
)
from register.services.statement_edition import software_version
from register.services.statement_figures import METHOD_VERSION

MOST = 12
"""Vehicles of one schedule."""
LONGEST_ID = 40
NOT_BY_COUNT = (
    "Vehicles are never compared by count, so with more than one of them the headline is by mass. The figures by count are in"
    " each vehicle’s own table."
)
CALLED = {"recorder": "a recorder", "engineer": "the workshop engineer", "officer": "the heritage officer",
          "administrator": "the administrator"}  # fmt: skip
"""Who ran it, where the person has not agreed to be named."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The choices of a schedule. vehicles: ids; reference: a label, None for each vehicle's own default; basis: of the
    headline; proposals: their numbers; completed: the day of the state after completion, None for the day on which the
    proposals were completed."""

    vehicles: tuple[str, ...]
    day: date
    reference: str | None = None
    basis: str = "mass"
    proposals: tuple[int, ...] = ()
    completed: date | None = None

    def parameters(self) -> list[tuple[str, str]]:
        """As an address holds them."""
        found = [("v", one) for one in self.vehicles]
        found += [("as_at", self.day.isoformat()), ("basis", self.basis)]
        if self.reference:
            found.append(("reference", self.reference))
        found += [("proposal", f"P-{one:03d}") for one in self.proposals]
        if self.completed:
            found.append(("completed", self.completed.isoformat()))
        return found


@dataclass(frozen=True, slots=True)
class Gathered:
    """A schedule, and by vehicle and state the inputs that its figures were computed from."""

    schedule: Schedule
    inputs: Mapping[tuple[str, str], VehicleInputs]


def schedule_of(asked: Asked, *, user: User | None = None, at: datetime | None = None) -> Schedule:
    """The schedule. user: who asks, None at the command line. Raises Refused with everything that is wrong in the choices."""
    return gathered(asked, user=user, at=at).schedule


def gathered(asked: Asked, *, user: User | None = None, at: datetime | None = None) -> Gathered:
    """The same with its inputs, in a number of queries that neither vehicles nor proposals change."""
    vehicles, works, faults = _chosen(asked, user)
    if faults:
        raise Refused(faults)
    plain = replace(
        asked,
        vehicles=tuple(one.code for one in vehicles),
        proposals=tuple(sorted(one.proposal.number for one in works)),
    )
    sentences: list[str] = []
    if asked.basis == "count" and len(vehicles) > 1:
        plain = replace(plain, basis="mass")
        sentences.append(NOT_BY_COUNT)
    made = _Gathering(plain, vehicles, works)
    entries = tuple(made.entry(one) for one in vehicles)
    run = _run(plain, user, timezone.localtime(at or timezone.now()))
    schedule = Schedule(run, plain.day, plain.basis, entries, bool(works), tuple(sentences))
    return Gathered(schedule, made.used)


# What was chosen


def _chosen(asked: Asked, user: User | None) -> tuple[list[Vehicle], list[Work], list[Fault]]:
    """The vehicles in the order of their ids, the proposals, and what is wrong in the choices."""
    typed = {key_of(one.strip()): one.strip() for one in asked.vehicles if one.strip()}
    keys = list(typed)
    if not keys:
        return [], [], [_fault("v", "", "Choose at least one vehicle.")]
    if len(keys) > MOST:
        sentence = f"{len(keys)} vehicles were chosen, and a schedule takes {MOST} at most: make several schedules."
        return [], [], [_fault("v", "", sentence)]
    askable = [one for one in keys if len(one) <= LONGEST_ID and one.isprintable()]
    vehicles = list(Vehicle.objects.filter(key__in=askable).order_by("key"))
    known = {one.key for one in vehicles}
    faults = list(_unknown({key: text for key, text in typed.items() if key not in known}))
    if asked.basis not in BASES:
        faults.append(_fault("basis", asked.basis, f"A basis is one of {', '.join(BASES)}."))
    if asked.completed and asked.completed <= asked.day:
        faults.append(_fault("completed", "", "The day of completion comes after the day of the figures before."))
    works, wrong = _works(asked, known, user)
    return vehicles, works, [*faults, *wrong]


def _fault(column: str, value: str, message: str) -> Fault:
    return Fault("", None, column, value, message)


def _unknown(typed: Mapping[str, str]) -> Iterator[Fault]:
    """What to say of ids (by key, as typed) that no vehicle has: struck out, or never there."""
    askable = [one for one in typed if len(one) <= LONGEST_ID and one.isprintable()]
    rows = RetiredId.objects.filter(table="vehicles", key__in=askable).select_related("act") if askable else ()
    retired = {one.key: one for one in rows}
    for key, text in typed.items():
        if (row := retired.get(key)) is not None:
            day = f"{timezone.localtime(row.act.at):%-d %B %Y}"
            yield _fault("v", row.code, f"{row.code} was struck out on {day}: leave it out.")
        else:
            yield _fault("v", text[:60], f"There is no vehicle “{_shown(text)}” in this register: correct it, or leave it out.")


def _shown(text: str) -> str:
    cut = text if len(text) <= LONGEST_ID else f"{text[: LONGEST_ID - 1]}…"
    return "".join(letter if letter.isprintable() else "\ufffd" for letter in cut)


def _works(asked: Asked, vehicles: set[str], user: User | None) -> tuple[list[Work], list[Fault]]:
    """What somebody may not read of is answered like what is not there."""
    numbers = list(dict.fromkeys(asked.proposals))
    if not numbers:
        return [], []
    found = proposals_numbered(numbers) if user is None or may(user, "read proposals") else {}
    faults = []
    for number in numbers:
        one = found.get(number)
        code = f"P-{number:03d}"
        if one is None:
            faults.append(_fault("proposal", code, f"There is no proposal {code} for these vehicles: leave it out."))
        elif one.vehicle not in vehicles:
            sentence = f"{code} is for another vehicle than those chosen: choose that vehicle too, or leave the proposal out."
            faults.append(_fault("proposal", code, sentence))
    return [work_of(one) for one in found.values() if one.vehicle in vehicles], faults


def proposals_for(vehicles: Iterable[str], user: User) -> list[Proposal]:
    """Those that may be chosen with these vehicles (their keys), newest first."""
    if not may(user, "read proposals"):
        return []
    return list(Proposal.objects.filter(vehicle__in=list(vehicles)).order_by("-number"))


# What is said of it


class _Gathering:
    """One schedule in the making. used: the inputs behind each state that has figures."""

    def __init__(self, asked: Asked, vehicles: Sequence[Vehicle], works: Sequence[Work]) -> None:
        self.asked = asked
        self.used: dict[tuple[str, str], VehicleInputs] = {}
        self.works = {one.key: [work for work in works if work.proposal.vehicle == one.key] for one in vehicles}
        self.inputs = inputs_of_all(vehicles)
        self.proposed = proposed(list(self.inputs), works, asked.day) if works else Proposed()

    def entry(self, vehicle: Vehicle) -> Entry:
        inputs, works = self.inputs[vehicle.key], self.works[vehicle.key]
        try:
            reference = reference_named(inputs, self.asked.reference)
        except NoSuch:
            return Entry(vehicle.key, vehicle.code, vehicle.full_name, missing=self._no_such_period(vehicle))
        return Entry(
            vehicle.key,
            vehicle.code,
            vehicle.full_name,
            reference_words(reference),
            reference.edtf,
            (
                self._state(BEFORE, inputs, reference, self.asked.day),
                self._proposed(vehicle.key, reference),
                self._completed(vehicle.key, reference),
            ),
            tuple(one.words for one in sorted(works, key=lambda one: one.proposal.number)),
        )

    def _no_such_period(self, vehicle: Vehicle) -> str:
        has = ", ".join(f"“{one.label}”" for one in self.inputs[vehicle.key].references)
        return f"It has no reference period “{self.asked.reference}”, so no figure is given; it has {has}."

    def _state(
        self, name: str, inputs: VehicleInputs, reference: Reference, day: date, notes: Iterable[str] = ()
    ) -> State:
        self.used[inputs.vehicle.key, name] = inputs
        found = figures_on(inputs, day=day.toordinal(), reference=reference)
        views = {basis: figure_view(answer, inputs, guarded=True) for basis, answer in found.items()}
        return State(name, day, views, data_hash(inputs), notes=tuple(filter(None, notes)))

    def _proposed(self, key: str, reference: Reference) -> State:
        works = self.works[key]
        why = [one for work in works for one in self.proposed.faults.get(work.proposal.number, ())]
        if why:
            return State(PROPOSED, missing=" ".join(why))
        after = self.proposed.inputs.get(key)
        if after is None or (not works and data_hash(after) == data_hash(self.inputs[key])):
            return State(PROPOSED, missing=NOT_CHOSEN)
        notes = [] if works else ["Of works proposed on other vehicles."]
        if any(work.change_nos for work in works):
            notes.append("That is reckoned without what was entered when these works were carried out.")
        notes.append(hidden_by_assessments(works, after, self.asked.day))
        return self._state(PROPOSED, after, reference_named(after, reference.label), self.asked.day, notes)

    def _completed(self, key: str, reference: Reference) -> State:
        works = self.works[key]
        day, waiting = completion(works)
        if self.asked.completed is not None:
            return self._state(COMPLETED, self.inputs[key], reference, self.asked.completed, [waiting])
        if day is None:
            return State(COMPLETED, missing=waiting or NOT_CHOSEN)
        return self._state(COMPLETED, self.inputs[key], reference, day, [too_late(self.asked.day, day)])


# The run


def _run(asked: Asked, user: User | None, at: datetime) -> Run:
    return Run(
        railway=settings.SITE_NAME,
        at=at,
        by=called(user),
        method_version=METHOD_VERSION,
        software_version=software_version(),
        change_no=last_change_no(),
        register_id=str(state().register_id),
        address=address_of(asked),
        command=command_of(asked),
        parameters=tuple(asked.parameters()),
    )


def called(user: User | None) -> str:
    """What the person agreed to be called in print, else the role."""
    if user is None:
        return "the command line"
    if user.person and user.person.public_as:
        return str(user.person.public_as)
    return next((CALLED[role] for role in reversed(ROLES) if role in roles_of(user)), "somebody who may sign in")


def address_of(asked: Asked) -> str:
    """The address of the page that gives the same again, whole where the site knows its own."""
    return f"{settings.PUBLIC_BASE_URL}{reverse('schedule')}?{urlencode(asked.parameters())}"


def command_of(asked: Asked) -> str:
    """The command that gives the same again."""
    words = ["python", "manage.py", "schedule", *asked.vehicles]
    named = {"as_at": "as-at"}
    words += [f"--{named.get(name, name)}={value}" for name, value in asked.parameters() if name != "v"]
    return shlex.join([*words, "--output=schedule.xlsx"])

