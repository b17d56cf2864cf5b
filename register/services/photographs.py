"""Pictures: originals kept privately under their SHA-256, shown only as copies without metadata."""

from __future__ import annotations

import hashlib
import io
import os
import tempfile
import warnings
from datetime import date, datetime
from pathlib import Path
from typing import Any, cast

from django.conf import settings
from PIL import Image

FORMATS = ("JPEG", "PNG", "WEBP", "TIFF")
MAX_BYTES = 60_000_000
MAX_PIXELS = 60_000_000
SIZES = {"large": 1600, "small": 480}
ENDINGS = {"JPEG": "jpg", "MPO": "jpg", "PNG": "png", "WEBP": "webp", "TIFF": "tif"}
"""By what the file is, not by what it was called. MPO is what many telephones write as .jpg: a JPEG with a second one."""

EARLIEST_CAMERA = date(1990, 1, 1)
"""A digital camera's day before this one is a clock that was never set (common practice, no source)."""


class NotAPicture(ValueError):
    """str() is the sentence."""


def sha256_of(path: Path) -> str:
    """SHA-256 of a picture file, which is looked through first. Raises NotAPicture."""
    if path.stat().st_size > MAX_BYTES:
        raise NotAPicture("the file is larger than 60 MB.")
    open_picture(path, edge=1).close()
    return hashlib.sha256(path.read_bytes()).hexdigest()


