"""Photographs on paper: copies without metadata, made as small as the paper needs, each a figure described in words."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable

from register.documents.tagging import Element

SHARP = 150 / 72
"""Pixels a point: 150 to the inch."""

QUALITY = 82
HIGHEST = 190
"""Points that a photograph takes at most, so that an upright one does not fill a page."""


class Photograph(Flowable):  # type: ignore[misc]
    """A picture file as wide as ``room`` points, or as high as may be. words: what it shows, for whoever cannot see it."""

    def __init__(self, path: Path, parent: Element, *, room: float, words: str) -> None:
        super().__init__()
        self.data, width, height = _jpeg(path, room)
        scale = min(room / width, HIGHEST / height)
        self.width, self.height = width * scale, height * scale
        self.unbreakable = self.height
        box = f"/O /Layout /Placement /Block /Width {self.width:.2f} /Height {self.height:.2f}"
        self.element = parent.add("Figure", alternative=words, attributes=box)

    def draw(self) -> None:
        canvas: Any = self.canv
        canvas.begin(self.element)
        canvas.drawImage(ImageReader(BytesIO(self.data)), 0, 0, self.width, self.height)
        canvas.end()


def _jpeg(path: Path, room: float) -> tuple[bytes, int, int]:
    """The picture as JPEG with nothing beside it, no larger than is seen at that width; and its pixels."""
    with Image.open(path) as opened:
        image = _on_white(opened)
        image.thumbnail((int(room * SHARP), int(HIGHEST * SHARP * 2)))
        made = BytesIO()
        image.save(made, "JPEG", quality=QUALITY)
        return made.getvalue(), image.width, image.height


def _on_white(image: Image.Image) -> Image.Image:
    if image.mode != "RGBA":
        return image.convert("RGB")
    ground = Image.new("RGB", image.size, "white")
    ground.paste(image, mask=image.getchannel("A"))
    return ground
