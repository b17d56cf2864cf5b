"""The typeface of every paper: DejaVu Sans, from files of our own, embedded whatever the machine has
installed.

ReportLab falls back on Helvetica, which it does not embed and which lacks Welsh and Polish letters. So ours
is put in place of every default that is read late, and the kit names a font wherever one is read early.
"""

from __future__ import annotations

from pathlib import Path

from reportlab import rl_config
from reportlab.lib.fonts import addMapping
from reportlab.pdfbase.pdfmetrics import getFont, registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont

REGULAR, BOLD, OBLIQUE = "DejaVuSans", "DejaVuSans-Bold", "DejaVuSans-Oblique"
FOLDER = Path(__file__).with_name("fonts")

LAST = 0xFFFF
"""ReportLab 5.1 writes the number of a letter beyond it wrongly into the table by which text is copied,
searched and read aloud: a face that prints, and is nothing to anybody who cannot see it, counts as not
there."""


def _register() -> frozenset[int]:
    """Puts the family in place of every default; the code points that can be printed."""
    for name in (REGULAR, BOLD, OBLIQUE):
        registerFont(TTFont(name, str(FOLDER / f"{name}.ttf")))
    for is_bold, is_italic, name in ((0, 0, REGULAR), (1, 0, BOLD), (0, 1, OBLIQUE), (1, 1, BOLD)):
        addMapping(REGULAR, is_bold, is_italic, name)
    rl_config.canvas_basefontname = REGULAR
    rl_config.defaultGraphicsFontName = REGULAR
    from reportlab.graphics import shapes  # reads the defaults above, unless somebody imported it first

    shapes.STATE_DEFAULTS["fontName"] = REGULAR
    regular, bold = (frozenset(getFont(name).face.charToGlyph) for name in (REGULAR, BOLD))
    return frozenset(letter for letter in regular & bold if letter <= LAST)


GLYPHS = _register()
"""Code points that both weights in use have: any text may stand in a heading too."""


def missing_glyphs(text: str) -> tuple[str, ...]:
    """The characters of a text that cannot be printed, each once, in their order. White space always can."""
    return tuple(
        dict.fromkeys(letter for letter in text if ord(letter) not in GLYPHS and not _is_space(letter))
    )


def printable(text: str) -> str:
    """The text with ``[U+6F22]`` for every character that the font lacks, a control character among
    them; a kind of white space that it lacks becomes a space."""
    if all(ord(letter) in GLYPHS for letter in text):
        return text
    return "".join(
        letter
        if ord(letter) in GLYPHS or letter == "\n"
        else " "
        if _is_space(letter)
        else f"[U+{ord(letter):04X}]"
        for letter in text
    )


def _is_space(letter: str) -> bool:
    """The separators of text, not those control characters (U+001C and the like) that Python counts
    among them."""
    return letter in "\t\n\r\v\f" or (letter.isspace() and letter > "\x20" and letter != "\x85")


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Of one line, in points."""
    return float(stringWidth(text, BOLD if bold else REGULAR, size))


def fitted(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """The text, or as much of it as fits with an ellipsis: for running heads, whose text stands in full
    elsewhere."""
    if width_of(text, size, bold=bold) <= room:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width_of(text[:middle].rstrip() + "…", size, bold=bold) <= room:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + "…"
