"""Who may see which picture: photographs of the register, and pictures that are none yet, in a find being written down, in
a lot, or in what waits for review."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Q
from django.utils import timezone

from register.exchange.records import Change
from register.fabric.dates import day_in_words
from register.models import ChangeSet, FindDraft, Photograph, PictureLot, RemovedPicture
from register.models.change_set import OPEN
from register.policy import may
from register.services.find_questions import pictures_of
from register.services.photographs import copy_path


def picture_may_be_seen(user: Any, sha256: str) -> bool:
    """Whether a signed-in person may see a photograph: restricted ones, and those of restricted parts and sources, only
    where he or she may read what is restricted; those that are no record yet, whoever sent them, and who reviews them."""
    if not may(user, "read the register"):
        return False
    recorded = Photograph.objects.filter(sha256=sha256)
    if not recorded.exists():
        return _is_being_sent(user, sha256) or _is_handed_in(user, sha256)
    if may(user, "read what is restricted"):
        return True
    of_part = Q(part__isnull=True) | Q(part__access="public")
    of_source = Q(source__isnull=True) | Q(source__access="public")
    return recorded.filter(of_part, of_source, access="public").exists() or _is_being_sent(user, sha256)


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


def pictures_in(changes: Iterable[Change], reader: Any) -> list[Shown]:
    """The photographs that a change set brings, each picture once, with what they are of."""
    found: dict[str, tuple[str, list[str]]] = {}
    for change in changes:
        sha256 = str(change.values.get("sha256") or "")
        if change.table == "photographs" and change.action == "put" and sha256:
            known = found.setdefault(sha256, (str(change.values.get("caption") or ""), []))
            owners = (change.values.get(name) for name in ("part_id", "vehicle_id", "source_id"))
            known[1].extend(str(owner) for owner in owners if owner)
    return [
        Shown(sha256, caption, ", ".join(of), why_not_shown(sha256, reader))
        for sha256, (caption, of) in found.items()
    ]


def why_not_shown(sha256: str, reader: Any) -> str:
    """A sentence where the reader does not see the picture, "" where he or she does."""
    if copy_path(sha256, "small").is_file():
        seen = picture_may_be_seen(reader, sha256)
        return "" if seen else "The picture is decided on, and not shown to you any more."
    removed = RemovedPicture.objects.filter(sha256=sha256).order_by("-pk").first()
    if removed is None:
        return "The picture is not on the disk any more."
    day = timezone.localtime(removed.at).date()
    return f"The picture was removed on {day_in_words(day)}, since nobody had accepted it."
