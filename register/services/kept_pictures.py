"""Pictures that have arrived and are part of no record yet: each is kept by itself as soon as it is here, so that one that
breaks off takes nothing with it. What they are of, and what is written of them, comes with its own small request.

A picture is told again by its bytes: sent twice, it is there once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from register.exchange.faults import printable
from register.models import RetiredId
from register.services.photographs import (
    ENDINGS,
    MAX_BYTES,
    NotAPicture,
    camera_day,
    keep_original,
    open_picture,
)

Picture = dict[str, str]
"""name: as it was sent. sha256, ending: of the file. day: the camera's (ISO), "" where it says none."""

FOLDER = "photographs"
LONGEST_NAME = 200


@dataclass(frozen=True, slots=True)
class Sent:
    """A file as it came: the name it was sent under, and where it lies meanwhile."""

    name: str
    path: Path


@dataclass(slots=True)
class Kept:
    """failed: (name sent, sentence) of those that cannot be taken."""

    pictures: list[Picture] = field(default_factory=list)
    failed: list[tuple[str, str]] = field(default_factory=list)


def keep_pictures(sent: Sequence[Sent], *, today: date) -> Kept:
    """Keep every picture that can be read; the others are named, each with its reason."""
    found = Kept()
    for one in sent:
        name = printable(one.name, LONGEST_NAME)
        try:
            found.pictures.append({"name": name} | _kept(one.path, today))
        except NotAPicture as why:
            found.failed.append((name[:80], str(why)))
    return found


def _kept(path: Path, today: date) -> Picture:
    if path.stat().st_size > MAX_BYTES:
        raise NotAPicture("the file is larger than 60 MB.")
    image = open_picture(path, edge=1)
    ending, day = ENDINGS.get(str(image.format), "jpg"), camera_day(image, today)
    image.close()
    return {"sha256": keep_original(path), "ending": ending, "day": day.isoformat() if day else ""}


def joined(held: Iterable[Mapping[str, str]], more: Iterable[Mapping[str, str]]) -> list[Picture]:
    """Both, each picture once, in the order in which they came."""
    found: dict[str, Picture] = {}
    for one in (*held, *more):
        found.setdefault(one["sha256"], dict(one))
    return list(found.values())


def without(held: Iterable[Mapping[str, str]], sha256: str) -> list[Picture]:
    return [dict(one) for one in held if one["sha256"] != sha256]


def file_name(picture: Mapping[str, str], code: str) -> str:
    """What the picture is called as a photograph of this part, vehicle or source, "" for none. One that was struck out may
    be sent again, under another name: an id is never used twice."""
    stem = f"{FOLDER}/{code or 'tray'}-{picture['sha256'][:12]}"
    name, number = f"{stem}.{picture['ending']}", 1
    while RetiredId.objects.filter(table="photographs", key=name).exists():
        number += 1
        name = f"{stem}-{number}.{picture['ending']}"
    return name
