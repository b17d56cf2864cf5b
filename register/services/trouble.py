"""What can go wrong under the register: a full disk, a database that is away, locked, read-only, damaged or gone. Known by
what the system itself says, and told in one way on pages, by commands and of jobs."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.db import DatabaseError, InterfaceError, connection
from django.db.transaction import TransactionManagementError

FULL, BUSY, READ_ONLY, AWAY, GONE, EMPTY, DAMAGED, FAILING, MEMORY = (
    "full", "busy", "read-only", "away", "gone", "empty", "damaged", "failing", "memory",
)  # fmt: skip
LEAST_ROOM = 50_000_000
"""Bytes that are asked for at least: the journal of a change, and papers or copies on their way."""
TIMES = 4
"""A file that is sent lies on the disk up to so many times at once: as it came, as it is kept, its copies, the journal."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """what: for whoever meets it. remedy: for whoever looks after the site. is_passing: whether waiting helps. is_certain:
    nothing was stored; else what was sent was stored whole or not at all."""

    kind: str
    heading: str
    what: str
    remedy: str
    is_passing: bool = False
    is_certain: bool = True

    @property
    def status(self) -> int:
        """Of HTTP: Insufficient Storage (RFC 4918, 11.5), or Service Unavailable (RFC 9110, 15.6.4)."""
        return 507 if self.kind == FULL else 503


TROUBLES = {
    one.kind: one
    for one in (
        Trouble(
            FULL,
            "The disk is full",
            "There is no room left on the disk that the register writes to. What is in it can still be read.",
            "Free at least {room} there; then the same will work.",
        ),
        Trouble(
            BUSY,
            "Somebody else is writing",
            "The register was being changed for longer than a page waits, by an import or another long piece of work.",
            "Wait a minute, then do the same again.",
            is_passing=True,
        ),
        Trouble(
            READ_ONLY,
            "The register cannot be written to",
            "Its database or its folder may only be read at the moment.",
            "See that the account which the site runs as owns the data folder and all that is in it, and that the disk is "
            "not mounted read-only.",
        ),
        Trouble(
            AWAY,
            "The database does not answer",
            "The register’s database was stopped or is starting again.",
            "Wait a minute, then do the same again. If it stays away, see whether the database server runs, and look at "
            "DATABASE_URL.",
            is_passing=True,
            is_certain=False,
        ),
        Trouble(
            GONE,
            "The database is not there",
            "The file of the register’s database cannot be found or opened. No new one was made in its place.",
            "Look whether its disk is mounted, and at REGISTER_DATA and DATABASE_URL; if it is lost, restore the last "
            "backup. Only for a new register, run manage.py migrate.",
        ),
        Trouble(
            EMPTY,
            "There is no register in the database",
            "The database is empty, or of another version of this program.",
            "If it should hold one, look at REGISTER_DATA and DATABASE_URL, and restore the last backup if it is lost. "
            "For a new register or a new version, run manage.py migrate.",
        ),
        Trouble(
            DAMAGED,
            "The database is damaged",
            "What is written in the register’s database cannot be read any more.",
            "Stop the site, keep the damaged file, and restore the last backup: docs/deploy.md says how.",
            is_certain=False,
        ),
        Trouble(
            FAILING,
            "The disk does not work as it should",
            "The disk that the register lies on answered with an error: it is failing, or a limit of the account was met.",
            "Look at the log of the machine, and back up at once to another disk.",
            is_certain=False,
        ),
        Trouble(
            MEMORY,
            "The machine has no memory left",
            "The register needed more memory than there is.",
            "Try a smaller file or fewer at once, or give the machine more memory.",
            is_passing=True,
        ),
    )
}

BY_ERRNO = {
    **dict.fromkeys((errno.ENOSPC, errno.EDQUOT, errno.EFBIG), FULL),
    **dict.fromkeys((errno.EROFS, errno.EACCES, errno.EPERM), READ_ONLY),
    errno.EIO: FAILING,
}
BY_SQLITE = {5: BUSY, 6: BUSY, 7: MEMORY, 8: READ_ONLY, 10: FAILING, 11: DAMAGED, 13: FULL, 14: GONE, 26: DAMAGED}
"""By the primary result code (https://www.sqlite.org/rescode.html, from memory)."""
BY_SQLSTATE = {
    "53100": FULL, "53200": MEMORY, "53300": AWAY, "25006": READ_ONLY, "58030": FAILING, "58P01": DAMAGED,
    "55P03": BUSY, "40001": BUSY, "40P01": BUSY, "57014": BUSY, "25P03": AWAY, "57P01": AWAY, "57P02": AWAY,
    "57P03": AWAY, "57P05": AWAY, "3D000": GONE, "42P01": EMPTY, "42703": EMPTY, "XX001": DAMAGED, "XX002": DAMAGED,
}  # fmt: skip
"""By the code of PostgreSQL (its documentation, appendix A, from memory); 08 and 28 are connections, by class."""


def trouble_of(error: BaseException | None) -> Trouble | None:
    """What trouble an error is, None for a fault of the program. An error met while another was being cleared up, such as
    a ROLLBACK after SQLite has rolled back by itself, does not hide the first."""
    for one in _behind(error):
        if kind := _kind(one):
            return TROUBLES[kind]
    return None


def _behind(error: BaseException | None) -> Iterator[BaseException]:
    """The error, and those that it came of; of what merely went before it, only where both are the database's."""
    seen: set[int] = set()
    while error is not None and id(error) not in seen:
        seen.add(id(error))
        yield error
        of_database = isinstance(error, DatabaseError | InterfaceError | TransactionManagementError) or _is_driver_s(error)
        error = error.__cause__ or (error.__context__ if of_database else None)


def _is_driver_s(error: BaseException) -> bool:
    return type(error).__module__.partition(".")[0] in ("sqlite3", "psycopg")


def _kind(error: BaseException) -> str:
    if isinstance(error, MemoryError):
        return MEMORY
    if isinstance(error, OSError):
        return BY_ERRNO.get(error.errno or 0, "")
    if not _is_driver_s(error):
        return ""
    if type(error).__module__.startswith("sqlite3"):
        return _kind_of_sqlite(error)
    state = getattr(error, "sqlstate", None)
    if state is None:  # psycopg has no code where there was no answer
        return AWAY if type(error).__name__ in ("OperationalError", "InterfaceError", "ConnectionTimeout") else ""
    return BY_SQLSTATE.get(state) or (AWAY if state[:2] in ("08", "28") else "")


def _kind_of_sqlite(error: BaseException) -> str:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code == 1 and str(error).startswith(("no such table", "no such column")):
        return EMPTY
    if code == 14 and _database_is_there():
        return READ_ONLY  # the file is there: its folder or the file may not be used
    return BY_SQLITE.get(code, "")


def _database_is_there() -> bool:
    return connection.vendor == "sqlite" and Path(str(connection.settings_dict["NAME"])).exists()


def room_for(sent: int = 0) -> str:
    """How much should be free for something of so many bytes, in words."""
    return amount(max(LEAST_ROOM, TIMES * sent))


def amount(size: int) -> str:
    """Bytes as people say them, rounded up."""
    million = -(-size // 1_000_000)
    return f"{million:,} MB" if million < 10_000 else f"{-(-million // 1_000):,} GB"


def size_of(path: Path) -> int:
    """Bytes of a file, or of all that is in a folder; 0 where that cannot be told."""
    try:
        found = [path] if path.is_file() else path.rglob("*")
        return sum(one.stat().st_size for one in found if one.is_file())
    except OSError:
        return 0


def in_a_sentence(trouble: Trouble, *, room: str = "") -> str:
    """For a terminal or a job."""
    stored = "Nothing was stored." if trouble.is_certain else "It was stored whole or not at all."
    return f"{trouble.heading}. {trouble.what} {stored} {trouble.remedy.format(room=room or room_for())}"
