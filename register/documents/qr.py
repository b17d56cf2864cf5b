"""A QR code (ISO/IEC 18004) as a picture of squares, with the four modules of quiet zone that readers need."""

from __future__ import annotations

from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

from register.documents.chart_models import Rect, Sheet

QUIET = 4
MODULE = 2.0
"""Pixels a module: 1.25 points, 0.44 mm, on paper."""


def qr(text: str, title: str) -> Sheet:
    """The code of an ASCII text, error correction M. Rows of dark modules that touch are one rectangle."""
    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    size = code.getModuleCount() + 2 * QUIET
    shapes = [Rect(0, 0, size * MODULE, size * MODULE, fill="paper")]
    for line, row in enumerate(code.modules):
        start = None
        for at, dark in enumerate((*row, False)):
            if dark and start is None:
                start = at
            elif not dark and start is not None:
                left, top = (start + QUIET) * MODULE, (line + QUIET) * MODULE
                shapes.append(Rect(left, top, (at - start) * MODULE, MODULE, fill="ink"))
                start = None
    return Sheet(size * MODULE, size * MODULE, tuple(shapes), title, text)
