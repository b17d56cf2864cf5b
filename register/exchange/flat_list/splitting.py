"""One line about several things: split where its remark divides it without a remainder, else asked about."""

from __future__ import annotations

import re
from dataclasses import dataclass

_NUMBERS = r"\d{1,3}(?:\s*(?:\+|&|,|and|to|-|–)\s*\d{1,3}|\s+\d{1,3})*"
_GROUP = re.compile(rf"({_NUMBERS})\s+([A-Za-z][^;,.\n]*)")
_END = re.compile(
    r"\b([A-Z]|left|right|near|off|front|rear|top|bottom|leading|trailing|inner|outer)[ -](end|side|"
    r"hand)\b:?\s+([^;,.\n]+)"
)
_COUNTED = re.compile(r"\b(\d{1,4}) (old|orig\w*|good|new|bad|replaced|modern|missing|left)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Portion:
    """label: what tells it from its fellows. count: how many, None where the remark does not say. words: what
    is said of it."""

    label: str
    count: int | None
    words: str


def portions_of(remark: str, quantity: int | None) -> list[Portion]:
    """The portions into which a remark divides a line, [] where it does not.

    By number, where every number from 1 to the quantity is named once ("planks 1+2 orig, 3 4 5 pitch pine");
    by end or side, where at least two are named ("A end good, B end all new").
    """
    if quantity is not None and quantity < 2:
        return []
    groups = [(_numbers(match[1]), match[2].strip()) for match in _GROUP.finditer(remark)]
    named = [number for numbers, _ in groups for number in numbers]
    if len(groups) > 1 and quantity and sorted(named) == list(range(1, quantity + 1)):
        return [Portion(_listed(numbers), len(numbers), words) for numbers, words in groups]
    ends = [(f"{match[1]} {match[2]}", match[3].strip()) for match in _END.finditer(remark)]
    if quantity and len(ends) > 1 and len({label.lower() for label, _ in ends}) == len(ends):
        return [Portion(label, None, words) for label, words in ends]
    return []


def counted(remark: str, quantity: int | None) -> list[tuple[int, str]]:
    """How many are said to be what ("6 old 8 new"), where at least two kinds are counted."""
    found = [(int(match[1]), match[2].lower()) for match in _COUNTED.finditer(remark)]
    return found if len(found) > 1 and quantity != 1 else []


def _numbers(text: str) -> list[int]:
    found: list[int] = []
    for piece in re.split(r"\s*(?:\+|&|,|and)\s*|(?<=\d)\s+(?=\d)", text):
        first, *rest = re.split(r"\s*(?:to|-|–)\s*", piece.strip())
        last = rest[0] if rest else first
        found.extend(range(int(first), int(last) + 1))
    return found


def _listed(numbers: list[int]) -> str:
    words = [str(number) for number in numbers]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
