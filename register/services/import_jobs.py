"""Imports on the site: a file is kept while it is looked at, applied in the background, and forgotten after a day.

The state of a job is a small file beside the upload, so that any worker can tell how it stands and a broken-off job is
seen to be one. Nothing of a job is in the register until its one act is.
"""

from __future__ import annotations

import hashlib
import json
import tempfile
import time
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from pathlib import Path
from threading import Thread
from typing import Any

from django.conf import settings
from django.db import connections

from register.exchange.cells import BrokenTable
from register.exchange.faults import Refused
from register.exchange.overlay import Conflict, Keep
from register.exchange.workbook import refuse_what_is_no_register
from register.models import User
from register.services.change_sets import Conflicted
from register.services.import_register import import_register
from register.services.photographs import write_aside, write_state
from register.services.trouble import in_a_sentence, room_for, size_of, trouble_of

MAX_BYTES = 50_000_000
KEPT_SECONDS = 24 * 3600
BROKEN_OFF_AFTER = 20 * 60
SHOWN = 200
WAITING, RUNNING, DONE, REFUSED = "waiting", "running", "done", "refused"

BROKEN_OFF = "The import was broken off by a fault of the server; nothing was stored. Look at its log, then try again."


class UploadError(ValueError):
    """str() is the sentence."""


@dataclass(slots=True)
class Job:
    """state: waiting, running, done or refused; lines: what was done, or why not."""

    sha256: str
    name: str
    state: str = WAITING
    lines: list[str] = field(default_factory=list)
    change_no: int | None = None
    since: float = 0.0

    @property
    def is_broken_off(self) -> bool:
        return self.state == RUNNING and time.time() - self.since > BROKEN_OFF_AFTER

    @property
    def path(self) -> Path:
        return _folder() / f"{self.sha256}.xlsx"


@dataclass(frozen=True, slots=True)
class Preview:
    """What an import would do: counts (table, created, updated, unchanged, cleared), the values cleared, conflicts,
    faults and notes. Only the first of very many are listed."""

    counts: list[tuple[str, int, int, int, int]] = field(default_factory=list)
    cleared: list[tuple[str, str, str, str]] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    more: int = 0

    @property
    def changes_anything(self) -> bool:
        return any(created or updated for _, created, updated, _, _ in self.counts)


def keep_upload(name: str, chunks: Iterable[bytes]) -> Job:
    """Keep an uploaded workbook to be looked at. Raises UploadError for one that is too large, and for what its content
    shows to be no workbook of the register, whatever it is called; nothing is kept then."""
    _forget_old_ones()
    data = bytearray()
    for chunk in chunks:
        data += chunk
        if len(data) > MAX_BYTES:
            raise UploadError(
                f"The file is larger than {MAX_BYTES // 1_000_000} MB. Import it at the command line, or in parts."
            )
    _refuse_junk(bytes(data))
    job = Job(hashlib.sha256(data).hexdigest(), Path(name).name[:100])
    write_aside(job.path, bytes(data))
    _store(job)
    return job


def _refuse_junk(data: bytes) -> None:
    with tempfile.TemporaryDirectory(prefix="upload-") as folder:
        path = Path(folder) / "upload.xlsx"  # whatever it was called: what it is, is seen in it
        path.write_bytes(data)
        try:
            refuse_what_is_no_register(path)
        except BrokenTable as sentence:
            raise UploadError(str(sentence)) from None


def job_of(sha256: str) -> Job | None:
    """The job of an upload, None for one that is not there (any more)."""
    try:
        found = json.loads((_folder() / f"{sha256}.json").read_text())
    except (FileNotFoundError, ValueError):
        return None
    return Job(**found)


def preview(job: Job, keep: Keep = "") -> Preview:
    """A dry run. Changes nothing."""
    try:
        report = import_register(job.path, dry_run=True, keep=keep)
    except Refused as refused:
        lines = str(refused).splitlines()
        return Preview(
            faults=lines[:SHOWN] if len(lines) <= SHOWN else [*lines[:SHOWN], lines[-1]],
            more=max(0, len(lines) - SHOWN),
        )
    except Conflicted as conflicted:
        return Preview(conflicts=conflicted.conflicts[:SHOWN], more=max(0, len(conflicted.conflicts) - SHOWN))
    cleared: dict[str, int] = {}
    for table, *_ in report.cleared:
        cleared[table] = cleared.get(table, 0) + 1
    tables = {**report.created, **report.updated, **report.unchanged}
    counts = [
        (
            name.replace("_", " "),
            report.created[name],
            report.updated[name],
            report.unchanged[name],
            cleared.get(name, 0),
        )
        for name in tables
    ]
    return Preview(counts, report.cleared[:SHOWN], [], [], report.notes, max(0, len(report.cleared) - SHOWN))


def start(job: Job, *, user: User, keep: Keep = "") -> None:
    """Apply the file in the background. A job that runs already is left to it."""
    if job.state == RUNNING and not job.is_broken_off:
        return
    job.state, job.since, job.lines = RUNNING, time.time(), []
    _store(job)
    if not settings.JOBS_IN_BACKGROUND:
        _run(job, user, keep)
        return
    Thread(target=_run_and_close, args=(job, user, keep), daemon=False).start()


def _run_and_close(job: Job, user: User, keep: Keep) -> None:
    try:
        _run(job, user, keep)
    finally:
        connections.close_all()


def _run(job: Job, user: User, keep: Keep) -> None:
    try:
        report = import_register(job.path, keep=keep, user=user, reason=f"import of {job.name}")
        job.state, job.lines = DONE, report.lines()
        job.change_no = report.act.change_no if report.act else None
    except (Refused, Conflicted) as error:
        job.state, job.lines = REFUSED, str(error).splitlines()[:SHOWN]
    except Exception as error:
        trouble = trouble_of(error)
        said = in_a_sentence(trouble, room=room_for(size_of(job.path))) if trouble else BROKEN_OFF
        job.state, job.lines = REFUSED, [said]
        _store(job)
        raise
    _store(job)


def _store(job: Job) -> None:
    fields: dict[str, Any] = asdict(job)
    write_state(_folder() / f"{job.sha256}.json", json.dumps(fields).encode())


def _folder() -> Path:
    return Path(settings.DATA) / "uploads"


def _forget_old_ones() -> None:
    if _folder().is_dir():
        for path in _folder().iterdir():
            if time.time() - path.stat().st_mtime > KEPT_SECONDS:
                path.unlink(missing_ok=True)
