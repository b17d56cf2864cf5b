"""Photographs as records: of one part, vehicle or source, or each of what the name of its file says; and the tray of those
that nobody has said yet what they are of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Q, QuerySet

from register.exchange.faults import Fault, Refused, printable
from register.exchange.records import Change
from register.exchange.schema import TABLES
from register.exchange.values import parse_texts
from register.models import Photograph, User
from register.policy import may
from register.services.change_sets import apply
from register.services.kept_pictures import FOLDER, Picture, file_name
from register.services.picture_matching import Owner, owners_by_name
from register.services.picture_state import can_be_shown, why_missing
from register.services.waiting import hand_in

CAMERA_DATE = "camera_date"
"""Beside the columns of a photograph: "yes" where a picture without a typed date takes the day that the camera wrote."""


@dataclass(slots=True)
class Added:
    """recorded: (name sent, key of the record, owner or None for the tray)."""

    recorded: list[tuple[str, str, Owner | None]] = field(default_factory=list)
    waits: bool = False

    @property
    def in_tray(self) -> int:
        return sum(owner is None for _, _, owner in self.recorded)


def read_texts(texts: Mapping[str, str]) -> dict[str, Any]:
    """Caption, credit, licence, taken and access as the register reads them. Raises Refused."""
    columns = {name: text for name, text in texts.items() if name != CAMERA_DATE}
    values, faults = parse_texts(TABLES["photographs"], columns)
    if faults:
        raise Refused(faults)
    return values


def record_photographs(
    pictures: Sequence[Picture],
    owner: Owner | None,
    texts: Mapping[str, str],
    *,
    user: User,
    token: str | None = None,
) -> Added:
    """Record pictures that are kept already, in one act. owner None: each is of what the name of its file says, else it
    goes into the tray. Raises Refused for the texts."""
    values = read_texts(texts)
    added = Added()
    changes: list[Change] = []
    owners = {} if owner else owners_by_name([one["name"] for one in pictures], user)
    for one in pictures:
        mine = owner or owners.get(one["name"])
        file = file_name(one, mine.code if mine else "")
        own = dict(values) | ({mine.column: mine.code} if mine else {})
        if texts.get(CAMERA_DATE) and one["day"] and not own.get("taken"):
            own["taken"] = read_texts({"taken": one["day"]})["taken"]
        changes.append(Change("photographs", {"file": file, "sha256": one["sha256"]} | own))
        added.recorded.append((one["name"][:80], file, mine))
    reason = f"photographs of {owner.code}" if owner else "photographs by the names of their files"
    added.waits = _hand_in(but_known(changes), owner, user=user, reason=reason, token=token)
    return added


def _hand_in(
    changes: list[Change], owner: Owner | None, *, user: User, reason: str, token: str | None
) -> bool:
    """Record them, or have them wait for review; whether they wait. None where all are known already."""
    if not changes:
        return False
    title = f"{len(changes)} photograph{'s' if len(changes) > 1 else ''} of {owner.code if owner else 'several things'}"
    handed = hand_in(
        changes, user=user, kind="new photographs", title=title, reason=reason, token=token
    )
    return handed.waiting is not None


def but_known(changes: list[Change]) -> list[Change]:
    """Without those that the register holds already: sending a picture again does not undo what was written of it."""
    names = [change.values["file"] for change in changes]
    known = set(Photograph.objects.filter(key__in=names).values_list("key", flat=True))
    return [change for change in changes if change.values["file"] not in known]


# --- the tray -------------------------------------------------------------------------------------------------------


def tray(user: Any) -> QuerySet[Photograph, Photograph]:
    """Pictures that are of nothing yet, in the order in which they came."""
    rows = Photograph.objects.filter(vehicle=None, part=None, source=None).order_by("act_id", "key")
    return rows if may(user, "read what is restricted") else rows.filter(access="public")


def assign(keys: Iterable[str], owner: Owner, *, user: User, token: str | None = None) -> int:
    """Say what pictures of the tray are of; how many that were. Raises Refused where one has left the tray."""
    wanted = list(dict.fromkeys(keys))
    free = set(tray(user).filter(key__in=[key for key in wanted if key.isprintable()]).values_list("key", flat=True))
    if gone := [key for key in wanted if key not in free]:
        names = ", ".join(printable(key.removeprefix(f"{FOLDER}/")) for key in gone[:3])
        raise Refused(
            [
                Fault(
                    "photographs",
                    None,
                    "",
                    "",
                    f"{names}: no longer in the tray. Somebody has been here before you; look at the tray as it is now.",
                )
            ]
        )
    changes = [Change("photographs", {"file": key, owner.column: owner.code}) for key in wanted]
    reason = f"pictures of the tray are of {owner.code}"
    apply(changes, kind="assign photographs", user=user, reason=reason, token=token)
    return len(changes)


def photographs_of(user: Any, **owner: str) -> list[Photograph]:
    """Of a part, a vehicle or a source (``part="fr-001"``), as far as the person may see them; each with why its file is
    missing, if it is."""
    rows = Photograph.objects.filter(**owner).order_by("act_id", "key")
    if not may(user, "read what is restricted"):
        of_part = Q(part__isnull=True) | Q(part__access="public")
        of_source = Q(source__isnull=True) | Q(source__access="public")
        rows = rows.filter(of_part, of_source, access="public")
    return with_files(rows)


def with_files(rows: Iterable[Photograph]) -> list[Photograph]:
    """The same, each with the state of its files."""
    found = list(rows)
    for one in found:
        one.missing, one.is_shown = why_missing(one.sha256), can_be_shown(one.sha256)
    return found
