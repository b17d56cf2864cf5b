"""The outside of a workbook: a zip of XML parts (ECMA-376, part 2), checked before anything is unpacked.

Whatever is no .xlsx is refused with how to make one of it. Only the parts that hold the tables are opened:
pictures, macros and links to other files are never looked at.
"""

from __future__ import annotations

import posixpath
import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from xml.etree.ElementTree import Element, ParseError  # for their names only: defusedxml does the reading

from register.exchange.cells import MAX_FILE, BrokenTable, too_large
from register.exchange.sheet_xml import NAMESPACES

MAX_UNPACKED = 200 * 1024 * 1024
MAX_RATIO = 200
"""Times that a part may grow: a sheet of the same word over and over grows some 60 times, a bomb 1,000."""
SMALL = 10 * 1024 * 1024
"""Bytes up to which a part may grow by any factor."""
MAX_PARTS = 5_000
SAVE_AS = "open it in the spreadsheet, and save it as “Excel workbook (.xlsx)”"

_OTHERS = {
    ".xls": f"This is an old workbook (.xls): {SAVE_AS}.",
    ".ods": f"This is an OpenDocument spreadsheet (.ods): {SAVE_AS}.",
    ".xlsm": f"This workbook can hold macros (.xlsm): {SAVE_AS}, without them.",
    ".xlsb": f"This is a binary workbook (.xlsb): {SAVE_AS}.",
    ".csv": "One CSV file is one table: put it into a folder under the name of its table, such as "
    "parts.csv, and give the folder.",
    ".zip": "This is a zip file: unpack it, and give the folder.",
}
_SEEN_AS: tuple[tuple[tuple[bytes, ...], str], ...] = (
    ((b"%PDF", b"%!PS"), "but a document for printing (PDF): look for the sheet that it was made from."),
    (
        (b"\xff\xd8\xff", b"\x89PNG", b"GIF8", b"II*\0", b"MM\0*", b"RIFF"),
        "but a picture: photographs are added on the page of what they show.",
    ),
    ((b"Rar!", b"7z\xbc\xaf", b"\x1f\x8b"), "but a packed file: unpack it first."),
    ((b"<", b"\xef\xbb\xbf<"), f"but a page of the web or XML: {SAVE_AS}."),
)
"""What a file begins with, and what it is then."""

_RELATIONSHIPS = "{http://schemas.openxmlformats.org/package/2006/relationships}Relationship"
_OFFICE = re.compile(
    r"\{(?:http://schemas\.openxmlformats\.org/officeDocument/2006|http://purl\.oclc\.org/ooxml/officeDocument)"
    r"/relationships\}id"
)


@dataclass(frozen=True, slots=True)
class Part:
    """A sheet of a workbook: its name, whether it is shown, the kind of sheet and the name of its part."""

    name: str
    is_hidden: bool
    kind: str
    path: str


