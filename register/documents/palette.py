"""Every status, composition category, code, word, hatch and colour, each said once.

``register/static/register/tokens.css`` is this table as custom properties: after a change run
``python -m register.documents.palette > register/static/register/tokens.css`` (a test holds them equal).
Charts on the web and on paper name colours by token, marks by code and hatches by kind, and take the rest
from here.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import NamedTuple

INK, WHITE = "#14181D", "#FFFFFF"
NO_STATUS = "not assessed"


class Token(NamedTuple):
    """A colour in light, in dark, in print, and in one-bit black; hexadecimal, ``""`` for none."""

    light: str
    dark: str
    print: str
    mono: str


class Size(NamedTuple):
    """A hatch in one scale: width of a line (radius of a dot), and what it repeats every."""

    weight: float
    pitch: float


@dataclass(frozen=True, slots=True)
class Hatch:
    """angles: of its lines, degrees from level, rising to the right; none: dots, in rows
    as far apart as the dots, every other row half a step on.

    bar: px, for bars, chips and their keys. drawing: drawing units at about 1:1. print: millimetres.
    """

    angles: tuple[int, ...]
    bar: Size
    drawing: Size
    print: Size


@dataclass(frozen=True, slots=True)
class Mark:
    """What a status or a category is drawn and called. fill "": not filled, dashed outline. hatch "": plain.

    plain: the words for a visitor; ``{since}`` in them stands for the reference date.
    """

    code: str
    words: str
    plain: str
    fill: str
    hatch: str


TOKENS: dict[str, Token] = {
    "paper": Token(WHITE, INK, WHITE, WHITE),
    "panel": Token("#F4F5F6", "#1C222A", WHITE, WHITE),
    "ink": Token(INK, "#E8ECEF", "#000000", "#000000"),
    "ink2": Token("#4A535D", "#B4BCC5", "#000000", "#000000"),
    "rule": Token("#C9CED4", "#3A434D", "#000000", "#000000"),
    "ctl": Token("#6B7480", "#8A949F", "#000000", "#000000"),
    "band": Token("#E4E8ED", "#2A3139", "#E6E6E6", WHITE),
    "edge": Token(INK, INK, "#000000", "#000000"),
    "fOR": Token("#3045CC", "#8C93E6", "#3045CC", "#000000"),
    "fRS": Token("#1F9894", "#4FE3D6", "#1F9894", WHITE),
    "fRP": Token("#A28222", "#F0C24A", "#A28222", WHITE),
    "fMD": Token("#72133D", "#E8497F", "#72133D", WHITE),
    "na": Token("#5B6470", "#A7B0BA", "#5B6470", "#000000"),
    "lOR": Token(WHITE, INK, WHITE, WHITE),
    "lRS": Token(INK, INK, INK, "#000000"),
    "lRP": Token(INK, INK, INK, "#000000"),
    "lMD": Token(WHITE, INK, WHITE, "#000000"),
    "hOR": Token(WHITE, INK, WHITE, WHITE),
    "hRS": Token(INK, INK, INK, "#000000"),
    "hRP": Token(INK, INK, INK, "#000000"),
    "hMD": Token(WHITE, INK, WHITE, "#000000"),
}
"""Colours by name. ``fXX`` fills, ``lXX`` letters on them, ``hXX`` hatch on them; ``edge`` of a filled region
of a drawing; ``rule`` is decoration and carries no meaning."""

HATCHES: dict[str, Hatch] = {
    "lines": Hatch((45,), Size(2, 7), Size(1.2, 9), Size(0.25, 1.5)),
    "dots": Hatch((), Size(2, 8), Size(1.3, 9), Size(0.25, 1.5)),
    "cross": Hatch((45, 135), Size(1.5, 7), Size(1.1, 8), Size(0.25, 1.4)),
    "level": Hatch((0,), Size(1.5, 6), Size(1.4, 8), Size(0.25, 1.4)),
    "upright": Hatch((90,), Size(1.5, 6), Size(1.4, 8), Size(0.25, 1.4)),
}

STATUSES: dict[str, Mark] = {
    "original": Mark("OR", "Original", "Original", "OR", ""),
    "restored": Mark("RS", "Restored", "Restored", "RS", "lines"),
    "replica": Mark("RP", "Replica", "Replica", "RP", "dots"),
    "modern substitute": Mark("MD", "Modern substitute", "Modern substitute", "MD", "cross"),
    NO_STATUS: Mark("NA", "Not assessed", "Not assessed yet", "", ""),
}
"""Always in this order."""

CATEGORIES: dict[str, Mark] = {
    "reference_fabric": Mark("RF", "Reference fabric", "Here since {since}", "OR", ""),
    "later_historic": Mark("HL", "Historic, later than the reference", "Historic, but later", "OR", "level"),
    "historic_from_elsewhere": Mark(
        "HE", "Historic, from elsewhere", "Historic, from elsewhere", "OR", "upright"
    ),
    "new_material": Mark("NM", "New material in historic parts", "New material in old parts", "RS", "lines"),
    "replica": Mark("RP", "Replica", "Replica, to the old pattern", "RP", "dots"),
    "modern_substitute": Mark("MD", "Modern substitute", "Modern", "MD", "cross"),
    "not_assessed": Mark("NA", "Not assessed", "Not assessed yet", "", ""),
}
"""Always in this order."""


@dataclass(frozen=True, slots=True)
class Lot:
    """What became of a part of the reference vehicle, as it is drawn and called. fill: ink (it survives), paper (it
    does not) or "" (nobody knows); hatch "": plain."""

    code: str
    words: str
    fill: str
    hatch: str


LOTS: dict[str, Lot] = {
    "with_this_vehicle": Lot("TV", "With this vehicle", "ink", ""),
    "with_another_vehicle": Lot("AV", "With another vehicle", "ink", "upright"),
    "in_store": Lot("ST", "In store", "ink", "level"),
    "transferred": Lot("TO", "With another owner", "ink", "dots"),
    "material_renewed": Lot("RN", "Material renewed since", "paper", "lines"),
    "lost": Lot("LO", "Lost: scrapped, destroyed or not to be found", "paper", "cross"),
    "not_assessed": Lot("NA", "Not assessed", "", ""),
}
"""What became of the reference vehicle (method, section 8), always in this order. Ink and paper: colour is for
status."""

MARKS: dict[str, Mark] = {mark.code: mark for mark in (*STATUSES.values(), *CATEGORIES.values())}


def mark_of(name: str) -> Mark:
    """By status ("" is not assessed), by category or by code. KeyError for anything else."""
    for table in (STATUSES, CATEGORIES, MARKS):
        if name in table:
            return table[name]
    if not name:
        return STATUSES[NO_STATUS]
    raise KeyError(f"“{name}” is no status, no category of the composition and no code of one")


def tokens_css() -> str:
    """The style sheet that holds the table."""
    parts = [
        "/* Made from register/documents/palette.py, which says how. Do not edit. */",
        _block(":root", _properties("light"), scheme="light dark"),
        _media("(prefers-color-scheme: dark)", _block(":root", _properties("dark"))),
        _media("print", _block(":root", _properties("print"), scheme="light")),
        _media("print and (monochrome)", _block(":root", _properties("mono"))),
        *(f".f-{name} {{ fill: var(--{name}); }} .s-{name} {{ stroke: var(--{name}); }}" for name in TOKENS),
        *(rule for mark in MARKS.values() for rule in _mark_rules(mark)),
    ]
    return "\n".join(parts) + "\n"


def _properties(scheme: str) -> list[str]:
    return [f"--{name}: {getattr(token, scheme)};" for name, token in TOKENS.items()]


def _mark_rules(mark: Mark) -> list[str]:
    """``background: var(--hatching), var(--fill)`` paints a swatch or the strip of a chip."""
    if not mark.fill:
        return [f".m-{mark.code} {{ --fill: transparent; --letters: var(--ink); --hatching: none; }}"]
    hatching = _background(HATCHES[mark.hatch], f"var(--h{mark.fill})") if mark.hatch else "none"
    paints = f"--fill: var(--f{mark.fill}); --letters: var(--l{mark.fill}); --hatching: {hatching};"
    return [f".m-{mark.code} {{ {paints} }}"]


def _background(hatch: Hatch, ink: str) -> str:
    """The hatch as layers of a background, in the scale of bars."""
    weight, pitch = hatch.bar
    if hatch.angles:
        # a gradient runs across its lines, and clockwise from upright
        return ", ".join(
            f"repeating-linear-gradient({-angle}deg, {ink} 0 {weight}px, transparent 0 {pitch}px)"
            for angle in hatch.angles
        )
    half = pitch / 2
    dot = f"radial-gradient(circle closest-side, {ink} {weight / half:.0%}, transparent 0)"
    return f"{dot} 0 0 / {pitch}px {2 * pitch}px, {dot} {half:g}px {pitch}px / {pitch}px {2 * pitch}px"


def _block(selector: str, lines: list[str], scheme: str = "") -> str:
    if scheme:
        lines = [f"color-scheme: {scheme};", *lines]
    return "\n".join([f"{selector} {{", *(f"  {line}" for line in lines), "}"])


def _media(query: str, block: str) -> str:
    return f"@media {query} {{\n{block}\n}}"


if __name__ == "__main__":
    sys.stdout.write(tokens_css())
