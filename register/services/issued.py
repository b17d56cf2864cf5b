"""Issued statements as they stand: issued, superseded or withdrawn; and whether a file is one of theirs."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models.functions import Length

from register.models import Entry, Statement, StatementFile, Vehicle
from register.models.statement import PUBLISHED, UNPUBLISHED, WITHDRAWN
from register.services.chain import told_by

STANDS, SUPERSEDED = "issued", "superseded"
NUMBER = re.compile(r"CS-[0-9]{4,12}")


@dataclass(frozen=True, slots=True)
class FileFact:
    name: str
    sha256: str
    size: int


@dataclass(frozen=True, slots=True)
class Standing:
    """A statement and how it stands: ``issued``, ``superseded`` or ``withdrawn``. at: when it was issued. reason: why
    it was withdrawn. public: whether visitors may read of its vehicle. shown: whether it is the published one."""

    statement: Statement
    status: str
    at: datetime
    superseded_by: str = ""
    withdrawn_at: datetime | None = None
    reason: str = ""
    public: bool = False
    shown: bool = False
    files: tuple[FileFact, ...] = ()

    @property
    def accepted(self) -> list[dict[str, str]]:
        found: list[dict[str, str]] = told_by(self.statement.entry)["accepted"]
        return found

    @property
    def why(self) -> str:
        return str(told_by(self.statement.entry)["why"])


def standings(statements: Iterable[Statement]) -> list[Standing]:
    """How each of some statements stands, in five queries however many they are. The entry is to be selected with them."""
    listed = list(statements)
    numbers = [one.number for one in listed]
    files: dict[int, list[FileFact]] = {}
    rows = StatementFile.objects.filter(statement__in=[one.pk for one in listed]).annotate(size=Length("data"))
    for serial, name, sha256, size in rows.order_by("name").values_list("statement", "name", "sha256", "size"):
        files.setdefault(serial, []).append(FileFact(name, sha256, size))
    later = dict(Statement.objects.filter(supersedes__in=numbers).values_list("supersedes", "number"))
    withdrawn = {
        one.number: told_by(one) for one in Entry.objects.filter(kind=WITHDRAWN, number__in=numbers)
    }
    shown = published_numbers([one.vehicle for one in listed])
    public = set(
        Vehicle.objects.filter(key__in=[one.vehicle for one in listed], published=True).values_list("key", flat=True)
    )
    return [
        _standing(one, later, withdrawn, one.vehicle in public, shown.get(one.vehicle) == one.number, files)
        for one in listed
    ]


def _standing(
    one: Statement,
    later: dict[str, str],
    withdrawn: dict[str, dict[str, str]],
    public: bool,
    shown: bool,
    files: dict[int, list[FileFact]],
) -> Standing:
    gone = withdrawn.get(one.number)
    status = WITHDRAWN if gone else SUPERSEDED if one.number in later else STANDS
    return Standing(
        one,
        status,
        datetime.fromisoformat(told_by(one.entry)["at"]),
        later.get(one.number, ""),
        datetime.fromisoformat(gone["at"]) if gone else None,
        gone["reason"] if gone else "",
        public,
        shown,
        tuple(files.get(one.pk, ())),
    )


def standing_of(number: str) -> Standing | None:
    """The statement with this number, whatever the case of its letters; None where there is none."""
    code = number.strip().upper()
    if not NUMBER.fullmatch(code):
        return None
    found = Statement.objects.select_related("entry", "issued_by", "agreed_by").filter(number=code)
    return next(iter(standings(found)), None)


def all_standings(vehicle: str | None = None) -> list[Standing]:
    """Every statement, or those of one vehicle (its key), newest first."""
    found = Statement.objects.select_related("entry", "issued_by").order_by("-serial")
    return standings(found.filter(vehicle=vehicle) if vehicle is not None else found)


def published_numbers(vehicles: Iterable[str] | None = None) -> dict[str, str]:
    """By vehicle key, the number of the statement that its public page shows; "" where it was taken back."""
    entries = Entry.objects.filter(kind__in=(PUBLISHED, UNPUBLISHED)).order_by("seq").values_list("kind", "number")
    rows = Statement.objects.filter(number__in=[number for _, number in entries])
    if vehicles is not None:
        rows = rows.filter(vehicle__in=list(vehicles))
    vehicle_of = dict(rows.values_list("number", "vehicle"))
    found: dict[str, str] = {}
    for kind, number in entries:
        if number in vehicle_of:
            found[vehicle_of[number]] = number if kind == PUBLISHED else ""
    return found


def file_of(number: str, name: str) -> bytes | None:
    """A file of a statement as it was issued; None where there is none."""
    if not NUMBER.fullmatch(number) or not name.isprintable():
        return None
    found = StatementFile.objects.filter(statement__number=number, name=name).first()
    return bytes(found.data) if found else None


def matches(chunks: Iterable[bytes]) -> tuple[str, list[tuple[Statement, str]]]:
    """The SHA-256 of a file, and whose file it is: (statement, name). Nothing is kept of it."""
    digest = hashlib.sha256()
    for chunk in chunks:
        digest.update(chunk)
    sha256 = digest.hexdigest()
    rows = StatementFile.objects.filter(sha256=sha256).defer("data").select_related("statement__entry")
    return sha256, [(one.statement, one.name) for one in rows.order_by("statement", "name")]
