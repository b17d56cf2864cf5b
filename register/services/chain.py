"""The chain of issued statements: every entry's hash covers the one before it, so that none can be changed, left out,
slipped in or swapped without all later ones changing too. What cannot be told from inside (the end cut off, the whole
chain written anew) is told by the checkpoint: its length and last hash, printed on each statement and kept elsewhere.
"""

from __future__ import annotations

import hashlib
import json
import logging
import os
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import connection, transaction

from register.exchange.frozen import canonical
from register.exchange.schema import TABLES
from register.models import Act, Entry, RegisterState
from register.services.loading import state
from register.services.tables import MODELS, fields_of

NOTHING = "0" * 64
"""What stands before the first entry."""
log = logging.getLogger(__name__)


def hash_of(previous: str, content: str) -> str:
    """SHA-256 of a zero byte, the hash before as 64 hex digits, and the content in UTF-8."""
    return hashlib.sha256(b"\0" + previous.encode() + content.encode()).hexdigest()


def head() -> tuple[int, str]:
    """How many entries there are, and the hash of the last."""
    last = Entry.objects.order_by("-seq").first()
    return (last.seq, last.hash) if last else (0, NOTHING)


def wait_in_line() -> None:
    """Writers queue at the one row of the register. SQLite's BEGIN IMMEDIATE has locked already."""
    state()
    if connection.features.has_select_for_update:
        RegisterState.objects.select_for_update().get(id=1)


def append(kind: str, number: str, told: Mapping[str, Any], *, at: datetime) -> Entry:
    """Enter something, inside a transaction and after ``wait_in_line``. The checkpoint is written once it is certain."""
    length, previous = head()
    seq = length + 1
    content = canonical(
        {**told, "seq": seq, "kind": kind, "number": number, "at": at.astimezone(UTC).isoformat()}
    ).decode()
    entry = Entry.objects.create(
        seq=seq, kind=kind, number=number, content=content, previous=previous, hash=hash_of(previous, content)
    )
    line = checkpoint_line(entry)
    transaction.on_commit(lambda: write_checkpoint(line))
    return entry


def told_by(entry: Entry) -> dict[str, Any]:
    """What an entry says."""
    found: dict[str, Any] = json.loads(entry.content)
    return found


def checkpoint_path() -> Path:
    return Path(settings.CHECKPOINT_FILE) if settings.CHECKPOINT_FILE else settings.STATEMENTS / "checkpoints.jsonl"


def checkpoint_line(entry: Entry) -> str:
    """One line of the checkpoint file."""
    told = told_by(entry)
    return canonical(
        {"register_id": str(state().register_id), "length": entry.seq, "head": entry.hash, "at": told["at"]}
    ).decode()


def write_checkpoint(line: str) -> None:
    """Add a line to the checkpoint file. What is issued stays issued: a line that cannot be written is missed, and logged.
    The next one has the whole chain before it in its hash, and begins a line of its own where this one broke off."""
    path = checkpoint_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("ab+") as file:
            file.seek(max(0, file.seek(0, os.SEEK_END) - 1))
            file.write((b"" if file.read(1) in (b"", b"\n") else b"\n") + line.encode() + b"\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        log.error("This checkpoint could not be written to %s (%s): %s", path, error, line)


# --- the record of acts, as of an issue -----------------------------------------------------------------------------


def record_columns() -> dict[str, list[str]]:
    """The columns of the acts and of each history that a digest covers now. A later release may have more."""
    found = {name: [*fields_of(TABLES[name]), "history_type"] for name in sorted(MODELS)}
    return {"acts": ["change_no", "at", "user_id", "kind", "reason"], **found}


def record_digests(columns: Mapping[str, Iterable[str]], change_nos: Iterable[int]) -> dict[int, dict[str, str]]:
    """By change number, the SHA-256 by table of all acts, and of all history, up to it; read once."""
    wanted = sorted(set(change_nos))
    found: dict[int, dict[str, str]] = {number: {} for number in wanted}
    for name, fields in columns.items():
        fields = list(fields)
        if name == "acts":
            rows = Act.objects.order_by("change_no").values_list("change_no", *fields)
        else:
            past = MODELS[name].history  # type: ignore[attr-defined]
            rows = past.order_by("act_id").values_list("act_id", *fields)
        digest, waiting, act = hashlib.sha256(), list(wanted), None
        batch: list[bytes] = []

        def settle(batch: list[bytes], digest: Any = digest) -> None:
            for line in sorted(batch):
                digest.update(line + b"\n")
            batch.clear()

        for number, *values in rows.iterator(2000):
            if number != act:
                settle(batch)
                while waiting and waiting[0] < number:
                    found[waiting.pop(0)][name] = digest.hexdigest()
                act = number
                if not waiting:
                    break
            batch.append(canonical([_plain(value) for value in values]))
        settle(batch)
        for number in waiting:
            found[number][name] = digest.hexdigest()
    return found


def _plain(value: Any) -> Any:
    return value.astimezone(UTC).isoformat() if isinstance(value, datetime) else value
