"""Taking away originals that nobody accepted. Such a picture may show people, and holds the place where it was taken: it is
not kept for ever. Nothing that a record, its history, an issued statement or anything undecided still names goes, and
what goes is entered in a log that is never changed.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from register.models import Photograph, RemovedPicture, User
from register.services.change_sets import lock
from register.services.photographs import SIZES, copy_path, keep_original, original_path
from register.services.picture_uses import in_use

DAYS, FEWEST_DAYS = 90, 7
"""For so long a picture is kept after it came, and after the last word on what it came with (our own rule, no source)."""

A_DAY = timedelta(days=1)
BROKEN_OFF, BEING_REMOVED = ".part-", ".going-"
_SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Old:
    """An original that nothing names any more. came: when its file was last brought."""

    sha256: str
    size: int
    came: datetime


@dataclass(slots=True)
class Tidied:
    """old: originals that may go, or went. leftovers: files of uploads that broke off, and copies without an original.
    missing: originals of photographs of the register that are not on the disk."""

    old: list[Old] = field(default_factory=list)
    leftovers: list[Path] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)

    @property
    def size(self) -> int:
        return sum(one.size for one in self.old)


def look_through(*, days: int = DAYS, at: datetime | None = None) -> Tidied:
    """What may go; nothing is touched. days: not fewer than FEWEST_DAYS."""
    now = at or timezone.now()
    limit = now - timedelta(days=max(days, FEWEST_DAYS))
    used = in_use(limit)
    on_disk = {one.sha256: one for one in _originals()}
    recorded = set(Photograph.objects.values_list("sha256", flat=True))
    return Tidied(
        [one for key, one in sorted(on_disk.items()) if key not in used and one.came < limit],
        sorted(_leftovers(set(on_disk), used, now - A_DAY)),
        sorted(recorded - set(on_disk)),
    )


def remove_old(*, days: int = DAYS, user: User | None = None, at: datetime | None = None) -> Tidied:
    """Take away what ``look_through`` finds. It is looked through behind the lock that every writer queues for, and
    entered in the log before the first file goes."""
    now = at or timezone.now()
    with transaction.atomic():
        lock()
        _put_back()
        found = look_through(days=days, at=now)
        reason = f"no record names it, and nothing has been said of it for {max(days, FEWEST_DAYS)} days"
        RemovedPicture.objects.bulk_create(
            RemovedPicture(sha256=one.sha256, size=one.size, reason=reason, user=user, at=now) for one in found.old
        )
    for one in found.old:
        _remove(one)
    for path in found.leftovers:
        path.unlink(missing_ok=True)
    return found


def _remove(one: Old) -> None:
    """The copies, then the original; one that was brought again meanwhile is put back, with its copies."""
    for size in SIZES:
        copy_path(one.sha256, size).unlink(missing_ok=True)
    path = original_path(one.sha256)
    aside = path.with_name(f"{BEING_REMOVED}{one.sha256}")
    try:
        os.replace(path, aside)
    except FileNotFoundError:
        return
    if _came(aside) > one.came:
        os.replace(aside, path)
        keep_original(path)
    else:
        aside.unlink()


def _put_back() -> None:
    """What a run that broke off had set aside: it is looked at again like any other."""
    for aside in (settings.MEDIA_ROOT / "originals").glob(f"*/{BEING_REMOVED}*"):
        os.replace(aside, original_path(aside.name.removeprefix(BEING_REMOVED)))


def _originals() -> Iterator[Old]:
    for path in (settings.MEDIA_ROOT / "originals").glob("*/*"):
        if _SHA256.fullmatch(path.name):
            yield Old(path.name, path.stat().st_size, _came(path))


def _leftovers(originals: set[str], used: set[str], limit: datetime) -> Iterator[Path]:
    """Files that no upload is writing any more: what broke off, and copies of originals that are gone."""
    for path in settings.MEDIA_ROOT.rglob("*"):
        if not path.is_file() or _came(path) > limit:
            continue
        is_copy = "copies" in path.relative_to(settings.MEDIA_ROOT).parts[:1]
        if path.name.startswith(BROKEN_OFF) or (is_copy and path.stem not in originals | used):
            yield path


def _came(path: Path) -> datetime:
    return datetime.fromtimestamp(path.stat().st_mtime, tz=timezone.get_current_timezone())
