"""Ids that were struck out or merged: what stands at their address now."""

from __future__ import annotations

from dataclasses import dataclass

from register.exchange.values import key_of
from register.models import Part, RetiredId
from register.services.structure_merge import part_merged_into
from register.services.tables import MODELS


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """retired: who, when and why; into: the part that a merged id leads to, None where it leads nowhere.
    restricted, published: as the record was when it was last in the tables."""

    retired: RetiredId
    into: Part | None
    restricted: bool
    published: bool


def withdrawn(table: str, code: str) -> Withdrawn | None:
    """What became of the id; None where it is in the register, or never was."""
    if not code.isprintable():  # a database cannot be asked for every text
        return None
    key = key_of(code)
    retired = RetiredId.objects.select_related("act__user").filter(table=table, key=key).first()
    if retired is None:
        return None
    led_to = part_merged_into(part_id=key) if table == "parts" else None
    last = MODELS[table].history.filter(key=key).order_by("-act_id", "-history_id").first()  # type: ignore[attr-defined]
    return Withdrawn(
        retired,
        Part.objects.filter(key=led_to).first() if led_to else None,
        getattr(last, "access", "public") == "restricted",
        bool(getattr(last, "published", False)),
    )
