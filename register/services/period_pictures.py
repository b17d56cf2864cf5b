"""Photographs for a period report: of the vehicle and of the parts that something is told of, as far as they may be seen,
and in public only those that may be printed."""

from __future__ import annotations

import re
from collections.abc import Iterable

from register.documents.period_content import Photo
from register.exchange.records import Row
from register.fabric.dates import in_words, span_of
from register.services.period_moments import Moments
from register.services.photographs import copy_path
from register.services.public_page import public_photographs

MOST = 4
"""Photographs of one vehicle."""

LAST_RESORT = 2

_OPEN = re.compile(
    r"\bcc[ -]?0\b|\bcc[ -]by\b|creative commons (zero|attribution)|public domain|open government licen[cs]e|\bogl\b|may be printed"
)
_CLOSED = re.compile(r"\b(nc|nd|not)\b|non-?commercial|no-?deriv|all rights reserved")
"""Licences that let anybody print a picture with its credit: those of Creative Commons without NC and ND, the Open
Government Licence, what is in the public domain (from memory of their texts); and our own words for a permission to print."""


def may_be_printed(licence: str) -> bool:
    """Whether a licence, as it was typed, lets the railway print the picture in its magazine. What is not understood does
    not."""
    words = " ".join(licence.casefold().replace("_", " ").split())
    return bool(_OPEN.search(words)) and not _CLOSED.search(words)


class Pictures:
    """In one query; each is shown once in a report. left_out: how many anybody may see, and nobody may print."""

    def __init__(self, moments: Moments) -> None:
        self.moments, self.left_out = moments, 0
        self.shown: set[str] = set()
        rows = moments.now.tables["photographs"] if moments.sight.public else moments.after.seen.register.tables["photographs"]
        self.rows = [row for row in rows.values() if self._may_be_seen(row)]
        if moments.sight.public:
            seen = public_photographs(row["sha256"] for row in self.rows)
            self.rows = [row for row in self.rows if row["sha256"] in seen]

    def _may_be_seen(self, row: Row) -> bool:
        if self.moments.sight.restricted:
            return True
        seen = self.moments.after.seen
        owners = [("vehicles", row["vehicle_id"]), ("parts", row["part_id"]), ("sources", row["source_id"])]
        is_open = all(seen.row(table, key) is not None for table, key in owners[:2] if key)
        source = self.moments.now.tables["sources"].get(row["source_id"] or "")
        return row["access"] == "public" and is_open and (source is None or source["access"] == "public")

    def of(self, vehicle: str, concerned: Iterable[str]) -> tuple[Photo, ...]:
        """Those taken in the period first, then those of the parts concerned; else the vehicle's own. concerned: keys of
        parts that something is told of."""
        parts = set(concerned)
        ranked = sorted((rank, row["_key"], row) for row in self.rows if (rank := self._rank(row, vehicle, parts)) is not None)
        best = [row for rank, _, row in ranked if rank < LAST_RESORT] or [row for *_, row in ranked[:1]]
        if self.moments.sight.public:
            printable = [row for row in best if may_be_printed(row["licence"] or "")]
            self.left_out += len(best) - len(printable)
            best = printable
        there = [row for row in best if row["sha256"] not in self.shown and copy_path(row["sha256"], "large").is_file()]
        self.shown |= {row["sha256"] for row in there[:MOST]}
        return tuple(map(_photo, there[:MOST]))

    def _rank(self, row: Row, vehicle: str, parts: set[str]) -> int | None:
        home = self.moments.after.happened.home(row["part_id"], self.moments.period.last)
        is_of_it = row["vehicle_id"] == vehicle or (home is not None and home.vehicle == vehicle)
        is_of_part = row["part_id"] in parts
        taken = span_of(row["taken"].edtf) if row["taken"] else None
        if taken and self.moments.period.is_of(taken) and (is_of_it or is_of_part):
            return 0
        if is_of_part:
            return 1
        is_portrait = row["vehicle_id"] == vehicle and not row["part_id"] and not row["source_id"]
        return LAST_RESORT if vehicle and is_portrait else None


def _photo(row: Row) -> Photo:
    return Photo(
        row["sha256"],
        copy_path(row["sha256"], "large"),
        row["caption"] or "",
        row["credit"] or "",
        row["licence"] or "",
        in_words(row["taken"].edtf) if row["taken"] else "",
    )
