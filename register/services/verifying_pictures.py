"""Look through the pictures of the register, those of its history too: every original is there and is what was recorded,
and what is shown of it shows the same."""

from __future__ import annotations

from collections.abc import Iterator

from register.models import Photograph
from register.services.photographs import NotAPicture, copy_path
from register.services.picture_state import copies_of_another, what_is_wrong


def picture_faults() -> Iterator[str]:
    """Everything that is wrong, a sentence each, with the file. A copy that is missing is none: it is made again."""
    names: dict[str, str] = {}
    for sha256, file in Photograph.history.order_by("history_id").values_list("sha256", "file"):
        names.setdefault(sha256, file)
    for sha256, file in sorted(names.items(), key=lambda one: one[1]):
        if wrong := what_is_wrong(sha256):
            yield f"photographs, {file}: {wrong}"
            continue
        try:
            others = copies_of_another(sha256)
        except NotAPicture as why:
            yield f"photographs, {file}: the original cannot be shown: {why}"
            continue
        for size in others:
            path = copy_path(sha256, size)
            yield f"photographs, {file}: its {size} copy shows another picture. Delete {path}, and it is made again."
