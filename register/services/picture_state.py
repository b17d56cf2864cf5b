"""Whether the files of a photograph are there and are what was recorded: its original under its SHA-256, and the copies that
are shown of it, which are made again from the original where they are gone."""

from __future__ import annotations

import hashlib
from pathlib import Path

from PIL import Image, ImageChops, ImageStat

from register.services.photographs import (
    SIZES,
    NotAPicture,
    clean_copy,
    copy_path,
    is_whole_copy,
    keep_original,
    open_picture,
    original_path,
)

COMPARED = (32, 32)
ALIKE = 4
"""Steps of grey, of 255, by which a copy may differ on average from one made now, so reduced: another release of the
encoder changes them by less than one, and any two of the demo's pictures differ by eight or more (measured)."""


def why_missing(sha256: str) -> str:
    """The sentence where the original is not there, "" where it is; nothing is read of it."""
    return "" if original_path(sha256).is_file() else f"The file is missing (recorded SHA-256 {sha256})."


def what_is_wrong(sha256: str) -> str:
    """The same, and where the original is not what was recorded: it is read."""
    if missing := why_missing(sha256):
        return missing
    found = hash_of(original_path(sha256))
    return "" if found == sha256 else f"The file is not the one that was recorded (recorded SHA-256 {sha256}, found {found})."


def hash_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def can_be_shown(sha256: str) -> bool:
    """Whether there is a whole copy, or an original to make one of."""
    return all(is_whole_copy(copy_path(sha256, size)) for size in SIZES) or original_path(sha256).is_file()


def copy_of(sha256: str, size: str) -> Path | None:
    """A whole copy, made again of its original if need be; None where there is neither."""
    path, original = copy_path(sha256, size), original_path(sha256)
    if is_whole_copy(path):
        return path
    if what_is_wrong(sha256):
        return None
    try:
        keep_original(original)
    except NotAPicture:
        return None
    return path


def copies_of_another(sha256: str) -> list[str]:
    """The sizes in which a whole copy shows something else than its original, which is there and can be read."""
    found = []
    image = open_picture(original_path(sha256))
    for size, edge in sorted(SIZES.items(), key=lambda one: -one[1]):
        image, _ = clean_copy(image, edge)
        path = copy_path(sha256, size)
        if is_whole_copy(path) and _shows_another(path, image):
            found.append(size)
    return found


def _shows_another(path: Path, right: Image.Image) -> bool:
    try:
        copy = open_picture(path)
    except NotAPicture:
        return True
    greys = [image.convert("RGBA").convert("L").resize(COMPARED) for image in (right, copy)]
    return copy.size != right.size or ImageStat.Stat(ImageChops.difference(*greys)).mean[0] > ALIKE
