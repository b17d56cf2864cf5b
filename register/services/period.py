"""A report on what was done to the vehicles and what was found out between two days: for trustees, or for the magazine.

The figures are those of the day before the period and of its last day, parted by section 12 of the method: knowledge is
what the rows known in the end say of the first of these days that those known then did not; work is the rest.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from django.conf import settings
from django.utils import timezone

from register.documents.figure_words import count_of
from register.documents.period_content import (
    DECIDED,
    FOUND,
    ISSUED,
    KINDS,
    MAGAZINE,
    TRUSTEES,
    Front,
    Group,
    Line,
    PeriodReport,
    VehicleReport,
)
from register.documents.period_paper import render
from register.documents.period_words import dated_loosely
from register.exchange.faults import Fault, Refused
from register.exchange.values import key_of
from register.fabric.dates import day_in_words
from register.fabric.period import LONGEST, Period, is_too_long
from register.models import User, Vehicle
from register.services.happenings import Happenings
from register.services.period_assessed import Assessed
from register.services.period_decided import finds_accepted, proposals_decided, statements_entered
from register.services.period_figures import VehicleSums
from register.services.period_found import Found
from register.services.period_lines import Lines
from register.services.period_moments import Moments, moments
from register.services.period_pictures import Pictures
from register.services.sight import PUBLIC, Sight
from register.services.statement_edition import software_version
from register.services.statement_figures import METHOD_VERSION


@dataclass(frozen=True, slots=True)
class Asked:
    """first, last: both included. known: the last day whose entries are read, None for the last of the period. vehicles:
    their ids, none for all."""

    first: date
    last: date
    known: date | None = None
    vehicles: tuple[str, ...] = ()
    edition: str = TRUSTEES

    @property
    def read_until(self) -> date:
        return self.known or self.last


def faults_in(asked: Asked, *, today: date) -> Iterator[Fault]:
    """What is wrong with the days."""
    first, last, known = asked.first, asked.last, asked.read_until
    days = {name: day_in_words(day) for name, day in (("first", first), ("last", last), ("known", known), ("today", today))}
    if last > today:
        yield _fault("last", f"{days['last']} is still to come: a report is of what has happened. Give a day up to {days['today']}.")
    if first > last:
        yield _fault("first", f"{days['first']} is after {days['last']}: give the earlier day first.")
    elif is_too_long(first, last):
        sentence = f"From {days['first']} to {days['last']} is longer than {LONGEST} years, which is the most that one report tells."
        yield _fault("first", f"{sentence} Give a shorter period; the pages of a vehicle show her whole life.")
    if asked.known is None:
        return
    if known > today:
        yield _fault("known", f"{days['known']} is still to come: nothing has been entered by then.")
    elif first <= last and known < last:
        yield _fault("known", f"{days['known']} is before the last day, {days['last']}: give that day or a later one, or leave it empty.")


def _fault(column: str, message: str) -> Fault:
    return Fault("", None, column, "", message)


def period_report(asked: Asked, *, today: date, sight: Sight, written_by: User | None = None) -> PeriodReport:
    """Everything that the report says, in a number of queries that neither vehicles nor parts change. Raises Refused with
    every fault. sight: what the reader may read; the magazine's edition is what anybody may."""
    faults = list(faults_in(asked, today=today))
    if faults:
        raise Refused(faults)
    period = Period(asked.first.toordinal(), asked.last.toordinal())
    found = moments(period, asked.read_until, PUBLIC if asked.edition == MAGAZINE else sight)
    return _Report(asked, found, written_by).report()


def paper_of(report: PeriodReport) -> bytes:
    """The report as a PDF."""
    return render(report)


