"""Lists on the site: a file is kept while it is gone through, with everything that was chosen and answered.

Beside the file lies a small file with the choices, so that closing the browser, a sign-in that ran out or another
worker loses nothing. Nothing of a list is in the register until it is accepted, in one act and in the background.
What nobody touched for a month is forgotten.
"""

from __future__ import annotations

import hashlib
import json
import secrets
import time
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace
from datetime import date
from pathlib import Path
from threading import Thread
from typing import Any

from django.conf import settings
from django.db import connections

from register.exchange.faults import Refused, printable
from register.exchange.flat_list.given import Given
from register.exchange.flat_list.headings import heading_of
from register.exchange.flat_list.mapping import DEFAULT_VISIBILITY, Column, ListChoices, fingerprint, guess
from register.exchange.flat_list.sheet import MAX_BYTES, Sheet, refuse
from register.exchange.overlay import Keep
from register.exchange.values import key_of
from register.fabric.dates import read_day
from register.models import Act, ListMapping, User
from register.services.change_sets import Conflicted
from register.services.from_list import Proposal, accept, choices_for, choose, open_list, propose
from register.services.photographs import write_aside, write_state
from register.services.trouble import in_a_sentence, trouble_of

KEPT_SECONDS = 31 * 24 * 3600
BROKEN_OFF_AFTER = 20 * 60
SHOWN = 200
LONGEST_NAME = 120
"""Bytes of the name of a file."""
WAITING, RUNNING, DONE, REFUSED = "waiting", "running", "done", "refused"
LOOK_AGAIN = (
    "The register or what was chosen for the list has changed since you looked. Nothing was entered: look "
    "through it again."
)

BROKEN_OFF = (
    "Entering the list was broken off by a fault of the server; nothing was stored. Look at its log, then try again."
)


@dataclass(slots=True)
class ListJob:
    """columns: (role, unit) of each, none while nobody chose. day: as typed. given: answers by the key of the
    question. state: waiting, running, done or refused; lines: why it was refused."""

    sha256: str
    name: str
    sheet: str = ""
    first: int = 0
    last: int = 0
    columns: list[list[str]] = field(default_factory=list)
    words: dict[str, str] = field(default_factory=dict)
    sections: dict[str, bool] = field(default_factory=dict)
    visibility: str = DEFAULT_VISIBILITY
    vehicle_id: str = ""
    vehicle: dict[str, str] = field(default_factory=dict)
    day: str = ""
    prefix: str = ""
    given: dict[str, dict[str, Any]] = field(default_factory=dict)
    leave_out: list[int] = field(default_factory=list)
    token: str = ""
    state: str = WAITING
    lines: list[str] = field(default_factory=list)
    change_no: int | None = None
    since: float = 0.0

    @property
    def is_broken_off(self) -> bool:
        return self.state == RUNNING and time.time() - self.since > BROKEN_OFF_AFTER

    @property
    def is_running(self) -> bool:
        return self.state == RUNNING and not self.is_broken_off

    @property
    def path(self) -> Path:
        return _folder() / f"{self.sha256}.list"

    @property
    def vehicle_key(self) -> str:
        return key_of(self.vehicle_id)

    @property
    def answers(self) -> dict[str, Given]:
        return {key: Given(**one) for key, one in self.given.items()}


def keep_list(name: str, chunks: Iterable[bytes]) -> ListJob:
    """Keep an uploaded list; one that is there already goes on where it was left, unless it was accepted.
    Raises Refused with a sentence for one that is too large, or no list."""
    forget_old_ones()
    data = bytearray()
    for chunk in chunks:
        data += chunk
        if len(data) > MAX_BYTES:
            refuse(
                printable(name),
                f"The file is larger than {MAX_BYTES // 1024**2} MB: a list is not. Is it the right file?",
            )
    short = short_name(name)
    open_list(bytes(data), name=short)
    sha256 = hashlib.sha256(data).hexdigest()
    there = job_of(sha256)
    if there is not None and there.state != DONE and Path(there.name).suffix.lower() == Path(short).suffix.lower():
        return there
    job = ListJob(sha256, short, token=secrets.token_urlsafe(24))
    write_aside(job.path, bytes(data))
    store(job)
    return job


def short_name(name: str) -> str:
    """The name of an uploaded file, short enough and plain enough to be one here too."""
    plain = "".join(letter for letter in Path(name.replace("\\", "/")).name if letter.isprintable())
    while len(plain.encode()) > LONGEST_NAME:
        plain = plain[1:]
    return plain.lstrip(".") or "list"


def job_of(sha256: str) -> ListJob | None:
    """The job of a list, None for one that is not there (any more)."""
    if len(sha256) != 64 or not (sha256.isascii() and sha256.isalnum()):
        return None
    try:
        found = ListJob(**json.loads((_folder() / f"{sha256}.json").read_text(encoding="utf-8")))
    except (FileNotFoundError, ValueError, TypeError):
        return None
    return found if found.path.is_file() else None


def begun() -> list[ListJob]:
    """The lists that were begun and are not accepted yet, the last touched first."""
    if not _folder().is_dir():
        return []
    paths = sorted(_folder().glob("*.json"), key=lambda path: -path.stat().st_mtime)
    found = [job_of(path.stem) for path in paths[:20]]
    return [job for job in found if job is not None and job.state != DONE]


def store(job: ListJob) -> None:
    write_state(_folder() / f"{job.sha256}.json", json.dumps(asdict(job)).encode())


