"""Where text becomes the mark-up of a ReportLab paragraph: the one place.

A paragraph reads its text as mark-up. Unescaped, ``bolt <M12> long`` prints as ``bolt long`` and
``<img src="…"/>`` prints a file of the server. So the parser of paragraphs is given ``Markup`` alone, and
only the functions here make it, out of plain text.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from itertools import groupby
from xml.sax.saxutils import escape

from register.documents.fonts import printable

LONGEST = 4000
"""Letters in one paragraph: the time to lay one out grows faster than its length."""

_LINES = re.compile(r"\r\n|[\n\r\u2028\u2029]")


class Markup(str):
    """Text that is safe in a paragraph."""

    __slots__ = ()


def text(words: str) -> Markup:
    """Any text whatever, as it was typed; a character without a glyph is shown as ``[U+6F22]``."""
    return words if isinstance(words, Markup) else Markup(escape(printable(words)))


def bold(words: str) -> Markup:
    return Markup(f"<b>{text(words)}</b>")


def joined(*parts: str) -> Markup:
    """Text and mark-up one after another."""
    return Markup("".join(text(part) for part in parts))


def split_paragraphs(words: str) -> list[str]:
    """The lines of a text, blank ones aside, a very long one in pieces that are broken between words if
    it has any."""
    return [piece for line in _LINES.split(words) if line.strip() for piece in _pieces(line)]


def _pieces(line: str) -> Iterator[str]:
    while len(line) > LONGEST:
        end = line.rfind(" ", 1, LONGEST + 1)
        end = end if end > 0 else LONGEST
        yield line[:end]
        line = line[end:]
    yield line


def as_drawn(line: str) -> str:
    """One printed line with its runs of Hebrew and Arabic turned round, for a page is drawn from left to
    right.

    A run reaches from the first right-to-left letter to the last one that no left-to-right letter parts
    from it; numbers in it keep their order. It is the reading order of the Unicode bidirectional
    algorithm for a line of English with such words in it; Arabic letters are not joined.
    """
    if line.isascii() or not any(map(_is_rtl, line)):
        return line
    strong = [unicodedata.bidirectional(letter) for letter in line]
    drawn, at = [], 0
    while at < len(line):
        if strong[at] not in _RTL:
            drawn.append(line[at])
            at += 1
            continue
        end = at
        for ahead in range(at, len(line)):
            if strong[ahead] == "L":
                break
            if strong[ahead] in _RTL:
                end = ahead
        end = next((after for after in range(end + 1, len(line)) if strong[after] != "NSM"), len(line))
        drawn.append(_turned(line[at:end]))
        at = end
    return "".join(drawn)


def drawn_line(words: str) -> str:
    """A line of plain text for a canvas, which draws letters and reads no mark-up."""
    return as_drawn(printable(words))


_RTL = {"R", "AL"}


def _is_rtl(letter: str) -> bool:
    return unicodedata.bidirectional(letter) in _RTL


def _turned(run: str) -> str:
    """Backwards, but for numbers, and with each accent still behind its letter."""
    clusters: list[str] = []
    for is_number, letters in groupby(run, lambda letter: unicodedata.bidirectional(letter) in ("EN", "AN")):
        if is_number:
            clusters.append("".join(letters))
            continue
        for letter in letters:
            if clusters and unicodedata.bidirectional(letter) == "NSM":
                clusters[-1] += letter
            else:
                clusters.append(letter)
    return "".join(reversed(clusters))
