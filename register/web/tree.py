"""The position tree as a page shows it: assemblies that fold, each with its bar; long ones a page at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from register.documents.figure_view import STRENGTHS
from register.fabric.account import Row
from register.fabric.interval import ONE
from register.fabric.rounding import shown_high, shown_kg, shown_low
from register.services.vehicle_page import Account, Node, shares_of

PAGE = 100
FIRST = 8
"""Rows shown of each assembly before "more" on the page that shows them all."""


@dataclass(frozen=True, slots=True)
class TreeRow:
    """One position as printed. chip: the status in force, "" where nothing is fitted."""

    key: str
    code: str
    name: str
    indent: int
    part_key: str
    part_code: str
    part_name: str
    status: str
    wear: bool
    disputed: bool
    doubtful: bool
    surviving: str
    kilograms: float | None
    assumed: bool
    visibility: str
    evidence: str


@dataclass(slots=True)
class Assembly:
    """A top position with some of the rows below it. more: how many are not shown."""

    key: str
    code: str
    name: str
    positions: int
    kilograms: float | None
    shares: dict[str, float]
    is_open: bool
    rows: list[TreeRow] = field(default_factory=list)
    more: int = 0
    page: int = 1
    pages: int = 1

    @property
    def before(self) -> int | None:
        return self.page - 1 if self.page > 1 else None

    @property
    def after(self) -> int | None:
        return self.page + 1 if self.page < self.pages else None


def tree_rows(
    account: Account, tops: list[Node], *, open_key: str = "", page: str = "1", whole: bool = False
) -> list[Assembly]:
    """Assemblies with their first rows; the one named in ``open_key`` with a page of its rows."""
    found = []
    for top in tops:
        nodes = list(top.walk())
        chosen = top.key == open_key
        rows, pages, number = nodes, 1, 1
        if not whole:
            if chosen:
                pages = max(1, -(-len(nodes) // PAGE))
                number = min(max(int(page) if page.isdigit() and len(page) < 6 else 1, 1), pages)
                rows = nodes[(number - 1) * PAGE : number * PAGE]
            else:
                rows = nodes[: FIRST + 1]
        shares = shares_of(nodes)
        found.append(
            Assembly(
                top.key,
                top.code,
                top.name,
                len(nodes),
                weight_of(account, nodes),
                shares,
                chosen or whole,
                [
                    tree_row(account, node)
                    for node in rows
                    if node.row is not None or node.depth or len(nodes) == 1
                ],
                len(nodes) - len(rows) if not chosen else 0,
                number,
                pages,
            )
        )
    return found


def weight_of(account: Account, nodes: list[Node]) -> float | None:
    """Σ of the best weights, in kg on the mass basis; None where nothing is weighed."""
    weights = [
        node.row.weight.best
        for node in nodes
        if node.row and not node.wear and node.row.weight and node.row.weight.best is not None
    ]
    if not weights:
        return None
    return sum(weights) / 1000 if account.question.basis == "mass" else float(sum(weights))


def tree_row(account: Account, node: Node) -> TreeRow:
    row = node.row
    if row is None or row.part is None:
        return TreeRow(
            node.key,
            node.code,
            node.name,
            node.depth,
            "",
            "",
            "",
            "",
            node.wear,
            False,
            row is not None,
            "",
            None,
            False,
            node.visibility,
            "",
        )
    part = account.labels.parts[row.part]
    weight = row.weight.best if row.weight else None
    kilograms = (
        None if weight is None else weight / 1000 if account.question.basis == "mass" else float(weight)
    )
    return TreeRow(
        node.key,
        node.code,
        node.name,
        node.depth,
        row.part if part.code else "",
        part.code,
        part.name,
        row.status or "not assessed",
        node.wear,
        row.disputed,
        not row.certain or row.straddles,
        surviving_words(row),
        kilograms,
        row.assumed,
        row.visibility,
        STRENGTHS[row.strength] if row.status else "",
    )


def surviving_words(row: Row) -> str:
    """The original fraction, as a percentage or a range; where the fabric is another's or later, the word for that."""
    if row.category == "later_historic":
        return "later"
    if row.category == "historic_from_elsewhere":
        return "elsewhere"
    if not row.status:
        return "not known"
    low, high = shown_low(row.f.low * 100 / ONE, 0), shown_high(row.f.high * 100 / ONE, 0)
    return f"{low} %" if low == high else f"{low}–{high} %"


@dataclass(frozen=True, slots=True)
class Item:
    """One item of a figure, every number of it: weight and f are (low, best, high) as text."""

    position: str
    part_key: str
    part: str
    status: str
    doubtful: bool
    disputed: bool
    assumed: bool
    weight: tuple[str, str, str] | None
    f: tuple[str, str, str]
    evidence: str


def items(account: Account, rows: Sequence[Row]) -> list[Item]:
    """The items as the page that shows the computation prints them."""
    return [_item(account, row) for row in rows]


def _item(account: Account, row: Row) -> Item:
    kilograms = account.question.basis == "mass"
    label = account.labels.positions[row.position]
    part = account.labels.parts.get(row.part or "")
    weight = row.weight
    texts = None
    if weight is not None:
        texts = (
            _weight(weight.low, kilograms),
            _weight(weight.best, kilograms),
            _weight(weight.high, kilograms),
        )
    return Item(
        label.name,
        (row.part or "") if part and part.code else "",
        f"{part.code} {part.name}" if part else "",
        row.status or "not assessed",
        not row.certain or row.straddles,
        row.disputed,
        row.assumed,
        texts,
        (_share(row.f.low), _share(row.f.best), _share(row.f.high)),
        STRENGTHS[row.strength] if row.status else "",
    )


def _weight(value: int | None, kilograms: bool) -> str:
    if value is None:
        return "none"
    return shown_kg(Fraction(value, 1000)).removesuffix(" kg") if kilograms else str(value)


def _share(value: int | None) -> str:
    return "none" if value is None else f"{float(Fraction(value * 100, ONE)):.2f}"
