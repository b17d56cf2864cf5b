"""The register at the moments that a period report speaks of: as it was known before the period, on its last day, and on
the last day whose entries are read; of all that the reader may read."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property

from django.utils import timezone

from register.exchange.records import Register, Row
from register.exchange.schema import ORDER
from register.fabric.period import Period
from register.models import Act, User
from register.services.happenings import Happening, Happenings, in_force
from register.services.known import as_known, last_change_by
from register.services.loading import last_change_no, load_register
from register.services.public import public_register
from register.services.publishing import GONE, public_states
from register.services.sight import Seen, Sight


@dataclass(frozen=True)
class Moment:
    """full: every row, for figures. seen: what the reader may read of it."""

    full: Register
    seen: Seen

    @cached_property
    def happened(self) -> Happenings:
        """As far as the reader may read: where something is of nothing that may be named, whoever tells it leaves it out."""
        return Happenings(self.seen.register)

    @cached_property
    def held(self) -> dict[str, Row]:
        """The assessment in force of each part."""
        return in_force(self.seen.register)


@dataclass(frozen=True)
class Moments:
    """before: as known when the period began; last: when it ended; after: as known on the day asked for. now: as it is.
    acts: (day, user) of every act from the first of the period on."""

    period: Period
    sight: Sight
    before: Moment
    last: Moment
    after: Moment
    now: Register
    acts: dict[int, tuple[date, User | None]] = field(default_factory=dict)

    @property
    def first_day(self) -> date:
        return date.fromordinal(self.period.first)

    @property
    def last_day(self) -> date:
        return date.fromordinal(self.period.last)

    @property
    def is_late(self) -> bool:
        """Whether entries are read that were made after the period."""
        return self.last is not self.after

    def is_news(self, one: Happening) -> bool:
        """Whether it was not known so when the period began."""
        known = self.before.happened.all.get(one.key)
        return known is None or known.stamp != one.stamp

    def was_public(self, table: str, key: str | None) -> bool:
        """Whether the row could be read by anybody before the period."""
        row = self.before.full.tables[table].get(key) if key else None
        if row is None:
            return False
        return bool(row["published"]) if table == "vehicles" else row["access"] == "public"

    def entered(self, table: str, key: str) -> tuple[date, User | None] | None:
        """When a row was last touched, and by whom; None before the period, or where there is no such row."""
        row = self.after.full.tables[table].get(key)
        return self.acts.get(row["_act"]) if row else None


def moments(period: Period, known: date, sight: Sight) -> Moments:
    """In a fixed number of queries, whatever the size of the register."""
    first, last = date.fromordinal(period.first), date.fromordinal(period.last)
    now = load_register()
    numbers = [last_change_by(first - timedelta(days=1)), last_change_by(last), last_change_by(known)]
    newest = last_change_no()
    states = {number: now if number == newest else as_known(now, number) for number in dict.fromkeys(numbers)}
    open_now = _opened(now) if sight.public else frozenset()
    made = {number: _moment(register, now, sight, open_now) for number, register in states.items()}
    before, then, after = (made[number] for number in numbers)
    return Moments(period, sight, before, then, after, now, _acts(numbers[0]))


def _moment(register: Register, now: Register, sight: Sight, public: frozenset[str]) -> Moment:
    if not sight.public:
        return Moment(register, Seen(_as_closed_as_now(register, now), sight))
    return Moment(register, Seen(public_register(_as_open_as_now(register, now, public)), sight))


def _opened(now: Register) -> frozenset[str]:
    """The vehicles that anybody may read of today."""
    states = public_states(list(now.tables["vehicles"]))
    return frozenset(key for key, one in states.items() if one.state != GONE)


def _as_open_as_now(register: Register, now: Register, public: frozenset[str]) -> Register:
    """The rows of an earlier moment that are still there, each as open or closed as it is today; names of people as they
    may be read today. Photographs are asked for apart."""
    made = Register(change_no=register.change_no, register_id=register.register_id)
    for name in ORDER:
        rows, current = register.tables[name], now.tables[name]
        made.tables[name] = {key: row | _access(current[key]) for key, row in rows.items() if key in current}
    made.tables["people"] = now.tables["people"]
    made.tables["photographs"] = {}
    for key, row in made.tables["vehicles"].items():
        row["published"] = key in public
    return made


def _as_closed_as_now(register: Register, now: Register) -> Register:
    """An earlier moment, with what was restricted since kept from whoever may not read it today."""
    if register is now:
        return now
    made = Register(change_no=register.change_no, register_id=register.register_id)
    for name in ORDER:
        current = now.tables[name]
        made.tables[name] = {
            key: row | {"access": "restricted"}
            if key in current and current[key].get("access") == "restricted"
            else row
            for key, row in register.tables[name].items()
        }
    return made


def _access(row: Row) -> Row:
    return {name: row[name] for name in ("access", "published") if name in row}


def _acts(after: int) -> dict[int, tuple[date, User | None]]:
    rows = Act.objects.filter(change_no__gt=after).select_related("user")
    return {one.change_no: (timezone.localtime(one.at).date(), one.user) for one in rows}
