"""A place gone through by list, by itself or with the places inside it: what was seen, and what about the rest."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change
from register.exchange.schema import TABLES
from register.exchange.values import parse_texts
from register.fabric.dates import HistoricDate
from register.models import Movement, Part, Place, User
from register.services.waiting import hand_in, handed_in_before
from register.services.whereabouts import Whereabouts, latest_movements, parts_in, walk_of

NOT_LOOKED_FOR, NOT_FOUND = "", "not found"


@dataclass(frozen=True, slots=True)
class Round:
    """place: what is gone through. places: it, and those inside it where they are gone through too, in the order of the
    walk. expected: what is in them by the records, in that order, as far as the person may know of it."""

    place: Place
    places: tuple[Place, ...]
    expected: tuple[Whereabouts, ...]

    @property
    def name(self) -> str:
        return f"{self.place.name}, with the places inside" if len(self.places) > 1 else self.place.name

    @property
    def stops(self) -> list[tuple[Place, list[Whereabouts]]]:
        """Each place with what is expected there; a place where nothing is stands in its turn all the same."""
        here = {key: list(rows) for key, rows in groupby(self.expected, key=lambda one: one.place_id)}
        return [(place, here.get(place.key, [])) for place in self.places]

    def expects(self, part: Part) -> Whereabouts | None:
        return next((one for one in self.expected if one.movement.part_id == part.key), None)


def round_of(place: Place, user: Any, *, inside: bool = False) -> Round:
    places = walk_of(place) if inside else [place]
    expected = parts_in([one.key for one in places], latest_movements(), user)
    return Round(place, tuple(places), tuple(expected))


@dataclass(frozen=True, slots=True)
class Said:
    """What somebody says after the round. day: as typed. seen: keys of expected parts, each where it was expected. others:
    for each key that was not seen NOT_LOOKED_FOR (nothing is recorded), NOT_FOUND, or the key of the place where it is.
    came: parts that were found where nobody expected them, with the place."""

    day: str
    seen: frozenset[str]
    others: Mapping[str, str]
    came: Sequence[tuple[Part, Place]] = ()


@dataclass(slots=True)
class Taken:
    """What a stocktake brought: parts by what became of them, and those left alone since that day has a movement."""

    seen: list[Part] = field(default_factory=list)
    not_found: list[Part] = field(default_factory=list)
    elsewhere: list[tuple[Part, Place]] = field(default_factory=list)
    came: list[Part] = field(default_factory=list)
    left_alone: list[Part] = field(default_factory=list)
    waits: bool = False


def take_stock(gone_through: Round, said: Said, *, user: User, token: str | None = None) -> Taken:
    """Record a stocktake as one change set: a movement to where the part is already says that it was found there, and its
    "due back" is kept. Raises Refused."""
    when = _day(said.day)
    keys = {*(one.movement.part_id for one in gone_through.expected), *(part.key for part, _ in said.came)}
    of_the_day = set() if handed_in_before(token) else _moved_on(keys, when.edtf)
    sheet = _Sheet(gone_through, when, of_the_day)
    found = {part.key: place.key for part, place in said.came}
    for one in gone_through.expected:
        key = one.movement.part_id
        is_here = key in said.seen or found.get(key) == one.place_id
        sheet.expected(one, is_here, found.get(key) or said.others.get(key, NOT_LOOKED_FOR))
    for part, place in said.came:
        if gone_through.expects(part) is None:
            sheet.arrived(part, place)
    if sheet.changes:
        place = gone_through.place
        handed = hand_in(
            sheet.changes,
            user=user,
            kind="stocktake",
            title=f"Stocktake of {gone_through.name}, {when.text}",
            reason=f"stocktake of {place.code}",
            token=token,
        )
        sheet.taken.waits = handed.waiting is not None
    return sheet.taken


def _day(text: str) -> HistoricDate:
    values, faults = parse_texts(TABLES["movements"], {"moved_on": text})
    if not faults and values["moved_on"] is None:
        faults = [Fault("movements", None, "moved_on", "", "Say on which day the place was gone through.")]
    if faults:
        raise Refused(faults)
    when: HistoricDate = values["moved_on"]
    return when


def _moved_on(keys: Iterable[str], edtf: str) -> set[str]:
    rows = Movement.objects.filter(part__in=list(keys), moved_on_edtf=edtf)
    return set(rows.values_list("part_id", flat=True))


class _Sheet:
    """The movements that a list gone through amounts to."""

    def __init__(self, gone_through: Round, when: HistoricDate, of_the_day: set[str]) -> None:
        self.place, self.when, self.of_the_day = gone_through.place, when, of_the_day
        self.places = {one.key: one for one in Place.objects.all()}
        self.changes: list[Change] = []
        self.taken = Taken()

    def expected(self, one: Whereabouts, is_seen: bool, said: str) -> None:
        part = one.movement.part
        if not is_seen and said != NOT_FOUND and said not in self.places:
            return
        if part.key in self.of_the_day:
            self.taken.left_alone.append(part)
        elif is_seen:
            self.seen(one)
        elif said == NOT_FOUND:
            self.taken.not_found.append(part)
            self.put(part, f"not found at the stocktake of {self.place.name}")
        else:
            self.taken.elsewhere.append((part, self.places[said]))
            self.put(part, f"at the stocktake of {self.place.name}", place_id=self.places[said].code)

    def seen(self, one: Whereabouts) -> None:
        """Where it was expected: in its own place, or still with what it lies with."""
        with_part, due = one.movement.with_part, one.movement.due_back_edtf
        where = {"with_part": with_part.code} if with_part else {"place_id": self.places[one.place_id].code}
        due_back = {"due_back": HistoricDate(one.movement.due_back, due)} if due else {}
        self.taken.seen.append(one.movement.part)
        self.put(one.movement.part, "seen at a stocktake", **where, **due_back)

    def arrived(self, part: Part, place: Place) -> None:
        if part.key in self.of_the_day:
            self.taken.left_alone.append(part)
            return
        self.taken.came.append(part)
        self.put(part, "found at a stocktake", place_id=place.code)

    def put(self, part: Part, reason: str, **values: Any) -> None:
        row = {"part_id": part.code, "moved_on": self.when, "reason": reason}
        self.changes.append(Change("movements", row | values))