class _Report:
    """One report in the making."""

    def __init__(self, asked: Asked, found: Moments, written_by: User | None) -> None:
        self.asked, self.moments, self.written_by = asked, found, written_by
        self.vehicles = self._asked_for()
        self.sums, self.lines = VehicleSums(found), Lines(found)
        self.found = Found(found, self.lines, Assessed(found, self.sums.strengths()))
        self.decided, self.issued = proposals_decided(found), statements_entered(found)
        self.finds, self.pictures = finds_accepted(found), Pictures(found)

    def _asked_for(self) -> list[str]:
        """Keys of the vehicles asked for. Raises Refused for one that there is not."""
        now, retired = self.moments.now, self.moments.now.retired
        faults = []
        for code in self.asked.vehicles:
            key = key_of(code)
            if key in now.tables["vehicles"]:
                continue
            gone = retired.get(("vehicles", key))
            faults.append(
                _fault("v", f"{gone.code} was struck out of the register on {gone.when} ({gone.why or 'no reason given'}). Leave it out.")
                if gone
                else _fault("v", f"There is no vehicle {code} in this register. Choose one of the list.")
            )
        if faults:
            raise Refused(faults)
        return list(dict.fromkeys(key_of(code) for code in self.asked.vehicles))

    def report(self) -> PeriodReport:
        told = [self._vehicle(key) for key in self._keys()]
        if not self.vehicles:
            told.append(self._of_no_vehicle())
        happened = [one for one, is_quiet, _ in told if not is_quiet]
        quiet = tuple(one.name for one, is_quiet, is_named in told if is_quiet and is_named)
        return PeriodReport(self._front(), tuple(happened), quiet, tuple(self._notes()), tuple(self._beside()))

    def _front(self) -> Front:
        asked, after = self.asked, self.moments.after
        writer = self.written_by.person if self.written_by else None
        return Front(
            railway=settings.SITE_NAME,
            edition=asked.edition,
            first=asked.first,
            last=asked.last,
            known=asked.read_until,
            vehicles=tuple(name for key in self.vehicles if (name := after.seen.vehicle(key))),
            written_by=str(writer.public_as) if writer else "",
            method_version=METHOD_VERSION,
            software_version=software_version(),
            change_number=after.full.change_no,
        )

    # --- one vehicle ------------------------------------------------------------------------------------------------

    def _keys(self) -> list[str]:
        """Of the vehicles that the report tells of: those asked for, else every one that was in the register at an end of
        the period, the fleet first."""
        states = self.moments.after.seen.register.tables["vehicles"], self.moments.before.seen.register.tables["vehicles"]
        every = {key: (states[0].get(key) or states[1][key]) for one in states for key in one}
        if self.moments.sight.public:
            every = {key: row for key, row in states[0].items() if row["published"]}
        rows = {key: row for key, row in every.items() if not self.vehicles or key in self.vehicles}
        return sorted(rows, key=lambda key: (not rows[key]["in_fleet"], key))

    def _vehicle(self, key: str) -> tuple[VehicleReport, bool, bool]:
        """The report of a vehicle, whether there is nothing to tell of it, and whether that is to be said."""
        seen_after, seen_before = self.moments.after.seen, self.moments.before.seen
        row = seen_after.row("vehicles", key) or seen_before.row("vehicles", key)
        name = seen_after.vehicle(key) or seen_before.vehicle(key)
        groups = tuple(self._groups(key))
        figures, has_changed = self.sums.told(key)
        lead = tuple(self._lead(key))
        is_named = bool(row and row["in_fleet"]) or bool(self.vehicles)
        is_quiet = not groups and not has_changed and not (lead and is_named)
        if is_quiet:
            return VehicleReport(name, key), True, is_named
        return VehicleReport(name, key, lead, figures, groups, self.pictures.of(key, _parts_in(groups))), False, is_named

    def _of_no_vehicle(self) -> tuple[VehicleReport, bool, bool]:
        groups = tuple(self._groups(""))
        made = VehicleReport("Parts that belong to no vehicle", "", groups=groups, photographs=self.pictures.of("", _parts_in(groups)))
        return made, not groups, False

    def _groups(self, key: str) -> Iterator[Group]:
        found = {group.kind: group for group in self.lines.groups(key)}
        told: dict[str, tuple[Line, ...]] = {
            FOUND: (*self.found.lines(key), *self.finds.get(key, ())),
            DECIDED: tuple(self.decided.get(key, ())),
            ISSUED: tuple(self.issued.get(key, ())),
        }
        found |= {kind: Group(kind, lines) for kind, lines in told.items() if lines}
        if (possible := self.lines.possible(key)) is not None:
            found[possible.kind] = possible
        yield from (found[kind] for kind in KINDS if kind in found)

    def _lead(self, key: str) -> Iterator[str]:
        """What became of the vehicle's own record, which is nothing for the public."""
        if self.moments.sight.public:
            return
        before, after = (one.full.tables["vehicles"].get(key) for one in (self.moments.before, self.moments.after))
        if after is None:
            retired = self.moments.now.retired.get(("vehicles", key))
            yield f"It left the register{f' on {retired.when}: {retired.why}' if retired else ''}."
            return
        if before is None:
            yield f"It is new to the register, entered on {day_in_words(self.came[key])}, with {self._size(key)}."
            return
        changed = [name.replace("_", " ") for name in TOLD_OF_A_VEHICLE if before[name] != after[name]]
        if changed:
            yield f"Its own record says something new of: {', '.join(changed)}."
        was, now = (set(one.positions) for one in (self.sums.before[key], self.sums.after[key]))
        said = [(len(now - was), "new to the register"), (len(was - now), "no longer in it")]
        if counts := ", ".join(f"{count_of(number, 'position')} {words}" for number, words in said if number):
            yield f"Of its positions: {counts}."

    @cached_property
    def came(self) -> dict[str, date]:
        """When each vehicle came into the register."""
        rows = Vehicle.history.filter(history_type="+").values_list("key", "act__at")
        return {key: timezone.localtime(at).date() for key, at in rows}

    def _size(self, key: str) -> str:
        inputs = self.sums.after[key]
        return f"{count_of(len(inputs.parts), 'part')}, {len(inputs.assessments):,} of them assessed"

    # --- what is said of the whole ------------------------------------------------------------------------------------

    def _notes(self) -> Iterator[str]:
        found = self.moments
        if not found.after.full.tables["vehicles"]:
            yield "The register held no vehicle yet on the last day whose entries are read."
        if loose := sum(self.lines.loose(key) for key in (*self._keys(), *([] if self.vehicles else [""]))):
            yield dated_loosely(loose)
        others = sum(not row["in_fleet"] for row in found.after.seen.register.tables["vehicles"].values())
        if others and not self.vehicles and not found.sight.public:
            yield "Vehicles that are not in the fleet, and only gave or took parts, are told of where something happened to them."

    def _beside(self) -> Iterator[str]:
        """For whoever asks."""
        late = self._entered_since()
        if late:
            many = "1 thing" if late == 1 else f"{late:,} things"
            yield (
                f"{many} of this period {'was' if late == 1 else 'were'} entered after {day_in_words(self.asked.read_until)} and so"
                " left out here; the report on the days after it tells them as found out. To have"
                " them here as well, ask with what was entered until a later day."
            )
        if self.pictures.left_out:
            yield (
                f"{count_of(self.pictures.left_out, 'photograph')} left out: the licence does not say that it may be printed. State one"
                " that does (CC0, CC BY, CC BY-SA, public domain, or “may be printed”) in the photograph’s record."
            )
        if self.moments.sight.public and self.vehicles:
            closed = [key for key in self.vehicles if key not in self._keys()]
            names = ", ".join(str(self.moments.now.tables["vehicles"][key]["name"]) for key in closed)
            if names:
                yield f"Not published, and so not in the magazine’s edition: {names}."

    def _entered_since(self) -> int:
        """How many things of the period are in the register by now that were not on the day whose entries are read."""
        found = self.moments
        if found.after.full is found.now or found.sight.public:
            return 0
        known, tables = found.after.happened.all, found.now.tables
        now = Happenings(found.now).all.values()
        return sum(
            found.period.is_of(one.span)
            and (one.key not in known or known[one.key].stamp != one.stamp)
            and (not self.vehicles or one.vehicle in self.vehicles)
            and (found.sight.restricted or one.row.get("access") != "restricted")
            and (one.part is None or found.sight.restricted or tables["parts"][one.part]["access"] == "public")
            for one in now
        )


TOLD_OF_A_VEHICLE = ("name", "number", "built", "heritage_from", "empty_mass", "identity_basis", "builder", "works_number")


def _parts_in(groups: tuple[Group, ...]) -> set[str]:
    return {line.key for group in groups for line in group.lines if line.key}
