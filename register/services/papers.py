"""Labels, tickets and walk-round sheets: what they are of, in the order of the screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from ipaddress import ip_address
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.utils import timezone

from register.documents.labels import TO_A_SHEET, TaggedThing, labels
from register.documents.stocktake_sheet import Shelf
from register.documents.stocktake_sheet import stocktake_sheet as sheet_of_a_stocktake
from register.documents.walk_round import Stop, tickets, walk_round
from register.exchange.faults import Fault, Refused
from register.fabric.dates import day_in_words
from register.models import Installation, Part, Position, Vehicle
from register.policy import may
from register.services.stocktakes import Round
from register.services.vehicle_page import Account, Node, Question, account_of, tree_of, without_restricted
from register.services.whereabouts import Whereabouts

__all__ = ["NO_ADDRESS", "TO_A_SHEET", "Wanted", "label_sheet", "public_base", "stocktake_sheet", "ticket_sheet", "tops_of", "walk_round_sheet"]

MOST = 400
"""Labels, tickets or rows in one file."""

SHORT = "/t/"
"""The path of the short address. It is riveted on: a test holds the route to it, and it is never changed."""

NO_ADDRESS = (
    "Labels cannot be printed yet: the register has no public address, and a label that is riveted on cannot be changed. "
    "Whoever looks after the site sets PUBLIC_BASE_URL to the address that it will keep."
)


def public_base() -> str:
    """The address under which the register is found from outside, "" for none: a machine's own address is none."""
    base = str(settings.PUBLIC_BASE_URL)
    try:
        parts = urlsplit(base)
        host = parts.hostname or ""
    except ValueError:
        return ""
    if parts.scheme not in ("http", "https") or not host or host == "localhost" or host.endswith(".localhost"):
        return ""
    try:
        address = ip_address(host)
    except ValueError:
        return base.rstrip("/")
    return "" if address.is_loopback or address.is_unspecified or address.is_link_local else base.rstrip("/")


