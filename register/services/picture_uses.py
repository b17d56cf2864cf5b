"""What still names a picture: a record or its history, an issued statement, what waits for review, what is being written
down. A picture that any of these names is never taken away."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any

from django.db.models import Max

from register.models import ChangeSet, FindDraft, Photograph, PictureLot, ReviewEntry, StatementFile
from register.models.change_set import OPEN
from register.services.find_questions import pictures_of

FROZEN = "inputs.json"
_SHA256 = re.compile(rb"[0-9a-f]{64}")


def in_use(since: datetime) -> set[str]:
    """The SHA-256 of every picture that must stay. since: what was decided on or after this moment keeps its pictures yet."""
    return {
        *_of_records(),
        *_of_statements(),
        *_of_change_sets(since),
        *(one["sha256"] for draft in FindDraft.objects.filter(sent_at=None) for one in pictures_of(draft)),
        *(one["sha256"] for lot in PictureLot.objects.all() for one in lot.pictures),
    }


def _of_records() -> Iterator[str]:
    """Of the records as they are and as they ever were: a change can be taken back, and what was struck out stays known."""
    yield from Photograph.objects.values_list("sha256", flat=True)
    yield from Photograph.history.values_list("sha256", flat=True).distinct()


def _of_statements() -> Iterator[str]:
    """Whatever the frozen rows of a statement hold that could be a picture's."""
    for file in StatementFile.objects.filter(name=FROZEN).iterator():
        yield from (found.decode() for found in _SHA256.findall(bytes(file.data)))


def _of_change_sets(since: datetime) -> Iterator[str]:
    """Of what is open, with every version of it; of what is decided, as long as its last word is not older."""
    last = ChangeSet.objects.annotate(last=Max("entries__at"))
    kept = last.filter(state__in=OPEN) | last.filter(last__gte=since) | last.filter(last=None)
    keys = set(kept.values_list("pk", flat=True))
    for rows in ChangeSet.objects.filter(pk__in=keys).values_list("changes", flat=True):
        yield from _named(rows)
    for rows in ReviewEntry.objects.filter(change_set__in=keys, changes__isnull=False).values_list("changes", flat=True):
        yield from _named(rows or ())


def _named(rows: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    for row in rows:
        if row["table"] == "photographs" and (sha256 := row["values"].get("sha256")):
            yield str(sha256)