class Package:
    """An open workbook. Raises BrokenTable with a sentence where it is none, or is not safe to read."""

    def __init__(self, path: Path) -> None:
        self.unpacked = 0
        _check_kind(path)
        try:
            self._zip = zipfile.ZipFile(path)
        except (zipfile.BadZipFile, NotImplementedError, ValueError, EOFError):
            raise BrokenTable(f"This is no workbook (.xlsx), {_what_it_is(path)}") from None
        try:
            self._check_directory()
            self._check_contents()
        except BaseException:
            self._zip.close()
            raise

    def __enter__(self) -> Package:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._zip.close()

    def chunks(self, name: str) -> Iterator[bytes]:
        """A part, unpacked piece by piece and counted: what the directory says of its size is not
        believed."""
        try:
            with self._zip.open(name) as part:
                while chunk := part.read(1 << 16):
                    self.unpacked += len(chunk)
                    if self.unpacked > MAX_UNPACKED:
                        raise _bomb()
                    yield chunk
        except KeyError:
            raise BrokenTable(f"The workbook is damaged (it has no {name}): {SAVE_AS}.") from None
        except (zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError, RuntimeError):
            raise BrokenTable(
                f"The workbook is damaged (its {name} cannot be unpacked): {SAVE_AS}."
            ) from None

    def has(self, name: str) -> bool:
        return name in self._zip.NameToInfo

    def size(self, name: str) -> int:
        """Bytes of a part unpacked, as the directory says; 0 where there is no such part."""
        return self._zip.NameToInfo[name].file_size if self.has(name) else 0

    def xml(self, name: str) -> Element:
        """A small part as a tree. A document type declaration, and with it any entity, is refused."""
        from defusedxml.common import DefusedXmlException
        from defusedxml.ElementTree import fromstring

        try:
            tree: Element = fromstring(b"".join(self.chunks(name)), forbid_dtd=True)
        except DefusedXmlException:
            raise BrokenTable(
                "The workbook holds a document type declaration, which no spreadsheet writes and which can "
                "be used "
                "to break into a computer. Make the workbook anew."
            ) from None
        except (ParseError, ValueError, LookupError):
            raise BrokenTable(f"The workbook is damaged (its {name} cannot be read): {SAVE_AS}.") from None
        return tree

    def related(self, name: str) -> dict[str, tuple[str, str]]:
        """The parts that a part refers to: id to (kind, name of the part). Links out of the workbook are
        left out."""
        folder, file = posixpath.split(name)
        relations = posixpath.join(folder, "_rels", f"{file}.rels")
        if not self.has(relations):
            return {}
        return {
            link.get("Id", ""): (
                link.get("Type", "").rpartition("/")[2],
                posixpath.normpath(posixpath.join("/", folder, link.get("Target", "")))[1:],
            )
            for link in self.xml(relations).iter(_RELATIONSHIPS)
            if link.get("TargetMode") != "External"
        }

    def workbook_part(self) -> str:
        for kind, name in self.related("").values():
            if kind == "officeDocument":
                return name
        raise BrokenTable(f"This is a zip file but no workbook: {SAVE_AS}.")

    def _check_directory(self) -> None:
        parts = self._zip.infolist()
        names = [part.filename for part in parts]
        for part in parts:
            if part.flag_bits & 1:
                raise BrokenTable(
                    f"Parts of this file are locked by a password: {SAVE_AS}, without a password."
                )
            if (
                part.filename.startswith(("/", "\\"))
                or ".." in re.split(r"[/\\]", part.filename)
                or ":" in part.filename
            ):
                raise BrokenTable(
                    "The file would unpack outside its own folder, which no spreadsheet writes. Make the "
                    "workbook anew."
                )
            if part.file_size > max(SMALL, MAX_RATIO * part.compress_size):
                raise _bomb()
        if sum(part.file_size for part in parts) > MAX_UNPACKED or len(parts) > MAX_PARTS:
            raise _bomb()
        if len(set(names)) < len(names):
            raise BrokenTable(f"The workbook is damaged (it has two parts of one name): {SAVE_AS}.")

    def _check_contents(self) -> None:
        names = set(self._zip.NameToInfo)
        if "mimetype" in names or "content.xml" in names:
            raise BrokenTable(_OTHERS[".ods"])
        if any(name.startswith(("word/", "ppt/")) for name in names):
            raise BrokenTable(
                "This is a document or a presentation and no workbook: copy its table into a spreadsheet, and save that as"
                " “Excel workbook (.xlsx)”."
            )
        if "[Content_Types].xml" not in names:
            if any(name.lower().endswith(".csv") for name in names):
                raise BrokenTable("This is a zip file of CSV files: unpack it, and import the folder at the command line.")
            raise BrokenTable(f"This is a zip file but no workbook: {SAVE_AS}.")
        if "xl/workbook.bin" in names:
            raise BrokenTable(_OTHERS[".xlsb"])
        types = {override.get("ContentType", "") for override in self.xml("[Content_Types].xml").iter()}
        if any("macroEnabled" in kind or "vbaProject" in kind for kind in types) or any(
            name.endswith("vbaProject.bin") for name in names
        ):
            raise BrokenTable(_OTHERS[".xlsm"])


def sheets_of(package: Package) -> tuple[list[Part], bool, dict[str, str]]:
    """The sheets of a workbook, whether its days are counted from 1904, and its other parts by kind."""
    name = package.workbook_part()
    tree, related = package.xml(name), package.related(name)
    parts = []
    for namespace in NAMESPACES:
        for sheet in tree.iter(f"{{{namespace}}}sheet"):
            link = next((value for key, value in sheet.attrib.items() if _OFFICE.fullmatch(key)), "")
            kind, path = related.get(link, ("", ""))
            parts.append(Part(sheet.get("name", ""), sheet.get("state", "visible") != "visible", kind, path))
    from_1904 = any(
        properties.get("date1904") in ("1", "true")
        for namespace in NAMESPACES
        for properties in tree.iter(f"{{{namespace}}}workbookPr")
    )
    return parts, from_1904, dict(related.values())


def _check_kind(path: Path) -> None:
    suffix = path.suffix.lower()
    if not path.exists():
        raise BrokenTable("There is no such file or folder.")
    if suffix in _OTHERS:
        raise BrokenTable(_OTHERS[suffix])
    if suffix != ".xlsx":
        raise BrokenTable("A register is read from a workbook (.xlsx) or from a folder of CSV files.")
    if path.stat().st_size > MAX_FILE:
        raise too_large(path.stat().st_size)
    with path.open("rb") as file:
        head = file.read(1 << 16)
    if head.startswith(b"\xd0\xcf\x11\xe0"):
        if "EncryptedPackage".encode("utf-16-le") in path.read_bytes():
            raise BrokenTable(f"This workbook is locked by a password: {SAVE_AS}, without a password.")
        raise BrokenTable(_OTHERS[".xls"])
    if not head:
        raise BrokenTable("The file is empty.")


def _what_it_is(path: Path) -> str:
    """The end of a sentence on a file that is no zip, by what stands in it."""
    with path.open("rb") as file:
        head = file.read(1 << 16)
    for marks, words in _SEEN_AS:
        if head.lstrip().startswith(marks):
            return words
    if not head.startswith(b"PK") and _is_text(head):
        return f"but text. One CSV file is one table; a list that somebody has kept is begun from a list; else {SAVE_AS}."
    return f"or only a part of one: {SAVE_AS}."


def _is_text(head: bytes) -> bool:
    """Whether these bytes are letters, in UTF-8 or in an older way of writing them."""
    return not re.search(rb"[\x00-\x08\x0e-\x1f]", head)


def _bomb() -> BrokenTable:
    return BrokenTable(
        f"The workbook would unpack to far more than {MAX_UNPACKED // 1024**2} MB, or its parts grow more "
        "than "
        f"{MAX_RATIO} times: delete what is not needed, formatted empty rows and columns above all, and "
        "save it again."
    )