def address_of_tag(tag: str) -> str:
    """What a code says, without the last stroke, which the site puts there itself."""
    base = public_base()
    return f"{base}{SHORT}{tag}" if base else ""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What papers are asked for: a vehicle (its key, "" for none), one of its top positions ("" for all), or these parts."""

    vehicle: str = ""
    top: str = ""
    parts: tuple[Part, ...] = ()


@dataclass(frozen=True, slots=True)
class Chosen:
    title: str
    stops: list[Stop]


def chosen(wanted: Wanted, *, user: Any, day: date) -> Chosen:
    """Every position and what is recorded in it. Raises NoSuch for a vehicle that is not there, Refused for too many."""
    if wanted.parts:
        found = Chosen("Parts chosen", _of_parts(wanted.parts))
    else:
        found = _of_vehicle(wanted, user, day)
    _refuse_too_many(len(found.stops), "Choose an assembly.")
    return found


def _refuse_too_many(count: int, instead: str) -> None:
    if count > MOST:
        sentence = f"These are {count:,}, and one file holds at most {MOST:,}. {instead}"
        raise Refused([Fault("", None, "in", "", sentence)])


def _of_vehicle(wanted: Wanted, user: Any, day: date) -> Chosen:
    account = account_of(wanted.vehicle, Question(day, basis="count", include_wear=True))
    if not may(user, "read what is restricted"):
        account = without_restricted(account)
    tops = [top for top in tree_of(account) if not wanted.top or top.key == wanted.top]
    nodes = [(top, node) for top in tops for node in top.walk()]
    stops = _Stops(account, [node for _, node in nodes])
    title = account.vehicle.full_name + (f": {tops[0].name}" if wanted.top and tops else "")
    # a position that only holds others together has nothing in it to look at
    return Chosen(title, [stops.of(node, top) for top, node in nodes if node.row or not node.children])


class _Stops:
    """Rows of a sheet, with the tags and cautions of all of them read in two queries."""

    def __init__(self, account: Account, nodes: Sequence[Node]) -> None:
        self.account = account
        self.positions = Position.objects.in_bulk([node.key for node in nodes])
        self.parts = Part.objects.in_bulk([node.row.part for node in nodes if node.row and node.row.part])

    def of(self, node: Node, top: Node) -> Stop:
        position, name = self.positions[node.key], self.account.vehicle.full_name
        part = self.parts.get(node.row.part) if node.row and node.row.part else None
        if part is None or not self.account.labels.parts[part.key].code:
            thing = _thing(position.tag, position.name, "", name, position.name, position.safety)
            return Stop(thing, is_empty=True, assembly=top.name)
        cautions = f"{position.safety};{part.hazards}"
        return Stop(
            _thing(part.tag, part.name, part.code, name, position.name, cautions), assembly=top.name
        )


def _of_parts(parts: Sequence[Part]) -> list[Stop]:
    fitted = {
        row.part_id: row.position
        for row in Installation.objects.filter(
            part__in=[part.key for part in parts], removed_edtf="", temporary=False
        ).select_related("position__vehicle")
    }
    found = []
    for part in parts:
        position = fitted.get(part.key)
        vehicle = position.vehicle.full_name if position else ""
        cautions = f"{position.safety if position else ''};{part.hazards}"
        name = position.name if position else ""
        found.append(Stop(_thing(part.tag, part.name, part.code, vehicle, name, cautions)))
    return found


def _thing(tag: str, name: str, code: str, vehicle: str, position: str, cautions: str) -> TaggedThing:
    told = tuple(dict.fromkeys(word for part in cautions.split(";") if (word := part.strip())))
    return TaggedThing(tag, address_of_tag(tag), name, code, vehicle, position, told)


def tops_of(vehicle: str) -> list[Position]:
    """The top positions of a vehicle, in the order of the screen."""
    return list(Position.objects.filter(vehicle=vehicle, parent=None).order_by("key"))


# --- the papers -------------------------------------------------------------------------------------------------------


def label_sheet(wanted: Wanted, *, user: Any, at: datetime, skip: int = 0) -> bytes:
    """Labels of the vehicle itself and of every part that is recorded in it. Raises Refused while there is no public
    address, or where there is nothing to print."""
    if not public_base():
        raise Refused([Fault("", None, "", "", NO_ADDRESS)])
    found = chosen(wanted, user=user, day=_day(at))
    things = [stop.thing for stop in found.stops if not stop.is_empty]
    if wanted.vehicle and not wanted.top and not wanted.parts:
        vehicle = Vehicle.objects.get(key=wanted.vehicle)
        things.insert(0, _thing(vehicle.tag, vehicle.full_name, vehicle.code, "", "", ""))
    _refuse_nothing(things)
    return labels(things, title=f"Tags, {found.title}", skip=skip, **_marks(at))


def walk_round_sheet(wanted: Wanted, *, user: Any, at: datetime) -> bytes:
    """Raises Refused where there is nothing to walk round."""
    found = chosen(wanted, user=user, day=_day(at))
    _refuse_nothing(found.stops)
    under = f"{len(found.stops)} to look at, in the order of the screen. Type in afterwards what was written."
    return walk_round(found.stops, title=found.title, under=under, **_marks(at))


def ticket_sheet(wanted: Wanted, *, user: Any, at: datetime) -> bytes:
    """Raises Refused where there is no part."""
    found = chosen(wanted, user=user, day=_day(at))
    things = [stop.thing for stop in found.stops if not stop.is_empty]
    _refuse_nothing(things)
    return tickets(things, title=f"Part tickets, {found.title}", **_marks(at))


def stocktake_sheet(gone_through: Round, *, user: Any, at: datetime) -> bytes:
    """The list of a stocktake, in the order of the screen. Raises Refused for too many."""
    _refuse_too_many(len(gone_through.expected), "Go through the places inside one by one.")
    shelves = [
        Shelf(place.name, [(_lying(one), _lies_with(one, user)) for one in rows]) for place, rows in gone_through.stops
    ]
    count = len(gone_through.expected)
    under = (
        f"{count} part{'' if count == 1 else 's'} should be here, in the order of the screen. Type in afterwards what was "
        "ticked. What nobody looked for stays as it is."
    )
    return sheet_of_a_stocktake(shelves, title=f"Stocktake: {gone_through.name}", under=under, **_marks(at))


def _lying(one: Whereabouts) -> TaggedThing:
    part = one.movement.part
    return _thing(part.tag, part.name, part.code, "", "", part.hazards)


def _lies_with(one: Whereabouts, user: Any) -> str:
    other = one.movement.with_part
    if other is None:
        return ""
    readable = other.access == "public" or may(user, "read what is restricted")
    return f"{other.name} ({other.code})" if readable else "another part"


def _refuse_nothing(things: Sequence[object]) -> None:
    if not things:
        sentence = "There is nothing to print: no position, or no part in any of them."
        raise Refused([Fault("", None, "vehicle", "", sentence)])


def _day(at: datetime) -> date:
    return timezone.localtime(at).date()


def _marks(at: datetime) -> dict[str, Any]:
    local = timezone.localtime(at)
    printed = f"Printed {day_in_words(local.date())}, {local:%H:%M}"
    return {"railway": settings.SITE_NAME, "printed": printed, "day": local.date()}
