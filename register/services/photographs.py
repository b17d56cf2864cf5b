"""Pictures: originals kept privately under their SHA-256, shown only as copies without metadata."""

from __future__ import annotations

import hashlib
import os
import tempfile
import warnings
from pathlib import Path

from django.conf import settings
from PIL import Image

FORMATS = ("JPEG", "PNG", "WEBP", "TIFF")
MAX_BYTES = 60_000_000
MAX_PIXELS = 60_000_000
SIZES = {"large": 1600, "small": 480}


class NotAPicture(ValueError):
    """str() is the sentence."""


def sha256_of(path: Path) -> str:
    """SHA-256 of a picture file, which is looked through first. Raises NotAPicture."""
    if path.stat().st_size > MAX_BYTES:
        raise NotAPicture("the file is larger than 60 MB.")
    open_picture(path).close()
    return hashlib.sha256(path.read_bytes()).hexdigest()


def open_picture(path: Path) -> Image.Image:
    """The picture, loaded whole: a truncated file is found here. Raises NotAPicture."""
    Image.MAX_IMAGE_PIXELS = MAX_PIXELS
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            image = Image.open(path, formats=FORMATS)
            image.load()
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise NotAPicture("it has more than 60 million pixels; save a smaller copy.") from None
    except Exception as error:
        if isinstance(error, MemoryError):
            raise
        raise NotAPicture(
            "it cannot be read as a picture. JPEG, PNG, WebP and TIFF are taken; save it as JPEG."
        ) from None
    return image


def original_path(sha256: str) -> Path:
    return settings.MEDIA_ROOT / "originals" / sha256[:2] / sha256


def copy_path(sha256: str, size: str) -> Path:
    return settings.MEDIA_ROOT / "copies" / size / sha256[:2] / f"{sha256}.webp"


def keep_original(path: Path) -> str:
    """Keep the file and make its copies; returns its SHA-256. The same file twice is kept once."""
    data = path.read_bytes()
    sha256 = hashlib.sha256(data).hexdigest()
    target = original_path(sha256)
    if not target.exists():
        write_aside(target, data)
    for size, edge in SIZES.items():
        copy = copy_path(sha256, size)
        if not copy.exists():
            write_aside(copy, clean_copy(path, edge))
    return sha256


def clean_copy(path: Path, edge: int) -> bytes:
    """A WebP no larger than ``edge``, upright, without metadata. Small first, then turned: an eighth of the memory."""
    import io

    image = open_picture(path)
    turned = image.getexif().get(0x0112, 1)
    image.thumbnail((edge, edge))
    image.info.clear()
    upright = _turned(image, turned)
    if upright.mode not in ("RGB", "RGBA"):
        upright = upright.convert("RGBA" if "A" in upright.getbands() or upright.mode == "P" else "RGB")
    out = io.BytesIO()
    upright.save(out, "WEBP", quality=82, method=2)
    return out.getvalue()


def _turned(image: Image.Image, orientation: int) -> Image.Image:
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
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
