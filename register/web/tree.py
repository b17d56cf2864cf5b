"""The position tree as a page shows it: assemblies that fold, each with its bar; long ones a page at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from register.documents.figure_view import STRENGTHS
from register.fabric.account import Row
from register.fabric.interval import ONE
from register.fabric.rounding import shown_high, shown_kg, shown_low
from register.services.vehicle_page import Account, Node, shares_of

PAGE = 100
"""Rows of one assembly on a page, and of an answer to a filter."""
FIRST = 8
"""Rows shown of each assembly before "more" on the page that shows them all."""
ROWS = 100
"""Rows shown of all assemblies together; after them an assembly is a line that can be asked for."""
TOPS = 40
"""Assemblies on a page."""
ON_THEIR_OWN = "-"
"""The key of what stands for the positions at the top with nothing below them."""


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
    stand_in: tuple[tuple[str, str], ...] = ()
    hazards: str = ""
    within: str = ""


@dataclass(slots=True)
class Assembly:
    """A top position with some of the rows below it. more: how many are not shown. row_key: its record, "" for the
    positions that are in no assembly."""

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
    def row_key(self) -> str:
        return "" if self.key == ON_THEIR_OWN else self.key

    @property
    def before(self) -> int | None:
        return self.page - 1 if self.page > 1 else None

    @property
    def after(self) -> int | None:
        return self.page + 1 if self.page < self.pages else None


@dataclass(frozen=True, slots=True)
class Tree:
    """The assemblies of one page. pages, number: of assemblies, where there are very many."""

    assemblies: list[Assembly]
    number: int = 1
    pages: int = 1

    @property
    def before(self) -> int | None:
        return self.number - 1 if self.number > 1 else None

    @property
    def after(self) -> int | None:
        return self.number + 1 if self.number < self.pages else None


def tree_rows(account: Account, tops: list[Node], *, open_key: str = "", page: str = "1", tops_page: str = "") -> Tree:
    """Assemblies with their first rows; the one named in ``open_key`` with a page of its rows. Positions at the top
    that have nothing below them are together in the last."""
    groups = [(top.key, top.code, top.name, list(top.walk())) for top in tops if top.children]
    alone = [top for top in tops if not top.children]
    if alone:
        name = "Positions in no assembly" if groups else "All positions"
        groups.append((ON_THEIR_OWN, ON_THEIR_OWN, name, alone))
    keys = [key for key, *_ in groups]
    pages = max(1, -(-len(groups) // TOPS))
    number = keys.index(open_key) // TOPS + 1 if open_key in keys and not tops_page else within(tops_page, pages)
    stand_ins = stand_ins_of(account)
    left, found = ROWS, []
    for key, code, name, nodes in groups[(number - 1) * TOPS : number * TOPS]:
        chosen = key == open_key
        rows, row_pages, row_page = nodes, 1, 1
        if chosen:
            row_pages = max(1, -(-len(nodes) // PAGE))
            row_page = within(page, row_pages)
            rows = nodes[(row_page - 1) * PAGE : row_page * PAGE]
        else:
            few = FIRST + 1 if key != ON_THEIR_OWN else left if len(groups) == 1 else FIRST
            rows = nodes[: max(0, min(few, left))]
            left -= len(rows)
        shown = [one for one in rows if one.row is not None or one.depth or key == ON_THEIR_OWN or one.key in stand_ins]
        found.append(
            Assembly(
                key,
                code,
                name,
                len(nodes),
                weight_of(account, nodes),
                shares_of(nodes),
                chosen,
                [tree_row(account, node, stand_ins) for node in shown],
                len(nodes) - len(rows) if not chosen else 0,
                row_page,
                row_pages,
            )
        )
    return Tree(found, number, pages)


def within(typed: str, pages: int) -> int:
    """A page number as typed, brought within what there is."""
    return min(max(int(typed), 1), pages) if typed.isascii() and typed.isdigit() and len(typed) < 6 else 1


def stand_ins_of(account: Account) -> dict[str, list[str]]:
    """Parts in use meanwhile, by the position they stand in for."""
    found: dict[str, list[str]] = {}
    for one in account.chosen.stand_ins:
        found.setdefault(one.position, []).append(one.part)
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


def tree_row(
    account: Account, node: Node, stand_ins: Mapping[str, Sequence[str]], within: str = ""
) -> TreeRow:
    row = node.row
    labels = account.labels.parts
    meanwhile = stand_ins.get(node.key, ())
    there = [*(row.parts if row else ()), *meanwhile]
    hazards = "; ".join(dict.fromkeys(labels[one].hazards for one in there if one in labels and labels[one].hazards))
    said = tuple((one if labels[one].code else "", labels[one].code or labels[one].name) for one in meanwhile)
    part = labels[row.part] if row and row.part else None
    if row is None or part is None:
        return TreeRow(
            key=node.key, code=node.code, name=node.name, indent=node.depth,
            part_key="", part_code="", part_name="", status="", wear=node.wear,
            disputed=False, doubtful=row is not None, surviving="", kilograms=None, assumed=False,
            visibility=node.visibility, evidence="", stand_in=said, hazards=hazards, within=within,
        )  # fmt: skip
    weight = row.weight.best if row.weight else None
    in_kilograms = account.question.basis == "mass"
    return TreeRow(
        key=node.key, code=node.code, name=node.name, indent=node.depth,
        part_key=row.part or "" if part.code else "", part_code=part.code, part_name=part.name,
        status=row.status or "not assessed", wear=node.wear,
        disputed=row.disputed, doubtful=not row.certain or row.straddles, surviving=surviving_words(row),
        kilograms=None if weight is None else weight / 1000 if in_kilograms else float(weight),
        assumed=row.assumed, visibility=row.visibility, evidence=STRENGTHS[row.strength] if row.status else "",
        stand_in=said, hazards=hazards, within=within,
    )  # fmt: skip


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
