"""Writing down where parts went: one with everything on it, and a place gone through by list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change
from register.exchange.schema import TABLES
from register.exchange.values import parse_texts
from register.fabric.dates import HistoricDate
from register.models import Movement, Part, Place, User
from register.services.waiting import HandedIn, hand_in, handed_in_before
from register.services.whereabouts import (
    Whereabouts,
    fitted_below,
    latest_movements,
    lying_with,
    whereabouts_of,
)

NOT_LOOKED_FOR, NOT_FOUND = "", "not found"


@dataclass(frozen=True, slots=True)
class OnIt:
    """A part on another. follows: it lies with it, and goes along by itself. is_here: as far as anybody wrote down."""

    part: Part
    follows: bool
    is_here: bool


def what_is_on(part: Part) -> list[OnIt]:
    """What may go along when the part is moved: what lies with it, and what is fitted below it."""
    latest = latest_movements()
    follow = set(lying_with(part.key, latest))
    own = _place_of(whereabouts_of(part.key, latest))
    found = [OnIt(latest[key].part, True, True) for key in sorted(follow)]
    for one in fitted_below(part.key):
        if one.key not in follow:
            found.append(OnIt(one, False, _place_of(whereabouts_of(one.key, latest)) == own))
    return found


def _place_of(where: Whereabouts | None) -> str:
    return where.place_id if where else ""


def move(
    part: Part, texts: Mapping[str, str], *, along: Iterable[Part] = (), user: User, token: str | None = None
) -> HandedIn:
    """Record that a part went to a place or lies with another part (place_id, with_part, moved_on, due_back, reason), or
    that nobody knows where it is. along: what goes with it. Raises Refused."""
    values, faults = parse_texts(TABLES["movements"], {**texts, "part_id": part.code})
    if faults:
        raise Refused(faults)
    goes = [one for one in along if one.key != part.key]
    if not handed_in_before(token):  # what it did then is not a clash with itself
        _refuse_a_second_of_the_day([part, *goes], values["moved_on"])
    rows = [values]
    for one in goes:
        with_it = {"part_id": one.code, "moved_on": values["moved_on"], "with_part": part.code}
        rows.append(with_it | {"reason": f"moved with {part.code}"})
    return hand_in(
        [Change("movements", row) for row in rows],
        user=user,
        kind="move",
        title=f"{part.code} moved{f', {len(goes)} parts with it' if goes else ''}",
        reason=str(values.get("reason") or ""),
        token=token,
    )


def _refuse_a_second_of_the_day(parts: Sequence[Part], day: Any) -> None:
    if day is None:
        return
    rows = Movement.objects.filter(part__in=[part.key for part in parts], moved_on_edtf=day.edtf)
    for row in rows.select_related("part", "place", "with_part"):
        where = row.place or row.with_part
        gone = f"to {where.name}" if where else "with its whereabouts not known"
        sentence = (
            f"{row.part.code} has a movement of that day already, {gone}, and a part has one a day. "
            "Change that one on the part's page, or leave this part out."
        )
        raise Refused([Fault("movements", None, "moved_on", day.text, sentence)])


# --- stocktake -------------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class Taken:
    """What a stocktake brought: parts by what became of them, and those left alone since that day has a movement."""

    seen: list[Part] = field(default_factory=list)
    not_found: list[Part] = field(default_factory=list)
    elsewhere: list[tuple[Part, Place]] = field(default_factory=list)
    came: list[Part] = field(default_factory=list)
    left_alone: list[Part] = field(default_factory=list)
    waits: bool = False


def take_stock(
    place: Place,
    *,
    day: str,
    expected: Sequence[Whereabouts],
    seen: Iterable[str],
    others: Mapping[str, str],
    came: Sequence[Part] = (),
    user: User,
    token: str | None = None,
) -> Taken:
    """Record what was seen in a place on a day, as one change set: a movement to where the part is already says that it
    was found there, and its "due back" is kept.

    seen: keys of expected parts. others: for each key that was not seen NOT_LOOKED_FOR (nothing is recorded), NOT_FOUND,
    or the id of the place where it is. came: parts found here that nobody expected. Raises Refused.
    """
    values, faults = parse_texts(TABLES["movements"], {"moved_on": day})
    if not faults and values["moved_on"] is None:
        faults = [Fault("movements", None, "moved_on", "", "Say on which day the place was gone through.")]
    if faults:
        raise Refused(faults)
    when = values["moved_on"]
    keys = {*(one.movement.part_id for one in expected), *(part.key for part in came)}
    of_the_day = set() if handed_in_before(token) else _moved_on(keys, when.edtf)
    sheet = _Sheet(place, when, of_the_day)
    ticked = set(seen)
    places = {one.key: one for one in Place.objects.all()}
    for one in expected:
        sheet.expected(one, one.movement.part_id in ticked, others, places)
    for part in came:
        if part.key not in {one.movement.part_id for one in expected}:
            sheet.arrived(part)
    if sheet.changes:
        handed = hand_in(
            sheet.changes,
            user=user,
            kind="stocktake",
            title=f"Stocktake of {place.name}, {when.text}",
            reason=f"stocktake of {place.code}",
            token=token,
        )
        sheet.taken.waits = handed.waiting is not None
    return sheet.taken


def _moved_on(keys: set[str], edtf: str) -> set[str]:
    rows = Movement.objects.filter(part__in=keys, moved_on_edtf=edtf)
    return set(rows.values_list("part_id", flat=True))


class _Sheet:
    """The movements that a list gone through amounts to."""

    def __init__(self, place: Place, when: Any, of_the_day: set[str]) -> None:
        self.place, self.when, self.of_the_day = place, when, of_the_day
        self.changes: list[Change] = []
        self.taken = Taken()

    def expected(
        self, one: Whereabouts, is_seen: bool, others: Mapping[str, str], places: Mapping[str, Place]
    ) -> None:
        part, said = one.movement.part, others.get(one.movement.part_id, NOT_LOOKED_FOR)
        if not is_seen and said != NOT_FOUND and said not in places:
            return
        if part.key in self.of_the_day:
            self.taken.left_alone.append(part)
        elif is_seen:
            self.taken.seen.append(part)
            with_part = one.movement.with_part.code if one.movement.with_part else None
            due = {"due_back": HistoricDate(one.movement.due_back, one.movement.due_back_edtf)}
            self.put(
                part,
                "seen at a stocktake",
                **({"with_part": with_part} if with_part else {"place_id": self.place.code}),
                **(due if one.movement.due_back_edtf else {}),
            )
        elif said == NOT_FOUND:
            self.taken.not_found.append(part)
            self.put(part, f"not found at the stocktake of {self.place.name}")
        else:
            self.taken.elsewhere.append((part, places[said]))
            self.put(part, f"at the stocktake of {self.place.name}", place_id=places[said].code)

    def arrived(self, part: Part) -> None:
        if part.key in self.of_the_day:
            self.taken.left_alone.append(part)
            return
        self.taken.came.append(part)
        self.put(part, "found at a stocktake", place_id=self.place.code)

    def put(self, part: Part, reason: str, **values: Any) -> None:
        row = {"part_id": part.code, "moved_on": self.when, "reason": reason}
        self.changes.append(Change("movements", row | values))
