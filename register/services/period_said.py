"""What is said of a thing that happened, beside its part and its date: in whose place, where it went, what was done."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from register.documents.period_content import DISPOSED, FITTED, MOVED, REMOVED, TREATED
from register.documents.period_words import share_words
from register.fabric.dates import in_words
from register.services.happenings import Happening
from register.services.period_moments import Moments

STAND_IN = "a stand-in: in no figure"
MADE_SINCE = ("replica", "modern substitute")


class Said:
    """From the rows as they were known in the end, as far as the reader may know of them."""

    def __init__(self, moments: Moments) -> None:
        self.moments, self.seen, self.happened = moments, moments.after.seen, moments.after.happened
        self.out_of: dict[tuple[str, str], list[Happening]] = defaultdict(list)
        self.moves: dict[str, list[Happening]] = defaultdict(list)
        self.came_out: set[tuple[str | None, str]] = set()
        for one in self.happened.all.values():
            if one.kind == REMOVED:
                self.came_out.add((one.part, one.edtf))
                if not one.row["temporary"]:
                    self.out_of[one.row["position_id"], one.edtf].append(one)
            elif one.kind == MOVED:
                self.moves[one.part or ""].append(one)

    def of(self, one: Happening) -> tuple[str, ...]:
        return tuple(filter(None, SAYS[one.kind](self, one)))

    def is_told_elsewhere(self, one: Happening) -> bool:
        """Of a move: it is told with the removal of the same day, or nothing may be said of where to."""
        if one.kind != MOVED:
            return False
        return (one.part, one.edtf) in self.came_out or (self.moments.sight.public and not self._where(one))

    def fitted(self, one: Happening) -> Iterator[str]:
        row, part = one.row, self.seen.row("parts", one.part)
        if row["temporary"]:
            yield STAND_IN
        else:
            left = [self.seen.name("parts", other.part) for other in self.out_of.get((row["position_id"], one.edtf), ())]
            if names := ", ".join(filter(None, left)):
                yield f"in place of {names}"
        yield self._came_from(one)
        held = self.moments.after.held.get(one.part or "")
        if part and part["date_mark"] and held and held["status"] in MADE_SINCE:
            yield f"marked as new: {part['date_mark']}"
        yield row["reason"] or ""

    def _came_from(self, one: Happening) -> str:
        """Where the part was before, if it was anywhere."""
        last = None
        for stay in self.happened.stays[one.part or ""]:
            ended = stay.removed is not None and stay.removed.best <= one.span.best
            if ended and stay.row is not one.row and not stay.row["temporary"]:
                last = stay
        if last is None:
            return ""
        vehicle, position = self.seen.vehicle(last.vehicle), self.seen.name("positions", last.row["position_id"])
        if last.vehicle != one.vehicle:
            return f"before in {vehicle}" if vehicle else ""
        return f"before as {position}" if last.row["position_id"] != one.row["position_id"] else "it was here before"

    def removed(self, one: Happening) -> Iterator[str]:
        if one.row["temporary"]:
            yield STAND_IN
        yield self.whereabouts(one)
        yield one.row["reason"] or ""

    def whereabouts(self, one: Happening) -> str:
        """Where a removed part was at the end of the period."""
        last = self.moments.period.last
        gone = self.happened.all.get((DISPOSED, one.part or ""))
        if gone is not None and gone.span.best <= last:
            return f"{gone.row['disposal']}, {in_words(gone.edtf)}"
        home = self.happened.home(one.part, last)
        if home is not None and home.row is not one.row and home.is_best_on(last):
            where = self.seen.name("positions", home.row["position_id"])
            if home.vehicle == one.vehicle:
                return f"now fitted as {where}" if where else ""
            vehicle = self.seen.vehicle(home.vehicle)
            return f"now in {vehicle}, as {where}" if vehicle else ""
        moved = [other for other in self.moves[one.part or ""] if one.span.best <= other.span.best <= last]
        if not moved:
            return "" if self.moments.sight.public else "where it went is not recorded"
        return self._where(max(moved, key=lambda other: (other.span.best, other.row["_key"])))

    def moved(self, one: Happening) -> Iterator[str]:
        yield self._where(one) or "where to is not known"
        yield one.row["reason"] or ""

    def _where(self, moved: Happening) -> str:
        row = moved.row
        due = f", due back {in_words(row['due_back'].edtf)}" if row["due_back"] else ""
        if place := self.seen.name("places", row["place_id"]):
            return f"to {place}{due}"
        with_part = self.seen.name("parts", row["with_part"])
        return f"with {with_part}{due}" if with_part else ""

    def treated(self, one: Happening) -> Iterator[str]:
        row = one.row
        yield row["work"]
        if row["replaced"] or row["replaced_high"]:
            share = share_words(row["replaced_low"], row["replaced"], row["replaced_high"])
            yield f"{share} of its material replaced"
        if person := self.seen.person(row["done_by"]):
            yield f"done by {person}"

    def disposed(self, one: Happening) -> Iterator[str]:
        yield str(one.row["disposal"])


SAYS = {
    FITTED: Said.fitted,
    REMOVED: Said.removed,
    TREATED: Said.treated,
    MOVED: Said.moved,
    DISPOSED: Said.disposed,
}
