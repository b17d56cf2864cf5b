"""Writing down where a part went, with everything on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change
from register.exchange.schema import TABLES
from register.exchange.values import parse_texts
from register.models import Movement, Part, User
from register.services.waiting import HandedIn, hand_in, handed_in_before
from register.services.whereabouts import (
    Whereabouts,
    fitted_below,
    latest_movements,
    lying_with,
    whereabouts_of,
)


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
