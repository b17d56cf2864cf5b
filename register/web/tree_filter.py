"""The filter of the position tree: which positions of a vehicle the page lists, asked for in its address."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.http import QueryDict

from register.documents.palette import NO_STATUS, STATUSES
from register.fabric.inputs import VISIBILITIES
from register.services.search import LONGEST, answers
from register.services.vehicle_page import Account, Node
from register.web.tree import PAGE, TreeRow, stand_ins_of, tree_row

ONLY = {
    "disputed": "Disputed",
    "doubtful": "Doubtful",
    "unweighted": "No weight known",
    "stand-ins": "A stand-in is in use",
    "hazards": "With a hazard",
    "empty": "Nothing fitted",
    "wear": "Wear parts",
}
"""What else can be asked for, one at a time."""


@dataclass(frozen=True, slots=True)
class TreeFilter:
    """As asked for in the address; what is not among the answers is not asked for."""

    find: str = ""
    status: str = ""
    seen: str = ""
    only: str = ""

    @property
    def asks(self) -> bool:
        return bool(self.find or self.status or self.seen or self.only)

    @property
    def parameters(self) -> dict[str, str]:
        """What an address that asks the same again holds."""
        asked = {"find": self.find, "status": self.status, "seen": self.seen, "only": self.only}
        return {name: value for name, value in asked.items() if value}

    @property
    def statuses(self) -> list[str]:
        return list(STATUSES)

    @property
    def visibilities(self) -> tuple[str, ...]:
        return VISIBILITIES

    @property
    def onlys(self) -> Mapping[str, str]:
        return ONLY


def tree_filter(data: QueryDict) -> TreeFilter:
    status, seen, only = data.get("status", ""), data.get("seen", ""), data.get("only", "")
    return TreeFilter(
        data.get("find", "").replace("\0", "").strip()[:LONGEST],
        status if status in STATUSES else "",
        seen if seen in VISIBILITIES else "",
        only if only in ONLY else "",
    )


def listed(account: Account, tops: list[Node], asked: TreeFilter, page: str) -> tuple[Page[Any], list[TreeRow]]:
    """The positions that answer, in the order of the tree, a page at a time: the page and its rows, each with the
    assembly it lies in."""
    stand_ins = stand_ins_of(account)
    found = [
        (node, top)
        for top in tops
        for node in top.walk()
        if _fits(account, node, asked, stand_ins.get(node.key, ()))
    ]
    shown = Paginator(found, PAGE).get_page(page)
    rows = [
        tree_row(account, node, stand_ins, within=top.name if node is not top else "") for node, top in shown
    ]
    return shown, rows


def _fits(account: Account, node: Node, asked: TreeFilter, meanwhile: Sequence[str]) -> bool:
    row = node.row
    if asked.seen and (row.visibility if row else node.visibility) != asked.seen:
        return False
    if asked.status:
        counted = row is not None and (not node.wear or account.question.include_wear)
        if row is None or not counted or (row.status or NO_STATUS) != asked.status:
            return False
    if asked.only and not _is(account, node, asked.only, meanwhile):
        return False
    return not asked.find or answers(asked.find, _texts(account, node, meanwhile))


def _is(account: Account, node: Node, what: str, meanwhile: Sequence[str]) -> bool:
    row = node.row
    if what == "stand-ins":
        return bool(meanwhile)
    if what == "wear":
        return node.wear
    if what == "hazards":
        labels = account.labels.parts
        return any(labels[one].hazards for one in (*(row.parts if row else ()), *meanwhile) if one in labels)
    if row is None:  # a heading of the tree is not an empty place
        return what == "empty" and not node.children
    if what == "disputed":
        return row.disputed
    if what == "doubtful":
        return not row.certain or row.straddles
    return what == "unweighted" and row.weight is None and not node.wear


def _texts(account: Account, node: Node, meanwhile: Sequence[str]) -> dict[str, str]:
    """What the row says, by the column that it is: what the reader may not read is not in the labels."""
    labels = account.labels.parts
    parts = [labels[one] for one in (*(node.row.parts if node.row else ()), *meanwhile) if one in labels]
    return {  # ids are found in spite of spaces and signs where the column is one of search.IDENTIFIES
        "code": node.code,
        "name": node.name,
        "tag": " ".join(one.code for one in parts),
        "part": " ".join(one.name for one in parts),
    }
