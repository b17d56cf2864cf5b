"""Texts of which every version is kept: what differs between two of them, and whether somebody else was quicker."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from register.exchange.faults import Fault, Refused
from register.models import User
from register.services.structure_rows import fault

Texts = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Version:
    """Who wrote it and when, and every text that it changed: (label, before, after)."""

    by: User
    at: datetime
    changes: tuple[tuple[str, str, str], ...]


def versions_of(rows: Iterable[tuple[Any, Texts]], labels: Mapping[str, str]) -> list[Version]:
    """The newest first. rows: (row, its texts), the oldest first."""
    found: list[Version] = []
    before: Texts = dict.fromkeys(labels, "")
    for row, now in rows:
        found.append(Version(row.by, row.at, differences(before, now, labels)))
        before = now
    return found[::-1]


def differences(before: Texts, after: Texts, labels: Mapping[str, str]) -> tuple[tuple[str, str, str], ...]:
    """(label, before, after) of every text that is another one."""
    return tuple((label, before[name], after[name]) for name, label in labels.items() if before[name] != after[name])


def refuse_overtaken(latest: Any, after: int | None, changes: Iterable[tuple[str, str, str]]) -> None:
    """Raises Refused for a form that was filled from an older version than the latest. after: the number of that version, 0
    for none, None where it does not matter. changes: from what stands to what was typed."""
    said = [f"{label}: {stands or 'nothing'}" for label, stands, _ in changes]
    if after is None or latest is None or latest.pk == after or not said:
        return
    sentence = (
        f"{latest.by} changed it while you wrote. What you typed is kept below; send it again to put it in the place of what "
        f"stands now ({'; '.join(said)[:1000]})."
    )
    raise Refused([fault("", "", "", sentence)])


def too_long(typed: Texts, most: int) -> list[Fault]:
    """A fault for each text that no paper would print."""
    return [
        fault("", name, "", f"{len(text):,} letters are too many; at most {most:,}. Name a paper that holds the rest.")
        for name, text in typed.items()
        if len(text) > most
    ]
