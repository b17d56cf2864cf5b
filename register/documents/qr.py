"""QR codes (ISO/IEC 18004) as pictures of squares, with the four modules of quiet zone that readers need."""

from __future__ import annotations

from functools import lru_cache

from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

from register.documents.chart_models import Rect, Sheet

QUIET = 4
MODULE = 2.0
"""Pixels a module: 1.25 points, 0.44 mm, on paper."""

LEVELS = {"M": QRErrorCorrectLevel.M, "Q": QRErrorCorrectLevel.Q}
"""How much of a code may be lost: 15 % for a clean paper, 25 % for a label that meets grease."""


def qr(text: str, title: str) -> Sheet:
    """The code of an ASCII text, error correction M, at the size of ``MODULE``."""
    side = _size(text, "M") * MODULE
    ground = Rect(0, 0, side, side, fill="paper")
    return Sheet(side, side, (ground, *qr_shapes(text, 0, 0, side, level="M")), title, text)


def qr_code(text: str, side: float, title: str) -> Sheet:
    """The code of a label or a sheet of the workshop: error correction Q, a square of so many pixels."""
    return Sheet(side, side, qr_shapes(text, 0, 0, side), title)


def qr_shapes(text: str, x: float, y: float, side: float, *, level: str = "Q") -> tuple[Rect, ...]:
    """The dark modules, the upper left corner of the quiet zone at x, y. Modules of a row that touch are one rectangle."""
    pitch = side / _size(text, level)
    found = []
    for line, row in enumerate(_modules(text, level)):
        start: int | None = None
        for at, dark in enumerate((*row, False)):
            if dark and start is None:
                start = at
            elif not dark and start is not None:
                left, top = x + (start + QUIET) * pitch, y + (line + QUIET) * pitch
                found.append(Rect(left, top, (at - start) * pitch, pitch, fill="ink"))
                start = None
    return tuple(found)


def _size(text: str, level: str) -> int:
    """Modules across, the quiet zone counted in."""
    return len(_modules(text, level)) + 2 * QUIET


@lru_cache(maxsize=64)
def _modules(text: str, level: str) -> tuple[tuple[bool, ...], ...]:
    code = QRCode(None, LEVELS[level])
    code.addData(text)
    code.make()
    return tuple(tuple(map(bool, row)) for row in code.modules)