def open_picture(path: Path, *, edge: int | None = None) -> Image.Image:
    """The picture, loaded to its end: a truncated file is found here. Raises NotAPicture.

    edge: pixels that are wanted of its longer side. A JPEG is then decoded at the least scale (1, 1/2, 1/4 or 1/8) that has as
    many: an eighth takes half the time, and a sixtieth of the memory.
    """
    Image.MAX_IMAGE_PIXELS = MAX_PIXELS
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            image = Image.open(path, formats=FORMATS)
            if edge is not None:
                width, height = (max(1, -(-edge * side // max(image.size))) for side in image.size)
                image.draft(None, (width, height))
            image.load()
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise NotAPicture("it has more than 60 million pixels; save a smaller copy.") from None
    except Exception as error:
        if isinstance(error, MemoryError):
            raise
        raise NotAPicture(_why_not(path)) from None
    if image.format in ("PNG", "WEBP") and getattr(image, "is_animated", False):
        raise NotAPicture("it is a moving picture; save the one image that matters as JPEG.")
    return image


SEEN_AS: tuple[tuple[int, tuple[bytes, ...], str], ...] = (
    (
        4,
        (b"ftypheic", b"ftypheix", b"ftyphevc", b"ftypmif1", b"ftypmsf1", b"ftypavif"),
        "it is a HEIC or AVIF picture, which is not read here. Share it from the telephone as JPEG, or set its camera to the most compatible format.",
    ),
    (0, (b"GIF8",), "it is a GIF; save it as JPEG or PNG."),
    (0, (b"%PDF", b"%!PS"), "it is a document and no picture; save the page that matters as JPEG."),
    (0, (b"PK\x03\x04",), "it is a zip archive or a document; choose the pictures themselves."),
)
"""(offset, what stands there, sentence) for files that people take for pictures this register reads."""


def _why_not(path: Path) -> str:
    with path.open("rb") as file:
        head = file.read(1024)
    if not head:
        return "the file is empty; the camera or the connection broke off. Send it again."
    for offset, marks, sentence in SEEN_AS:
        if head[offset:].startswith(marks):
            return sentence
    if b"<svg" in head.lower():
        return "it is an SVG drawing, which may hold a program and is not taken; save it as PNG."
    if head.startswith((b"\xff\xd8\xff", b"\x89PNG", b"RIFF", b"II*\0", b"MM\0*")):
        return "it is damaged or broken off; send it again from the camera."
    return "it cannot be read as a picture. JPEG, PNG, WebP and TIFF are taken; save it as JPEG."


def _exif(image: Image.Image) -> Image.Exif:
    """What the camera wrote beside the picture; nothing where that cannot be read."""
    try:
        return image.getexif()
    except Exception:  # every kind of error comes out of a damaged one
        return Image.Exif()


def camera_day(image: Image.Image, today: date) -> date | None:
    """The day on which the camera says that it took the picture (EXIF 2.32, tags 0x9003 and 0x0132: local time, no
    zone). None where it says nothing, or what cannot be true."""
    exif = _exif(image)
    try:
        told = exif.get_ifd(0x8769).get(0x9003) or exif.get(0x0132)
        day = datetime.strptime(str(told)[:10], "%Y:%m:%d").date()
    except Exception:
        return None
    return day if EARLIEST_CAMERA <= day <= today else None


def original_path(sha256: str) -> Path:
    return settings.MEDIA_ROOT / "originals" / sha256[:2] / sha256


def copy_path(sha256: str, size: str) -> Path:
    return settings.MEDIA_ROOT / "copies" / size / sha256[:2] / f"{sha256}.webp"


def is_whole_copy(path: Path) -> bool:
    """Whether a copy is there, and as long as its own head says (RIFF: a length of four bytes from the ninth on)."""
    try:
        with path.open("rb") as file:
            head = file.read(12)
            return head[:4] + head[8:] == b"RIFFWEBP" and file.seek(0, os.SEEK_END) == int.from_bytes(head[4:8], "little") + 8
    except OSError:
        return False


def keep_original(path: Path) -> str:
    """Keep the file and make its copies; returns its SHA-256. The same file twice is kept once."""
    data = path.read_bytes()
    sha256 = hashlib.sha256(data).hexdigest()
    target = original_path(sha256)
    try:
        os.utime(target)  # brought again today: it is not old, whatever may be tidied away
        whole = target.stat().st_size == len(data)
    except FileNotFoundError:
        whole = False
    if not whole:
        write_aside(target, data)
    wanted = {size: edge for size, edge in SIZES.items() if not is_whole_copy(copy_path(sha256, size))}
    if wanted:
        image = open_picture(path, edge=max(wanted.values()))
        for size, edge in sorted(wanted.items(), key=lambda one: -one[1]):
            image, copy = clean_copy(image, edge)
            write_aside(copy_path(sha256, size), copy)
    return sha256


def clean_copy(image: Image.Image, edge: int) -> tuple[Image.Image, bytes]:
    """The picture no larger than ``edge``, upright, in eight bits; and the same as WebP without metadata. Small first,
    then turned: an eighth of the memory."""
    turned = _exif(image).get(0x0112, 1)
    image = _in_eight_bits(image)
    image.thumbnail((edge, edge))
    image.info.clear()
    upright = _turned(image, turned)
    upright.getexif().clear()  # or the smaller copy would be turned once more
    if upright.mode not in ("RGB", "RGBA"):
        upright = upright.convert("RGBA" if "A" in upright.getbands() or upright.mode == "P" else "RGB")
    out = io.BytesIO()
    upright.save(out, "WEBP", quality=82, method=2)
    return upright, out.getvalue()


def _in_eight_bits(image: Image.Image) -> Image.Image:
    """Sixteen bits a pixel, as scanners write grey, brought down: Pillow's own conversion would cut off all but black."""
    if not image.mode.startswith(("I", "F")):
        return image
    grey = image.convert("F")
    low, high = (float(cast(float, end)) for end in grey.getextrema())
    top = 65535.0 if image.mode.startswith("I") and high > 255 else max(high, 1.0)
    floor = min(low, 0.0)
    scale = 255 / (top - floor)
    return grey.point(lambda value: value * scale + -floor * scale).convert("L")


def _turned(image: Image.Image, orientation: Any) -> Image.Image:
    """``image`` turned by its EXIF orientation (1 to 8)."""
    way = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }.get(orientation)
    return image.transpose(way) if way is not None else image


def write_aside(target: Path, data: bytes) -> None:
    """Write under another name, flush, then rename: a file under its own name is always whole."""
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, target)
        flush_folder(target.parent)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def write_state(target: Path, data: bytes) -> None:
    """A small file that says how something stands: on a full disk it is written where it lies, on what it has already."""
    try:
        write_aside(target, data)
    except OSError:
        if not target.exists():
            raise
        with target.open("r+b") as file:
            file.write(data)
            file.truncate()


def flush(path: Path) -> None:
    """Have the disk write what is in a file."""
    with path.open("rb") as file:
        os.fsync(file.fileno())


def flush_folder(path: Path) -> None:
    """The same for the names in a folder, where the system knows that: without it a file may be gone after a power cut
    though its bytes were written."""
    if os.name == "posix":
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