def forget(job: ListJob) -> None:
    """Throw a list away; what was entered from it stays."""
    job.path.unlink(missing_ok=True)
    (_folder() / f"{job.sha256}.json").unlink(missing_ok=True)


def sheet_of(job: ListJob) -> Sheet:
    """Raises Refused."""
    return open_list(job.path.read_bytes(), name=job.name, sheet=job.sheet)


def choices_of(job: ListJob, sheet: Sheet) -> tuple[ListChoices, bool]:
    """What was chosen for the list, else what is remembered or guessed; and whether it was remembered.
    Raises Refused."""
    if not job.columns:
        return choices_for(sheet, job.vehicle_id)
    chosen = choose(
        sheet,
        first=job.first,
        last=job.last,
        roles=[role for role, _ in job.columns],
        units=[unit for _, unit in job.columns],
        words=job.words,
        sections=job.sections,
        visibility=job.visibility,
    )
    return chosen, False


def shown_choices(job: ListJob, sheet: Sheet) -> tuple[ListChoices, bool]:
    """The same for the page on which the columns are chosen: also where they cannot be used yet. Raises Refused
    where no line names them."""
    if not job.columns:
        return choices_for(sheet, job.vehicle_id)
    guessed = guess(sheet, heading_of(sheet, job.first, job.last))
    if len(job.columns) != len(guessed.columns):
        return guessed, False
    columns = tuple(
        Column(one.heading, role, unit) for one, (role, unit) in zip(guessed.columns, job.columns, strict=True)
    )
    return replace(guessed, columns=columns), False


def take_choices(job: ListJob, choices: ListChoices) -> None:
    """Keep these choices with the list."""
    job.first, job.last = choices.first, choices.last
    job.columns = [[one.role, one.unit] for one in choices.columns]
    job.words, job.sections = dict(choices.words), dict(choices.sections)
    job.visibility = choices.visibility


def take_words(job: ListJob, sheet: Sheet) -> None:
    """Keep the meanings of words that are remembered for a list with these headings, if any."""
    try:
        found, remembered = choices_for(sheet, job.vehicle_id)
    except Refused:
        return
    if remembered:
        job.words, job.sections, job.visibility = dict(found.words), dict(found.sections), found.visibility


def vehicle_before(job: ListJob) -> str:
    """The key of the vehicle of which the last list with these headings was, "" where there was none. Raises
    Refused."""
    found = fingerprint(choices_of(job, sheet_of(job))[0])
    last = ListMapping.objects.filter(fingerprint=found).order_by("-change_no", "-pk").only("vehicle").first()
    return last.vehicle if last else ""


def read_again(job: ListJob, sheet: Sheet, first: int, last: int) -> None:
    """Guess anew what the columns are, with the headings in these lines. Raises Refused."""
    take_choices(job, guess(sheet, heading_of(sheet, first, last)))


def day_of(job: ListJob) -> date | None:
    """The day of the list. Raises DateError for a text that is none."""
    return read_day(job.day) if job.day.strip() else None


def proposal_of(job: ListJob) -> Proposal:
    """What the list amounts to with all that was chosen. Raises Refused."""
    sheet = sheet_of(job)
    return propose(
        sheet,
        choices_of(job, sheet)[0],
        vehicle_id=job.vehicle_id,
        vehicle=job.vehicle,
        day=day_of(job),
        leave_out=job.leave_out,
        prefix=job.prefix,
        given=job.answers,
    )


# --- accepted in the background -------------------------------------------------------------------------------


def start(job: ListJob, *, user: User, seen: str, keep: Keep = "") -> None:
    """Enter the list in the background. seen: the digest of what was looked at. One that is being entered, or
    is entered, is left to it."""
    if job.is_running or job.state == DONE:
        return
    job.state, job.since, job.lines = RUNNING, time.time(), []
    store(job)
    if not settings.JOBS_IN_BACKGROUND:
        _run(job, user, seen, keep)
        return
    Thread(target=_run_and_close, args=(job, user, seen, keep), daemon=False).start()


def _run_and_close(job: ListJob, user: User, seen: str, keep: Keep) -> None:
    try:
        _run(job, user, seen, keep)
    finally:
        connections.close_all()


def _run(job: ListJob, user: User, seen: str, keep: Keep) -> None:
    from register.services.list_look import digest_of

    if _was_entered(job):  # by a second tap that another worker took up
        return
    try:
        proposal = proposal_of(job)
        if digest_of(proposal) != seen:
            if _was_entered(job):
                return
            job.state, job.lines = REFUSED, [LOOK_AGAIN]
        else:
            act, _ = accept(proposal, user=user, keep=keep, token=job.token)
            job.state, job.change_no = DONE, act.change_no if act else None
    except (Refused, Conflicted) as error:
        if _was_entered(job):
            return
        job.state, job.lines = REFUSED, str(error).splitlines()[:SHOWN]
    except Exception as error:
        trouble = trouble_of(error)
        job.state, job.lines = REFUSED, [in_a_sentence(trouble) if trouble else BROKEN_OFF]
        store(job)
        raise
    store(job)


def _was_entered(job: ListJob) -> bool:
    act = Act.objects.filter(token=job.token).first()
    if act is not None:
        job.state, job.change_no, job.lines = DONE, act.change_no, []
        store(job)
    return act is not None


def _folder() -> Path:
    return Path(settings.DATA) / "lists"


def forget_old_ones() -> None:
    if _folder().is_dir():
        for path in _folder().iterdir():
            if time.time() - path.stat().st_mtime > KEPT_SECONDS:
                path.unlink(missing_ok=True)
