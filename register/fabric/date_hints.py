"""Why a date cannot be read, and what to write instead: one row for each thing that people write."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NoReturn

from register.fabric.edtf_profile import MONTHS, DateError, quoted

GENERAL = (
    "write a year (1894), a month (May 1894), a day (12 May 1894), about 1894, the 1890s, spring 1894, "
    "between 1903 and 1907, before 1907 or after 1903"
)
MONTH_NUMBERS = {name.lower(): number for number, name in enumerate(MONTHS, 1)}
MONTH_NUMBERS |= {name[:3]: number for name, number in MONTH_NUMBERS.items()} | {"sept": 9}
MONTH = rf"({'|'.join(sorted(MONTH_NUMBERS, key=len, reverse=True))})\.?,?"
"""Pattern of the name of a month, in one group."""

_DASH = "[-–—−]"


def _month_before_day(found: re.Match[str]) -> str:
    first, second, year = found.groups()
    if 1 <= int(first) <= 12 and int(second) <= 31:
        return f"has the month first: write {second}/{first}/{year}, day first"
    return f"has no month {int(second)}: write the day first, then the month, as in 12/05/1894"


def _month_and_year(found: re.Match[str]) -> str:
    month, year = int(found[1]), found[2]
    if not 1 <= month <= 12:
        return f"has no month {month}: write the month as in May {year}"
    return f"lacks a day: write {MONTHS[month - 1]} {year} or {year}-{month:02} for the month"


def _two_years(found: re.Match[str]) -> str:
    first, last = _years(found)
    if last - first > 1 and 1 <= int(found[2]) <= 12:
        return _short_range(found)
    return f"is two years: write {first} or {last}, or between {first} and {last}"


def _short_range(found: re.Match[str]) -> str:
    first, last = _years(found)
    month = int(found[2])
    if 1 <= month <= 12:
        return f"may be a month or a range: write {MONTHS[month - 1]} {first}, or {first} to {last}"
    return f"is written like a month, and there is no month {month}: write {first} to {last} for a range"


def _years(found: re.Match[str]) -> tuple[int, int]:
    """1894-97 is 1894 and 1897, 1898-02 is 1898 and 1902."""
    first, tail = int(found[1]), int(found[2])
    last = first - first % 100 + tail
    return first, last if last > first else last + 100


def _winter(found: re.Match[str]) -> str:
    year = int(found[1] or found[2])
    return (
        f"names a winter, which lies in two years: write between December {year - 1} and February {year}, or "
        f"between December {year} and February {year + 1}"
    )


_HINTS: tuple[tuple[str, str | Callable[[re.Match[str]], str]], ...] = (
    (r"([0-9]{4})/([0-9]{1,2})/([0-9]{1,2})", r"has the year first: write \3/\2/\1, day first"),
    (r"([0-9]{4})/([0-9]{2})", _two_years),
    (r"([0-9][^/]{3,})/(?:\.\.)?", r"is an interval with no end: write from \1 if it happened then or later"),
    (r"(?:\.\.)?/([0-9][^/]{3,})", r"is an interval with no start: write by \1 if it happened by then"),
    (
        r"([0-9][^/]{3,})/([0-9][^/]{3,})",
        r"is an interval, which means that it lasted from \1 to \2: write between \1 and \2 if it happened "
        "some time in between",
    ),
    (r"([0-9]{1,2})/([0-9]{1,2})/([0-9]{4})", _month_before_day),
    (r"([0-9]{1,2})[/.-]([0-9]{4})", _month_and_year),
    (
        r"([0-9]{1,2})[.-]([0-9]{1,2})[.-]([0-9]{4})",
        r"is not written as a day is here: write \1/\2/\3, day first, or the month by name, as in "
        "12 May 1894",
    ),
    (r"([0-9]{2})xx[~?%]?", r"is a whole century: write between \g<1>00 and \g<1>99"),
    (r"([0-9]{4})(?:-xx){1,2}[~?%]?", r"leaves the month open: write \1"),
    (r"([0-9]{4}-[0-9]{2})-xx[~?%]?", r"leaves the day open: write \1"),
    (r"winter,? (?:of )?([0-9]{4})|([0-9]{4})-24", _winter),
    (r"([0-9]{4})[–—−]([0-9]{2})[–—−]([0-9]{2})", r"has dashes where hyphens go: write \1-\2-\3"),
    (rf"(?:.*[^0-9])?([0-9]{{4}}) ?{_DASH} ?([0-9]{{2}})[~?%]?", _short_range),
    (r"[0-9]{4}-[0-9]{1,2}(?:-[0-9]{1,2})?", "has a month or day of one digit: write two, as in 1894-05-02"),
    (
        rf".*[0-9]{{4}} ?{_DASH} ?(?:.*[^0-9])?[0-9]{{4}}.*|.*[a-z0-9] ?[–—−] ?[a-z0-9].*",
        "has a dash for a range: write it in words, as in between 1903 and 1907",
    ),
    (r"([0-9]{3})\?", r"has a digit missing: write \g<1>0 to \g<1>9, or \1X, for the decade"),
    (
        r".*?([0-9]{2})00s.*",
        r"may be a decade or a century: write between \g<1>00 and \g<1>09, or between \g<1>00 and \g<1>99",
    ),
    (
        r"(?:pre|post)\b.*",
        "does not say which year: write before or after with the year, such as before 1914 or after 1945",
    ),
    (
        rf"{MONTH} [0-9]{{1,2}}(?:st|nd|rd|th)?,? [0-9]{{4}}",
        "has the month first: write the day first, as in 12 May 1894",
    ),
    (rf"(?:[0-9]{{1,2}}(?:st|nd|rd|th)? )?{MONTH}", "has no year: write the year too, as in May 1894"),
    (r".*\bcentury\b.*", "is a century or a part of one: write the years, such as between 1800 and 1899"),
    (
        r".*\b(?:early|mid|late)\b.*",
        "has early, mid or late with something other than a decade: write a decade, as in early 1890s, or a "
        "range, as in between January 1894 and April 1894",
    ),
    (
        r"\?|-|unknown|not known|n/?[ak]|none",
        f"is not a date: leave it empty where nothing is known, or {GENERAL}",
    ),
    (
        r"(?!.*[0-9]{3}).*?(?<![0-9])[0-9]{1,2}s?[~?%]?",
        "has a year of two digits, which does not say the century: write the year in full, as in "
        "1894 or 1994",
    ),
)
_COMPILED = tuple((re.compile(pattern), hint) for pattern, hint in _HINTS)


def refuse(text: str) -> NoReturn:
    """Raise a DateError that says what ``text`` (lower case) might mean, and how each is written."""
    for pattern, hint in _COMPILED:
        if found := pattern.fullmatch(text):
            why = found.expand(hint) if isinstance(hint, str) else hint(found)
            raise DateError(f"{quoted(text)} {why}.")
    raise DateError(f"{quoted(text)} cannot be read as a date: {GENERAL}.")
