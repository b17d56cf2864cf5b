"""BagIt (RFC 8493): a payload under ``data/``, manifests with the SHA-256 of every file, and what the bag is."""

from __future__ import annotations

import csv
import hashlib
import io
import zipfile
from collections.abc import Iterable, Mapping, Sequence

from register.exchange.writing import guarded

DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
Files = dict[str, bytes]


def bag(payload: Mapping[str, bytes], info: Iterable[tuple[str, str]]) -> Files:
    """Every file of a bag by path. payload: paths below ``data/``. info: labels and values of ``bag-info.txt``; the
    octets and the number of the payload are added. The same payload gives the same bag."""
    files = {f"data/{name}": payload[name] for name in sorted(payload)}
    size = sum(map(len, files.values()))
    tags: Files = {
        "bagit.txt": DECLARATION,
        "bag-info.txt": _info([*info, ("Payload-Oxum", f"{size}.{len(files)}")]),
        "manifest-sha256.txt": _manifest(files),
    }
    return {**tags, "tagmanifest-sha256.txt": _manifest(tags), **files}


def zipped(files: Mapping[str, bytes], folder: str) -> bytes:
    """The files in one folder of a zip file, every one dated alike, so that the same files give the same bytes."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            entry = zipfile.ZipInfo(f"{folder}/{name}", (1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data)
    return made.getvalue()


def csv_bytes(header: Sequence[str], rows: Iterable[Sequence[str]], *, guard: bool = True) -> bytes:
    """A CSV file as an export writes it (RFC 4180). guard: against formulas, as in an export."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(header)
    writer.writerows([guarded(cell) for cell in row] if guard else row for row in rows)
    return text.getvalue().encode()


def _manifest(files: Mapping[str, bytes]) -> bytes:
    """RFC 8493, 2.1.3: a checksum, blanks and a path to a line; % and line ends in a path percent-encoded."""
    lines = (f"{hashlib.sha256(data).hexdigest()}  {_path(name)}\n" for name, data in files.items())
    return "".join(lines).encode()


def _path(name: str) -> str:
    return name.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _info(pairs: Iterable[tuple[str, str]]) -> bytes:
    """RFC 8493, 2.2.2: a label, a colon, a value; one line each."""
    return "".join(f"{label}: {' '.join(value.split())}\n" for label, value in pairs if value).encode()
