"""Whether the percentages on a panel are those of a statement."""

from __future__ import annotations

import re
from fractions import Fraction

NUMBER = r"(\d{1,3}(?:[.,]\d+)?)"
PERCENTAGES = re.compile(rf"{NUMBER}(?:\s*(?:to|and|-|–)\s*{NUMBER})?\s*(?:%|per\s?cent|parts in (?:every|a) hundred)", re.IGNORECASE)
NAMES_NONE = "It names no percentage."
ALL_WITHIN = "Every percentage in it lies within the bounds of this statement."


def percentages_in(text: str) -> list[tuple[str, Fraction]]:
    """Every number that the text gives as a percentage, as written and as a number; both ends of ``36 to 60 %``."""
    found = []
    for one in PERCENTAGES.finditer(text):
        found += [(number, Fraction(number.replace(",", "."))) for number in one.groups() if number]
    return found


def outside(text: str, bounds: list[tuple[Fraction, Fraction]]) -> list[str]:
    """The percentages of the text that lie within none of these bounds, as written."""
    return [
        written
        for written, number in percentages_in(text)
        if not any(low <= number <= high for low, high in bounds)
    ]


def agreement(text: str, bounds: list[tuple[Fraction, Fraction]]) -> str:
    """A sentence on the text of a panel. bounds: as they are printed for visitors."""
    if not percentages_in(text):
        return NAMES_NONE
    wrong = outside(text, bounds)
    if not wrong:
        return ALL_WITHIN
    return f"It names {', '.join(f'{one} %' for one in wrong)}, which no bounds of this statement hold: it has to be changed."
