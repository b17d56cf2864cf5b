"""What one reader may read of a register: rows named, or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from register.exchange.records import Register, Row
from register.models import User, Vehicle
from register.policy import may
from register.services.public import NOT_PUBLISHED


@dataclass(frozen=True, slots=True)
class Sight:
    """restricted, names, proposals, statements, finds: whether they may be read. public: of anybody, of a register that
    holds only what is public. own: the key of the person that the reader is; user: the number of the reader's account."""

    public: bool = False
    restricted: bool = False
    names: bool = False
    proposals: bool = False
    statements: bool = False
    finds: bool = False
    own: str | None = None
    user: int | None = None


EVERYTHING = Sight(restricted=True, names=True, proposals=True, statements=True, finds=True)
"""Of whoever has the machine that the register runs on."""
PUBLIC = Sight(public=True, statements=True)


def sight_of(user: Any) -> Sight:
    """What a signed-in person may read."""
    return Sight(
        restricted=may(user, "read what is restricted"),
        names=may(user, "read persons' names"),
        proposals=may(user, "read proposals"),
        statements=may(user, "read issued statements"),
        finds=may(user, "review"),
        own=getattr(user, "person_id", None),
        user=getattr(user, "pk", None),
    )


@dataclass(frozen=True, slots=True)
class Seen:
    """A register as it is seen. What may not be named is ""."""

    register: Register
    sight: Sight

    def row(self, table: str, key: str | None) -> Row | None:
        """None where there is none, or none that may be read of."""
        found = self.register.tables[table].get(key) if key else None
        if found is None or (found.get("access") == "restricted" and not self.sight.restricted and table != "places"):
            return None
        return None if NOT_PUBLISHED in (found.get("name"), found.get("title")) else found

    def name(self, table: str, key: str | None) -> str:
        found = self.row(table, key)
        return str(found["name"]) if found else ""

    def vehicle(self, key: str | None) -> str:
        """``No. 6 Harrenby``"""
        found = self.row("vehicles", key)
        return Vehicle(name=found["name"], number=found["number"] or "").full_name if found else ""

    def person(self, key: str | None) -> str:
        """As the reader may know him or her."""
        found = self.register.tables["people"].get(key) if key else None
        if found is None:
            return ""
        if self.sight.public or self.sight.names or key == self.sight.own:
            return str(found["name"])  # of a public register the name that may be read
        return str(found["public_as"] or "")

    def user(self, user: User | None) -> str:
        """Who did something, as the reader may know him or her; "" where not at all."""
        if user is None or not (self.sight.names or user.pk == self.sight.user):
            return ""
        return user.get_full_name() or user.get_username()
