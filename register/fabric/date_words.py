"""Dates in the words of method.md, section 2, to EDTF, and EDTF to words.

Plain text in, plain text out; what cannot be read is refused by ``register.fabric.date_hints``.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import NoReturn

from register.fabric.date_hints import MONTH, MONTH_NUMBERS, refuse
from register.fabric.edtf_profile import MONTHS, DateError, quoted, span_of

_SEASONS = {"spring": 21, "summer": 22, "autumn": 23}
_SEASON_MONTHS = {"21": ("03", "05"), "22": ("06", "08"), "23": ("09", "11")}
_PARTS = {"early": (0, 3), "mid": (3, 7), "late": (6, 9)}

_ISO = re.compile(r"[0-9]{4}(?:-(?:0[1-9]|1[0-2]|2[123]))?|[0-9]{4}-[0-9]{2}-[0-9]{2}")
_SLASHES = re.compile(r"([0-9]{1,2})/([0-9]{1,2})/([0-9]{4})")
_DAY_WORDS = re.compile(rf"([0-9]{{1,2}})(?:st|nd|rd|th)?(?: of)? {MONTH} ([0-9]{{4}})")
_MONTH_WORDS = re.compile(rf"{MONTH} ([0-9]{{4}})")
_DECADE = re.compile(r"(?:the )?([0-9]{2}[1-9])0s|([0-9]{3})x")
_PART = re.compile(r"(?:the )?(early|mid|late)[ -]([0-9]{2}[1-9])0s")
_SEASON = re.compile(r"(spring|summer|autumn) (?:of )?([0-9]{4})")
_MARKED = re.compile(
    r"(?P<doubt>(?:possibly|probably) )?"
    r"(?P<about>(?:circa|about|approximately|approx|ca|c)(?:\. ?| |(?=[0-9])))?"
    r"(?P<base>.+?) ?(?P<mark>[~?%]{0,2})"
)


def edtf_of(text: str) -> str:
    """EDTF for ``text`` (lower case, single spaces, not empty).

    DateError where it cannot be read; whether the day exists and the set runs forwards is for ``span_of``.
    """
    if text[0] in "[{":
        return text.replace(" ", "").upper()
    for pattern, build in _RELATIONS:
        if found := pattern.fullmatch(text):
            return build(*found.groups())
    found = _MARKED.fullmatch(text)
    assert found is not None  # any text has a base
    base, mark = found["base"], _mark(found)
    if plain := _plain(base):
        return plain + mark
    if decade := _DECADE.fullmatch(base):
        return f"{decade[1] or decade[2]}X{mark}"
    if (stretch := _stretch(base)) is None:
        refuse(text)
    if mark:
        raise DateError(
            f"{quoted(text)} is a part of a decade, which cannot be marked as uncertain: write the years "
            f"that it may be, such as between {int(stretch[0]) - 5} and {int(stretch[1]) + 5}."
        )
    return f"[{stretch[0]}..{stretch[1]}]"


def _mark(found: re.Match[str]) -> str:
    """``%`` is EDTF for ``~`` and ``?`` together."""
    about = bool(found["about"]) or "~" in found["mark"]
    doubt = bool(found["doubt"]) or "?" in found["mark"]
    if "%" in found["mark"] or (about and doubt):
        return "%"
    return "~" if about else "?" if doubt else ""


def _plain(text: str) -> str | None:
    """EDTF of a year, month, day or season; None where it is none of them."""
    if _ISO.fullmatch(text):
        return text
    if found := _SLASHES.fullmatch(text):
        day, month, year = found.groups()
        if int(month) > 12:
            refuse(text)
        return f"{year}-{int(month):02}-{int(day):02}"
    if found := _DAY_WORDS.fullmatch(text):
        return f"{found[3]}-{MONTH_NUMBERS[found[2]]:02}-{int(found[1]):02}"
    if found := _MONTH_WORDS.fullmatch(text):
        return f"{found[2]}-{MONTH_NUMBERS[found[1]]:02}"
    if found := _SEASON.fullmatch(text):
        return f"{found[2]}-{_SEASONS[found[1]]}"
    return None


def _stretch(text: str) -> tuple[str, str] | None:
    """First and last year, month or day of what ``text`` names: a set holds no season and no decade."""
    if plain := _plain(text):
        year, tail = plain[:4], plain[5:]
        if tail in _SEASON_MONTHS:
            return f"{year}-{_SEASON_MONTHS[tail][0]}", f"{year}-{_SEASON_MONTHS[tail][1]}"
        return plain, plain
    if found := _DECADE.fullmatch(text):
        tens = found[1] or found[2]
        return f"{tens}0", f"{tens}9"
    if found := _PART.fullmatch(text):
        first, last = _PARTS[found[1]]
        return f"{found[2]}{first}", f"{found[2]}{last}"
    return None


def _ends(text: str) -> tuple[str, str]:
    """``_stretch`` of what stands after "between", "before" and the like; DateError where it has none."""
    stretch = _stretch(text)
    if stretch is None:
        found = _MARKED.fullmatch(text)
        if found and _mark(found) and _stretch(found["base"]):
            raise DateError(
                f"{quoted(text)} cannot be marked as uncertain beside another word of time: write "
                f"{found['base']} alone, or move the date outwards."
            )
        refuse(text)
    return stretch


def _between(start: str, end: str) -> str:
    return f"[{_ends(start)[0]}..{_ends(end)[1]}]"


def _either(text: str, last: str) -> str:
    members = []
    for member in (*text.split(", "), last):
        first, final = _ends(member)
        if first != final:
            raise DateError(
                f"{quoted(member)} cannot stand beside “or”: write between {first} and the last date it may "
                "be."
            )
        members.append(first)
    return f"[{','.join(members)}]"


def _before(text: str) -> str:
    first = _ends(text)[0]
    return f"[..{_same_precision(span_of(first).earliest - 1, first)}]"


def _after(text: str) -> str:
    last = _ends(text)[1]
    return f"[{_same_precision(span_of(last).latest + 1, last)}..]"


def _by(text: str) -> str:
    return f"[..{_ends(text)[1]}]"


def _from(text: str) -> str:
    return f"[{_ends(text)[0]}..]"


def _same_precision(day: int, like: str) -> str:
    return date.fromordinal(day).isoformat()[: len(like)]


def _from_to(start: str, end: str) -> NoReturn:
    raise DateError(
        f"{quoted(f'from {start} to {end}')} may mean that it lasted so long: write between {start} and "
        f"{end} if it happened some time in between."
    )


_RELATIONS: tuple[tuple[re.Pattern[str], Callable[..., str]], ...] = (
    (re.compile(r"from (.+) to (.+)"), _from_to),
    (re.compile(r"between (.+) and (.+)"), _between),
    (re.compile(r"(.+) to (.+)"), _between),
    (re.compile(r"(.+) or (.+)"), _either),
    (re.compile(r"not before (.+)"), _from),
    (re.compile(r"not after (.+)"), _by),
    (re.compile(r"before (.+)"), _before),
    (re.compile(r"after (.+)"), _after),
    (re.compile(r"by (.+)"), _by),
    (re.compile(r"from (.+)"), _from),
)


def day_in_words(day: date) -> str:
    """``12 May 1894``"""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def edtf_in_words(edtf: str) -> str:
    """Of a form that ``span_of`` knows."""
    if edtf.startswith("["):
        inner = edtf[1:-1]
        if ".." not in inner:
            *members, last = (_single_in_words(member) for member in inner.split(","))
            return f"{', '.join(members)} or {last}"
        start, end = (_single_in_words(member) if member else "" for member in inner.split(".."))
        if start and end:
            return f"between {start} and {end}"
        return f"from {start}" if start else f"by {end}"
    before = {"~": "about ", "?": "possibly ", "%": "possibly about "}
    if edtf[-1] not in before:
        return _single_in_words(edtf)
    words = _single_in_words(edtf[:-1])
    return before[edtf[-1]] + (f"the {words}" if words.endswith("s") else words)


def _single_in_words(stem: str) -> str:
    if stem.endswith("X"):
        # "1900s" could be a century, so the years are said
        return f"{stem[:3]}0s" if stem[2] != "0" else f"{stem[:3]}0 to {stem[:3]}9"
    if len(stem) == 4:
        return stem
    if len(stem) == 10:
        return day_in_words(date.fromisoformat(stem))
    month = int(stem[5:])
    season = next((name for name, code in _SEASONS.items() if code == month), None)
    return f"{season or MONTHS[month - 1]} {stem[:4]}"
