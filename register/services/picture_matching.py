"""Whose picture is it? Read from the name of the file: a tag, the id of a part, or a vehicle's id or number."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from register.exchange.values import TAG
from register.models import Installation, Part, Position, Source, Vehicle
from register.policy import may

MOST_LETTERS = 40
_APART = re.compile(r"[\s_\-.,;()\[\]]+")


@dataclass(frozen=True, slots=True)
class Owner:
    """What a picture is of. table: vehicles, parts or sources."""

    table: str
    key: str
    code: str
    name: str

    @property
    def column(self) -> str:
        return {"vehicles": "vehicle_id", "parts": "part_id", "sources": "source_id"}[self.table]

    @property
    def words(self) -> str:
        return f"{self.code} {self.name}".strip()


def owner_of(text: str, user: Any) -> Owner | None:
    """What a person names by a tag or an id, the only thing of that name; None for nothing that he or she may read."""
    asked = _as_typed(text)
    found = _Known(asked, user).first(asked)
    return found[0] if len(found) == 1 else None


def _as_typed(text: str) -> list[str]:
    """What a line may mean: an id as it stands, else a tag as labels print it, with a hyphen or blanks in it."""
    line = text.strip().lower()
    squeezed = "".join(letter for letter in line if letter.isalnum())
    return list(dict.fromkeys(one for one in (line, squeezed) if one))


def owners_by_name(names: Iterable[str], user: Any) -> Mapping[str, Owner]:
    """The owner of each file whose name says exactly one, in a fixed number of queries."""
    pieces = {name: _pieces(name) for name in dict.fromkeys(names)}
    known = _Known([piece for found in pieces.values() for piece in found], user)
    matched = {}
    for name, found in pieces.items():
        owners = {owner for piece in _longest(found, known) for owner in known.owners(piece)}
        if len(owners) == 1:
            matched[name] = owners.pop()
    return matched


def _pieces(name: str) -> list[str]:
    """Runs of the words of a file's name, as they stand there and joined with hyphens: ids hold hyphens and points.

    A bare number is a piece only where the name begins with it or "No" stands before it: cameras number pictures.
    """
    stem = name.rsplit("/", 1)[-1].rsplit(".", 1)[0].lower()[:200]
    words = [word for word in _APART.split(stem) if word][:24]
    apart = _APART.findall(stem.strip(" _-.,;()[]"))
    found = []
    for start in range(len(words)):
        for end in range(start + 1, len(words) + 1):
            as_typed = "".join(
                word + (apart[at] if at < end - 1 and at < len(apart) else "")
                for at, word in list(enumerate(words))[start:end]
            )
            for piece in {as_typed, "-".join(words[start:end])}:
                if len(piece) <= MOST_LETTERS and _may_be_meant(piece, words, start):
                    found.append(piece)
    return found


def _may_be_meant(piece: str, words: list[str], start: int) -> bool:
    return not piece.isdigit() or start == 0 or words[start - 1] in ("no", "nr", "number")


def _longest(pieces: list[str], known: _Known) -> list[str]:
    """Of the pieces that name something, those that are in no longer one: ``fr-001`` and not the vehicle ``fr``."""
    named = [piece for piece in pieces if known.owners(piece)]
    return [
        one for one in named if not any(one != other and one in other and len(other) > len(one) for other in named)
    ]


class _Known:
    """What of the register the pieces name."""

    def __init__(self, pieces: Iterable[str], user: Any) -> None:
        asked = {piece for piece in pieces if piece.isprintable()}  # a database cannot be asked for every text
        self.found: dict[str, list[Owner]] = defaultdict(list)
        tags = {piece.upper() for piece in asked if TAG.fullmatch(piece.upper())}
        open_to = Q() if may(user, "read what is restricted") else Q(access="public")
        for part in Part.objects.filter(open_to, Q(key__in=asked) | Q(tag__in=tags)):
            self.add(Owner("parts", part.key, part.code, part.name), part.key, part.tag)
        for vehicle in Vehicle.objects.all():  # few, and numbers are compared without case
            owner = Owner("vehicles", vehicle.key, vehicle.code, vehicle.name)
            self.add(owner, vehicle.key, vehicle.tag, vehicle.number)
        for source in Source.objects.filter(open_to, key__in=asked):
            self.add(Owner("sources", source.key, source.code, source.title), source.key)
        self.positions(tags, user)

    def positions(self, tags: set[str], user: Any) -> None:
        """The tag of a position stands for the one part that is fitted there."""
        tagged = dict(Position.objects.filter(tag__in=tags).values_list("key", "tag"))
        fitted: dict[str, list[Part]] = defaultdict(list)
        rows = Installation.objects.filter(position__in=tagged, removed_edtf="", temporary=False)
        for row in rows.select_related("part"):
            fitted[row.position_id].append(row.part)
        for position, parts in fitted.items():
            if len(parts) == 1 and (parts[0].access == "public" or may(user, "read what is restricted")):
                self.add(Owner("parts", parts[0].key, parts[0].code, parts[0].name), tagged[position])

    def add(self, owner: Owner, *names: str) -> None:
        for name in {name.lower() for name in names if name}:
            if owner not in self.found[name]:
                self.found[name].append(owner)

    def owners(self, piece: str) -> list[Owner]:
        return self.found.get(piece, [])

    def first(self, pieces: Iterable[str]) -> list[Owner]:
        """What the first of the pieces names that names anything."""
        return next((found for piece in pieces if (found := self.owners(piece))), [])


def parts_named(lines: Iterable[str], user: Any) -> tuple[list[Part], list[str]]:
    """(the parts that lines of tags and ids name, each once; the lines that name none), in a fixed number of queries."""
    asked = [line.strip() for line in lines if line.strip()]
    known = _Known([piece for line in asked for piece in _as_typed(line)], user)
    keys: dict[str, None] = {}
    missing = []
    for line in asked:
        owners = [owner for owner in known.first(_as_typed(line)) if owner.table == "parts"]
        if len(owners) == 1:
            keys[owners[0].key] = None
        else:
            missing.append(line)
    parts = Part.objects.in_bulk(list(keys))
    return [parts[key] for key in keys], missing
