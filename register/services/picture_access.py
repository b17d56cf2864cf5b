"""Who may see which picture: photographs of the register, and pictures that are none yet, in a find being written down, in
a lot, or in what waits for review."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from register.exchange.records import Change
from register.fabric.dates import day_in_words
from register.models import ChangeSet, FindDraft, Photograph, PictureLot, RemovedPicture
from register.models.change_set import OPEN
from register.policy import may
from register.services.find_questions import pictures_of
from register.services.photographs import copy_path, original_path


def picture_may_be_seen(user: Any, sha256: str) -> bool:
    """Whether a signed-in person may see a photograph: restricted ones, and those of restricted parts and sources, only
    where he or she may read what is restricted; those that are no record yet, whoever sent them, and who reviews them."""
    if not may(user, "read the register"):
        return False
    recorded = Photograph.objects.filter(sha256=sha256)
    if not recorded.exists():
        return _is_being_sent(user, sha256) or _is_handed_in(user, sha256)
    return _readable(recorded, user).exists() or _is_being_sent(user, sha256)


def _readable(rows: QuerySet[Photograph, Photograph], user: Any) -> QuerySet[Photograph, Photograph]:
    if may(user, "read what is restricted"):
        return rows
    of_part = Q(part__isnull=True) | Q(part__access="public")
    of_source = Q(source__isnull=True) | Q(source__access="public")
    return rows.filter(of_part, of_source, access="public")


def _is_being_sent(user: Any, sha256: str) -> bool:
    """Whether the person has sent these very bytes, for a find or a lot that is not handed in yet."""
    drafts = FindDraft.objects.filter(author=user, sent_at=None, answers__icontains=sha256)
    lots = PictureLot.objects.filter(author=user, pictures__icontains=sha256)
    held = [pictures_of(draft) for draft in drafts] + [lot.pictures for lot in lots]
    return any(one["sha256"] == sha256 for pictures in held for one in pictures)


def _is_handed_in(user: Any, sha256: str) -> bool:
    """Whether the picture came in what the person handed in and nobody has decided; who reviews sees it afterwards too.
    The words of a find may hold anything: only what a photograph's own row says counts."""
    named = ChangeSet.objects.filter(changes__icontains=sha256)
    mine = named if may(user, "review") else named.filter(author=user, state__in=OPEN)
    return any(names_it(row, sha256) for rows in mine.values_list("changes", flat=True) for row in rows)


def names_it(row: Mapping[str, Any], sha256: str) -> bool:
    return bool(row["table"] == "photographs" and row["values"].get("sha256") == sha256)


# --- beside what they came with -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Shown:
    """A picture beside what it came with. why_not: the sentence in its place where it is not shown."""

    sha256: str
    caption: str
    of: str
    why_not: str


def pictures_in(changes: Iterable[Change], reader: Any, *, undecided: bool) -> list[Shown]:
    """The photographs that a change set brings, each picture once, with what they are of. For who reviews, or handed it in;
    undecided: whether it is open yet."""
    found: dict[str, tuple[str, list[str]]] = {}
    for change in changes:
        sha256 = str(change.values.get("sha256") or "")
        if change.table == "photographs" and change.action == "put" and sha256:
            known = found.setdefault(sha256, (str(change.values.get("caption") or ""), []))
            owners = (change.values.get(name) for name in ("part_id", "vehicle_id", "source_id"))
            known[1].extend(str(owner) for owner in owners if owner)
    why_not = why_not_shown(found, reader, undecided=undecided)
    return [
        Shown(sha256, caption, ", ".join(of), why_not[sha256]) for sha256, (caption, of) in found.items()
    ]


def why_not_shown(pictures: Iterable[str], reader: Any, *, undecided: bool) -> dict[str, str]:
    """By SHA-256 a sentence where the picture is not shown to whoever reviews or sent it, "" where it is; in a fixed number
    of queries."""
    asked = list(pictures)
    gone = [one for one in asked if not (original_path(one).is_file() or copy_path(one, "small").is_file())]
    removed = {one.sha256: one.at for one in RemovedPicture.objects.filter(sha256__in=gone)}
    recorded = Photograph.objects.filter(sha256__in=asked)
    known, seen = set(recorded.values_list("sha256", flat=True)), set(asked)
    if not may(reader, "review"):
        open_ones = set(_readable(recorded, reader).values_list("sha256", flat=True))
        seen = {one for one in asked if (one in open_ones if one in known else undecided)}
    return {one: _why_not(one in gone, removed.get(one), one in seen) for one in asked}


def _why_not(is_gone: bool, removed_at: datetime | None, is_seen: bool) -> str:
    if removed_at is not None:
        day = day_in_words(timezone.localtime(removed_at).date())
        return f"The picture was removed on {day}, since nobody had accepted it."
    if is_gone:
        return "The picture is not on the disk any more."
    return "" if is_seen else "The picture is decided on, and not shown to you any more."
