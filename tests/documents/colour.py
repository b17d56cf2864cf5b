"""Colour as published standards reckon it: relative luminance, CIELAB, CIEDE2000, colour-deficient vision.

Nothing of the register is used here: these are what its colours are measured with.
"""

from __future__ import annotations

from math import atan2, cos, degrees, exp, hypot, radians, sin, sqrt

Lab = tuple[float, float, float]

# Machado, Oliveira and Fernandes, "A Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE
# Transactions on Visualization and Computer Graphics 15 (2009), table of matrices, severity 1.0 (written from memory).
VISION = {
    "normal": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protan": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deutan": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritan": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def linear(colour: str) -> tuple[float, float, float]:
    """``#RRGGBB`` in linear light (IEC 61966-2-1, with the threshold that WCAG 2.2 gives)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return red, green, blue


def contrast(first: str, second: str) -> float:
    """WCAG 2.2, "contrast ratio" and "relative luminance"."""
    lighter, darker = sorted(
        (
            0.2126 * red + 0.7152 * green + 0.0722 * blue
            for red, green, blue in (linear(first), linear(second))
        ),
        reverse=True,
    )
    return (lighter + 0.05) / (darker + 0.05)


def lab(colour: str, vision: str = "normal") -> Lab:
    """CIELAB under D65 (IEC 61966-2-1 primaries), as seen with a kind of vision."""
    light = linear(colour)
    red, green, blue = (
        min(max(sum(a * b for a, b in zip(row, light, strict=True)), 0), 1) for row in VISION[vision]
    )
    xyz = (
        (0.4124564 * red + 0.3575761 * green + 0.1804375 * blue) / 0.95047,
        0.2126729 * red + 0.7151522 * green + 0.0721750 * blue,
        (0.0193339 * red + 0.1191920 * green + 0.9503041 * blue) / 1.08883,
    )
    x, y, z = (one ** (1 / 3) if one > 216 / 24389 else (24389 / 27 * one + 16) / 116 for one in xyz)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def ciede2000(first: Lab, second: Lab) -> float:
    """CIE 142-2001, in the form of Sharma, Wu and Dalal, Color Research and Application 30 (2005)."""
    (l1, a1, b1), (l2, a2, b2) = first, second
    seven = ((hypot(a1, b1) + hypot(a2, b2)) / 2) ** 7
    g = (1 - sqrt(seven / (seven + 25**7))) / 2
    a1, a2 = a1 * (1 + g), a2 * (1 + g)
    c1, c2 = hypot(a1, b1), hypot(a2, b2)
    h1, h2 = (degrees(atan2(b, a)) % 360 if a or b else 0.0 for a, b in ((a1, b1), (a2, b2)))
    turn, mean = 0.0, h1 + h2
    if c1 * c2:
        turn = (h2 - h1 + 180) % 360 - 180 if abs(abs(h2 - h1) - 180) > 1e-12 else h2 - h1
        mean = (h1 + h2) / 2 if abs(h1 - h2) <= 180 else (h1 + h2 + 360) / 2 % 360
    light, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    t = (1 - 0.17 * cos(radians(mean - 30)) + 0.24 * cos(radians(2 * mean)) + 0.32 * cos(radians(3 * mean + 6))
         - 0.20 * cos(radians(4 * mean - 63)))  # fmt: skip
    s_l = 1 + 0.015 * (light - 50) ** 2 / sqrt(20 + (light - 50) ** 2)
    s_c, s_h = 1 + 0.045 * chroma, 1 + 0.015 * chroma * t
    r_t = -2 * sqrt(chroma**7 / (chroma**7 + 25**7)) * sin(radians(60 * exp(-(((mean - 275) / 25) ** 2))))
    d_l, d_c, d_h = (l2 - l1) / s_l, (c2 - c1) / s_c, 2 * sqrt(c1 * c2) * sin(radians(turn / 2)) / s_h
    return sqrt(d_l**2 + d_c**2 + d_h**2 + r_t * d_c * d_h)
