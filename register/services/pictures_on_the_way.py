"""Pictures that are no photograph of the register yet: in a find being written down, in a lot, in what waits for review."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from register.exchange.records import Change
from register.models import ChangeSet, FindDraft, PictureLot
from register.models.change_set import OPEN
from register.policy import may
from register.services.find_questions import pictures_of
from register.services.photographs import copy_path


@dataclass(frozen=True, slots=True)
class Shown:
    """A picture beside what it came with. is_there: whether its copy is on the disk."""

    sha256: str
    caption: str
    of: str
    is_there: bool


def pictures_in(changes: Iterable[Change]) -> list[Shown]:
    """The photographs that a change set brings, each picture once, with what they are of."""
    found: dict[str, tuple[str, list[str]]] = {}
    for change in changes:
        sha256 = str(change.values.get("sha256") or "")
        if change.table == "photographs" and change.action == "put" and sha256:
            known = found.setdefault(sha256, (str(change.values.get("caption") or ""), []))
            owners = (change.values.get(name) for name in ("part_id", "vehicle_id", "source_id"))
            known[1].extend(str(owner) for owner in owners if owner)
    return [
        Shown(sha256, caption, ", ".join(of), copy_path(sha256, "small").is_file())
        for sha256, (caption, of) in found.items()
    ]


def is_on_its_way(user: Any, sha256: str) -> bool:
    """Whether the person sent the picture of these bytes, and it is not decided yet; or reviews it, decided or not."""
    return _is_mine(user, sha256) or _is_handed_in(user, sha256)


def _is_mine(user: Any, sha256: str) -> bool:
    drafts = FindDraft.objects.filter(author=user, sent_at=None, answers__icontains=sha256)
    lots = PictureLot.objects.filter(author=user, pictures__icontains=sha256)
    held = [pictures_of(draft) for draft in drafts] + [lot.pictures for lot in lots]
    return any(one["sha256"] == sha256 for pictures in held for one in pictures)


def _is_handed_in(user: Any, sha256: str) -> bool:
    """The words of a find may hold anything: only what a photograph's own row says counts."""
    named = ChangeSet.objects.filter(changes__icontains=sha256)
    mine = named if may(user, "review") else named.filter(author=user, state__in=OPEN)
    return any(names_it(row, sha256) for rows in mine.values_list("changes", flat=True) for row in rows)


def names_it(row: Mapping[str, Any], sha256: str) -> bool:
    return bool(row["table"] == "photographs" and row["values"].get("sha256") == sha256)
