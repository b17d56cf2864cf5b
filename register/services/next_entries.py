"""What to enter next for a vehicle: the three most useful entries, each with the form that settles it.

The order is that of need: positions before parts, parts before what is said of them, what narrows the
bounds most before what only rounds the account off. Our own rule, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import islice

from register.exchange.values import key_of
from register.fabric.account import Row
from register.fabric.inputs import VISIBILITIES
from register.fabric.rounding import shown
from register.fabric.survey import ToFindOut
from register.services.inputs import Labels, PartLabel
from register.services.vehicle_page import Account, Question, account_of, survey_of

HOW_MANY = 3
FEW_EMPTY = 10
"""Where fewer than one position in so many is empty, they are asked for late: some are empty on purpose."""
WEIGHING = (
    "Lifting and weighing, and any work on pressure, brakes or running gear, are for authorised and "
    "competent people under the rules of your railway; a mass worked out from the drawing serves too."
)
HAZARDOUS = (
    "Leave it alone until a competent person has said what it is: {hazards}. Nothing has to be opened or "
    "rubbed down for an entry."
)
DANGEROUS = (
    "To look is enough for an entry; work on it ({safety}) is for authorised and competent people under the "
    "rules of your railway."
)


@dataclass(frozen=True, slots=True)
class NextEntry:
    """sentence: what to enter and why. table, key, column: of the form that settles it; key None: a new
    record, with ``given`` filled in. kind: ``positions``, ``fitted``, ``assess``, ``weigh``, ``empty
    mass``, ``reference``, ``evidence``, ``narrow`` or ``identity``. caution: to be shown beside it, "" for
    none."""

    kind: str
    sentence: str
    table: str
    key: str | None
    column: str
    given: Mapping[str, str] = field(default_factory=dict)
    caution: str = ""


def next_entries_of(vehicle_id: str, *, day: date) -> list[NextEntry]:
    """The next entries of one vehicle. Raises NoSuch."""
    return next_entries(account_of(vehicle_id, Question(day)))


def next_entries(account: Account) -> list[NextEntry]:
    """The three next useful entries, fewer where less is to do; of each kind one, then more of what there
    is more of. From the account alone: no query."""
    return _with_cautions(list(islice(_Finding(account).in_order(), HOW_MANY)), account.labels)


class _Finding:
    """The account by mass, looked through for what is missing."""

    def __init__(self, account: Account) -> None:
        self.account = account
        self.vehicle = account.vehicle
        self.answer = account.figures["mass"]
        by_mass = replace(account, question=replace(account.question, basis="mass"))
        self.survey = [one for one in survey_of(by_mass).parts if one.part is not None]

    def in_order(self) -> Iterator[NextEntry]:
        """One of each kind; then the further ones."""
        empty = self._empty()
        many = FEW_EMPTY * len(empty) >= len(self.account.inputs.positions)
        kinds = [
            self.positions(),
            self.fitted(empty if many else []),
            self.assess(),
            self.weigh(),
            self.empty_mass(),
            self.reference(),
            self.evidence(),
            self.fitted([] if many else empty),
            self.narrow(),
            self.identity(),
        ]
        later = []
        for kind in kinds:
            first = next(kind, None)
            if first is not None:
                yield first
                later.append(kind)
        for kind in later:
            yield from kind

    def positions(self) -> Iterator[NextEntry]:
        if not self.account.inputs.positions:
            yield NextEntry(
                "positions",
                f"{self.vehicle.full_name} has no positions yet: begin with the short list for a "
                f"{self.vehicle.kind}, copy those of another vehicle, or enter the first by hand.",
                "positions",
                None,
                "name",
                {"vehicle_id": self.vehicle.code},
            )

    def _empty(self) -> list[str]:
        """The positions that nothing is part of and in which nothing has ever been, the plainest to see
        first."""
        labels, positions = self.account.labels.positions, self.account.inputs.positions
        parents = {label.parent for label in labels.values()}
        filled = {one.position for one in self.account.inputs.installations}
        return sorted(
            (key for key in positions if key not in parents and key not in filled), key=self._matters
        )

    def fitted(self, empty: list[str]) -> Iterator[NextEntry]:
        labels = self.account.labels.positions
        for key in empty:
            many = f"; {len(empty)} positions are empty so far" if len(empty) > 1 else ""
            yield NextEntry(
                "fitted",
                f"Record what is fitted in {labels[key].name} ({labels[key].code}): its part, and since when "
                f"or on which day it was seen there{many}.",
                "installations",
                None,
                "part_id",
                {"position_id": labels[key].code},
            )

    def assess(self) -> Iterator[NextEntry]:
        open_ones = [one for one in self.survey if not self._assessed(one)]
        open_ones.sort(key=lambda one: (one.gain is None, -(one.gain or 0), *self._matters(one.position)))
        for one in open_ones:
            label = self._part(one.part)
            gain = "nothing is said of it yet"
            if one.gain is not None and one.gain > 0:
                gain = f"known, it would narrow the bounds by {shown(one.gain)} points"
            yield NextEntry(
                "assess",
                f"Assess {label.name} ({label.code}): {gain}.",
                "assessments",
                None,
                "status",
                {"part_id": label.code},
            )

    def weigh(self) -> Iterator[NextEntry]:
        """What has no mass at all, what matters most first; then what has only the one of the drawing, the
        heaviest first."""
        rows = [row for row in self.answer.rows if row.part is not None]
        missing = sorted(
            (row for row in rows if row.weight is None), key=lambda row: self._matters(row.position)
        )
        many = f"; {len(missing)} parts have none" if len(missing) > 1 else ""
        for row in missing:
            grade = self._grade_word(row)
            why = f"its mass is missing{f', and it is graded {grade}' if grade else ''}{many}"
            yield self._weigh(row, why)
        drawn = [row for row in rows if row.weight is not None and row.assumed]
        for row in sorted(drawn, key=lambda row: (-(row.weight.high if row.weight else 0), row.position)):
            yield self._weigh(row, "so far its mass is the one by the drawing")

    def _weigh(self, row: Row, why: str) -> NextEntry:
        label = self._part(row.part)
        sentence = f"Weigh {label.name} ({label.code}), or work its mass out: {why}."
        return NextEntry("weigh", sentence, "parts", row.part, "mass", caution=WEIGHING)

    def empty_mass(self) -> Iterator[NextEntry]:
        if self.account.inputs.vehicle.empty_mass is None:
            yield NextEntry(
                "empty mass",
                f"Give the empty mass of {self.vehicle.full_name}, without water, fuel or crew: it bounds "
                "what the register does not list.",
                "vehicles",
                self.vehicle.key,
                "empty_mass",
            )

    def reference(self) -> Iterator[NextEntry]:
        if not self.account.labels.periods:
            yield NextEntry(
                "reference",
                "Name the reference period, and say why it matters: until then “original” means as built.",
                "reference_periods",
                None,
                "label",
                {"vehicle_id": self.vehicle.code},
            )

    def evidence(self) -> Iterator[NextEntry]:
        """Assessed parts that nothing supports, the heaviest first."""
        rows = [row for row in self.answer.rows if row.status and row.strength == 0]
        for row in sorted(rows, key=lambda row: (-_weight(row), *self._matters(row.position))):
            label = self._part(row.part)
            but = (
                "what supports it is outweighed by what contradicts it"
                if row.disputed
                else "nothing supports it"
            )
            yield NextEntry(
                "evidence",
                f"Add evidence to {label.name} ({label.code}): it is assessed {row.status}, and {but}.",
                "citations",
                None,
                "source_id",
                {"part_id": label.code},
            )

    def narrow(self) -> Iterator[NextEntry]:
        """Known parts whose doubt widens the bounds most."""
        for one in self.survey:
            if not self._assessed(one) or not one.gain or one.gain <= 0:
                continue
            label, gain = self._part(one.part), f"it would narrow the bounds by {shown(one.gain)} points"
            if one.why in ("weight not exact", "weight and fraction not exact"):
                sentence = f"Find the mass of {label.name} ({label.code}) more exactly: {gain}."
                yield NextEntry("narrow", sentence, "parts", one.part, "mass", caution=WEIGHING)
            elif one.why == "fraction not exact":
                sentence = f"Look again how much of {label.name} ({label.code}) is original: {gain}."
                given = {"part_id": label.code}
                yield NextEntry("narrow", sentence, "assessments", None, "fraction", given)

    def identity(self) -> Iterator[NextEntry]:
        for column, text, what in (
            ("identity_basis", self.vehicle.identity_basis, "what makes her this vehicle and no other"),
            ("summary", self.vehicle.summary, "in one sentence what a visitor should know of her"),
        ):
            if not text:
                sentence = f"Say {what}."
                yield NextEntry("identity", sentence, "vehicles", self.vehicle.key, column)

    def _assessed(self, one: ToFindOut) -> bool:
        return one.part in self.account.inputs.assessments

    def _part(self, key: str | None) -> PartLabel:
        return self.account.labels.parts[key or ""]

    def _matters(self, position: str) -> tuple[int, int, str]:
        """The higher the grade and the plainer to see, the sooner."""
        found = self.account.inputs.positions[position]
        return -_grade(found.grade), _seen(found.visibility), position

    def _grade_word(self, row: Row) -> str:
        return {4: "exceptional", 3: "considerable"}.get(
            _grade(self.account.inputs.positions[row.position].grade), ""
        )


def _grade(grade: int | None) -> int:
    return -1 if grade is None else grade


def _seen(visibility: str) -> int:
    return VISIBILITIES.index(visibility)


def _weight(row: Row) -> int:
    return row.weight.best or 0 if row.weight else 0


def _with_cautions(entries: list[NextEntry], labels: Labels) -> list[NextEntry]:
    """The usual cautions, from what is said of the parts and of the positions."""
    found = []
    for entry in entries:
        part = labels.parts.get(key_of(entry.given.get("part_id") or entry.key or ""))
        position = labels.positions.get(key_of(entry.given.get("position_id", "")))
        hazards = part.hazards if part and entry.table != "vehicles" else ""
        safety = position.safety if position else ""
        told = [
            HAZARDOUS.format(hazards=hazards.replace(";", ", ")) if hazards else "",
            DANGEROUS.format(safety=safety.replace(";", ", ")) if safety else "",
            entry.caution,
        ]
        found.append(replace(entry, caution=" ".join(one for one in told if one)))
    return found
