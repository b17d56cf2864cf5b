"""What the page of a vehicle, and its statement, are made of: the account row by row and the tree it lies in."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, TypeVar

from django.db.models import Exists, OuterRef, QuerySet

from register.documents.figure_view import FigureView, figure_view
from register.exchange.values import key_of
from register.fabric.account import Row
from register.fabric.figures import VehicleFigures, figures_on
from register.fabric.inputs import BASES, Reference, VehicleInputs
from register.fabric.interval import ONE
from register.fabric.survey import Survey, survey
from register.fabric.timeline import Timeline, timeline
from register.models import ListMapping, Vehicle
from register.services.findings import with_last_note
from register.services.inputs import Labels, NoSuch, PartLabel, inputs_of_all, reference_named
from register.services.kept import Kept
from register.services.kept_inputs import kept_inputs
from register.services.vehicle_versions import version_of, with_version

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Question:
    """What a page asks of the register."""

    day: date
    reference: str | None = None
    basis: str = "mass"
    evidence_floor: int = 0
    include_wear: bool = False


_ANSWERS: Kept[Any] = Kept(room=100_000)
"""By what was asked. The room is in rows and steps, of up to 0.2 kB each."""


@dataclass(frozen=True, slots=True)
class Account:
    """A vehicle as at a day: inputs, labels, the reference used and the figures on each basis."""

    vehicle: Vehicle
    inputs: VehicleInputs
    labels: Labels
    reference: Reference
    question: Question
    figures: Mapping[str, VehicleFigures]

    @property
    def chosen(self) -> VehicleFigures:
        return self.figures[self.question.basis]


@dataclass(slots=True)
class Node:
    """A position in the tree, with the item of the account in it (None: nothing fitted)."""

    key: str
    code: str
    name: str
    depth: int
    wear: bool
    visibility: str
    row: Row | None = None
    children: list[Node] = field(default_factory=list)

    def walk(self) -> Iterator[Node]:
        """Itself and all below it, in the order of the tree."""
        yield self
        for child in self.children:
            yield from child.walk()

    @property
    def size(self) -> int:
        return sum(1 for _ in self.walk())


def account_of(vehicle_id: str, question: Question, *, rivals: bool = False) -> Account:
    """The account of one vehicle, in eight queries, or in one where her records did not change since she was last asked
    for. ``rivals``: as ``inputs_of_all`` has it. The vehicle also knows ``has_open_questions``: whether her lists left
    some. Raises NoSuch."""
    left_open = ListMapping.objects.filter(vehicle=OuterRef("key")).exclude(questions=[])
    vehicles = with_last_note(Vehicle.objects.annotate(has_open_questions=Exists(left_open)))
    vehicle = vehicle_to_ask_of(vehicle_id, vehicles)
    return account_with(vehicle, question, *kept_inputs(vehicle, rivals=rivals))


def vehicle_to_ask_of(vehicle_id: str, vehicles: QuerySet[Vehicle]) -> Vehicle:
    """One of these vehicles, with its owner and its version. Raises NoSuch."""
    found = with_version(vehicles.select_related("owner").filter(key=key_of(vehicle_id))).first()
    if found is None:
        raise NoSuch(f"There is no vehicle {vehicle_id} in this register.")
    return found


def account_with(vehicle: Vehicle, question: Question, inputs: VehicleInputs, labels: Labels) -> Account:
    """The account made of inputs that are at hand; its figures are kept as long as the vehicle's version is the same.
    Raises NoSuch for an unknown reference period."""
    reference = reference_named(inputs, question.reference)
    account = Account(vehicle, inputs, labels, reference, question, {})
    rows = 3 * len(inputs.positions)
    return replace(account, figures=_answer(account, "figures", lambda: _figures(inputs, reference, question), rows))


def _answer(account: Account, what: str, make: Callable[[], T], size: int) -> T:
    """An answer to the question of the account, kept."""
    asked, version = (what, account.vehicle.key, account.question), version_of(account.vehicle)
    found: T | None = _ANSWERS.find(asked, version)
    return _ANSWERS.keep(asked, version, make(), size) if found is None else found


def timeline_of(account: Account) -> Timeline:
    """Since the vehicle was built, for the reference and basis of the account."""
    asked, reference = account.question, account.reference
    return _answer(
        account,
        "timeline",
        lambda: timeline(account.inputs, reference=reference, basis=asked.basis, include_wear=asked.include_wear),
        len(account.inputs.installations),
    )


def survey_of(account: Account) -> Survey:
    """What to find out next, for the figures chosen."""
    return _answer(account, "survey", lambda: survey(account.chosen), len(account.chosen.rows))


def without_restricted(account: Account) -> Account:
    """The same account with the names of restricted parts taken out, for those who may not read them. The figures are
    those of the whole vehicle: they say how much, never which. A hazard is said to whoever may stand in front of it."""
    parts = {
        key: label
        if label.access == "public"
        else PartLabel("", "restricted part", label.quantity, label.access, label.hazards)
        for key, label in account.labels.parts.items()
    }
    return replace(account, labels=Labels(account.labels.positions, parts, account.labels.periods))


def accounts_of(vehicles: list[Vehicle], question: Question) -> list[Account]:
    """Accounts of several vehicles, each against its own default reference, in the same number of queries as one."""
    found = inputs_of_all(vehicles)
    labels = Labels()
    bases = ("mass",) if question.basis == "mass" else ("mass", question.basis)
    accounts = []
    for vehicle in vehicles:
        inputs = found[vehicle.key]
        reference = reference_named(inputs, question.reference)
        figures = _figures(inputs, reference, question, bases)
        accounts.append(Account(vehicle, inputs, labels, reference, question, figures))
    return accounts


def fleet_views(vehicles: Sequence[Vehicle], day: date) -> list[FigureView]:
    """What is said of several vehicles (of ``with_version``) by mass as at a day: worked out for those whose records
    changed since they were last asked for."""
    question = Question(day)
    known: dict[str, FigureView | None] = {
        one.key: _ANSWERS.find(("fleet", one.key, question), version_of(one)) for one in vehicles
    }
    for account in accounts_of([one for one in vehicles if known[one.key] is None], question):
        view, vehicle = figure_view(account.chosen, account.inputs), account.vehicle
        asked = "fleet", vehicle.key, question
        known[vehicle.key] = _ANSWERS.keep(asked, version_of(vehicle), view, len(account.chosen.rows) + 1)
    return [kept for one in vehicles if (kept := known[one.key])]


def _figures(
    inputs: VehicleInputs, reference: Reference, question: Question, bases: tuple[str, ...] = BASES
) -> dict[str, VehicleFigures]:
    return figures_on(
        inputs,
        day=question.day.toordinal(),
        reference=reference,
        bases=bases,
        evidence_floor=question.evidence_floor,
        include_wear=question.include_wear,
    )


def tree_of(account: Account) -> list[Node]:
    """The top positions of the vehicle, everything under them, in the order of their ids."""
    chosen = account.chosen
    items = {row.position: row for row in (*chosen.rows, *chosen.wear_rows)}
    nodes: dict[str, Node] = {}
    for key, position in account.inputs.positions.items():
        label = account.labels.positions[key]
        nodes[key] = Node(key, label.code, label.name, 0, position.wear, position.visibility, items.get(key))
    tops: list[Node] = []
    for key, node in nodes.items():
        parent = account.labels.positions[key].parent
        (nodes[parent].children if parent in nodes else tops).append(node)
    for top in tops:
        _deepen(top)
    return tops


def _deepen(top: Node) -> None:
    waiting = [top]
    while waiting:
        node = waiting.pop()
        for child in node.children:
            child.depth = node.depth + 1
            waiting.append(child)


def shares_of(nodes: list[Node]) -> dict[str, float]:
    """Best weight by composition category of the items in these nodes, for the bar of an assembly."""
    found: dict[str, float] = {}
    for node in nodes:
        row = node.row
        if row is None or row.weight is None or row.weight.best is None or node.wear:
            continue
        weight, fraction = row.weight.best, 0.0
        if row.category in ("reference_fabric", "later_historic", "historic_from_elsewhere"):
            kept = row.f.best if row.category == "reference_fabric" else row.s.best
            fraction = (kept or 0) / ONE
            found["new_material"] = found.get("new_material", 0) + weight * (1 - fraction)
            found[row.category] = found.get(row.category, 0) + weight * fraction
        else:
            found[row.category] = found.get(row.category, 0) + weight
    return found
