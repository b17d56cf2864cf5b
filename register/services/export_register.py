"""Export of the register: everything, or what the public may see with stubs where a figure depends on the rest."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from django.utils import timezone

from register.exchange.datapackage import write_datapackage
from register.exchange.frozen import Sheet, sheets_of
from register.exchange.records import Register, Row
from register.exchange.schema import TABLES
from register.exchange.writing import write_blank_workbook, write_csv_folder, write_workbook
from register.services.loading import load_register
from register.services.photographs import copy_path, original_path, write_aside
from register.services.picture_state import what_is_wrong
from register.services.public import public_register


def export_register(
    path: Path,
    *,
    public: bool = False,
    at: datetime | None = None,
    overwrite: bool = False,
    pictures: bool = True,
) -> list[str]:
    """Write the register to ``path`` (.xlsx or a folder), and its pictures beside it. Returns a line a table for the person
    who asked, and one for each picture that could not be written.

    Raises OSError or ValueError with a sentence where the path cannot be written.
    """
    register = load_register()
    if public:
        register = public_register(register)
    sheets = [*sheets_of(register, drafts=True), _export_sheet(register, at or timezone.now())]
    if path.suffix.lower() == ".xlsx":
        write_workbook(path, sheets, overwrite=overwrite)
    else:
        write_csv_folder(path, sheets, overwrite=overwrite)
        write_datapackage(path, sheets)
    beside = path.parent if path.suffix.lower() == ".xlsx" else path
    lines = [f"{name}: {len(rows)}" for name, _, rows in sheets if rows and name != "export"]
    for row in register.tables["photographs"].values() if pictures else ():
        if wrong := _write_picture(beside, row, public):
            lines.append(f"{row['file']} was not written. {wrong}")
    return lines


def export_blank(path: Path, *, overwrite: bool = False) -> None:
    """An empty workbook with lists to choose from."""
    write_blank_workbook(path, overwrite=overwrite)


def _export_sheet(register: Register, at: datetime) -> Sheet:
    written = (
        at.astimezone(tz=None).isoformat(timespec="seconds")
        if timezone.is_naive(at)
        else at.isoformat(timespec="seconds")
    )
    return "export", TABLES["export"].header, [[register.register_id, str(register.change_no), written]]


def _write_picture(beside: Path, row: Row, public: bool) -> str:
    """The sentence where its file is missing or is not what was recorded: an import would refuse it. "" where all is well."""
    target = beside / row["file"]
    if target.exists():
        return ""
    if public:
        write_aside(target, copy_path(row["_sha256"], "large").read_bytes())
        return ""
    if wrong := what_is_wrong(row["sha256"]):
        return wrong
    write_aside(target, original_path(row["sha256"]).read_bytes())
    return ""
