"""The words of a period report: titles, and the sentences that its lines are made of."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction

from register.documents.figure_words import NBSP, percent
from register.documents.palette import STATUSES
from register.documents.period_content import (
    DECIDED,
    DISPOSED,
    EVENTS,
    FITTED,
    FOUND,
    ISSUED,
    MAGAZINE,
    MOVED,
    POSSIBLE,
    REMOVED,
    TREATED,
    TRUSTEES,
    Front,
    Line,
    PeriodReport,
    Photo,
)
from register.fabric.dates import day_in_words
from register.fabric.interval import Interval
from register.fabric.rounding import shown_kg

TITLES: Mapping[str, str] = {
    FITTED: "Fitted",
    REMOVED: "Removed",
    TREATED: "Restored and treated",
    MOVED: "Moved",
    DISPOSED: "Disposed of",
    FOUND: "Found out",
    DECIDED: "Decided",
    ISSUED: "Statements",
    EVENTS: "Events",
    POSSIBLE: "May have been in the period",
}

DID: Mapping[str, str] = {
    FITTED: "fitted",
    REMOVED: "removed",
    TREATED: "treated",
    MOVED: "moved",
    DISPOSED: "disposed of",
    EVENTS: "event",
}
"""What happened, where no title says it."""

ABOUT: Mapping[str, str] = {
    FOUND: "What is known now that was not known when the period began, whenever it happened. None of it is work.",
    POSSIBLE: "Dated so loosely that it may lie in the period. The figures take it by the day that stands for its date, and that"
    " day does not.",
    DECIDED: "Proposals, with what was decided and why. Nothing in them is in a figure before it is carried out.",
}
"""What stands below a title."""

EDITION_NAMES: Mapping[str, str] = {TRUSTEES: "For trustees", MAGAZINE: "For the magazine"}
EDITION_CHOICES: Mapping[str, str] = {
    TRUSTEES: "For trustees: all that you may read, with who decided",
    MAGAZINE: "For the magazine: what anybody may read, with photographs that may be printed",
}

HEADS: Mapping[str, tuple[str, str]] = {
    FOUND: ("Entered", "Part"),
    DECIDED: ("Decided", "Proposal"),
    ISSUED: ("On", "Statement"),
    EVENTS: ("When", "Event"),
}
"""Of the first two columns; else "When" and "Part"."""

WORK_AND_KNOWLEDGE = (
    "Work is what was done to the vehicle in the period. Knowledge is what is known better of the day before it than was"
    " known then. They add up to the change of the best figure. The bounds stand beside it, undivided."
)

HOW_DATED = (
    "A thing is told where its date lies, whenever it was entered: what was done long ago and entered in the period was"
    " found out, not done. An uncertain date is taken by the day that stands for it in the figures (the middle of its span; of"
    " one open at one end, the end that is known), and where that decides it, it is said."
)

ABOUT_FABRIC = "This report is about fabric. It does not say that anything is fit or safe to work."


def period_words(front: Front) -> str:
    """``1 January 2026 to 31 December 2026``"""
    return f"{day_in_words(front.first)} to {day_in_words(front.last)}"


def known_words(front: Front) -> str:
    """With which entries."""
    if front.known == front.last:
        return f"As the register knew it at the end of {day_in_words(front.last)}"
    return f"With what was entered until {day_in_words(front.known)}"


def held(status: str) -> str:
    """``held to be a replica``, or ``not assessed``"""
    if not status:
        return "not assessed"
    words = STATUSES[status].words.lower()
    return f"held to be {'a ' if status in ('replica', 'modern substitute') else ''}{words}"


def was_and_is(was: str, now: str) -> str:
    return f"was {held(was)}, is {held(now)}"


def several(name: str, quantity: int) -> str:
    return f"{name} ×{NBSP}{quantity}" if quantity > 1 else name


def share_words(low: int | None, best: int | None, high: int | None) -> str:
    """A stored fraction as it is said: ``70 % (60 to 80 %)``; "" for none."""
    if best is None:
        return ""
    ends = [_percent(best if one is None else one) for one in (low, high)]
    return _percent(best) if ends[0] == ends[1] else f"{_percent(best)} ({ends[0].split(NBSP)[0]} to {ends[1]})"


def _percent(millionths: int) -> str:
    return percent(Fraction(millionths, 10_000)).replace(f".0{NBSP}", NBSP)


def mass_words(mass: Interval | None) -> str:
    """``60 kg (55 to 65 kg)``; ``not known``"""
    if mass is None or mass.best is None:
        return "not known"
    low, best, high = (shown_kg(Fraction(one, 1000)) for one in (mass.low, mass.best, mass.high))
    return best if low == high else f"{best} ({low.removesuffix(' kg')} to {high})"


def and_more(number: int) -> str:
    """``And 3 more.``; "" for none"""
    return f"And {number:,} more." if number > 0 else ""


def dated_loosely(number: int) -> str:
    things = "1 thing is" if number == 1 else f"{number:,} things are"
    return (
        f"{things} dated so loosely (such as “from 1921”) that nobody can say whether {'it lies' if number == 1 else 'they lie'} in"
        f" this period, and {'is' if number == 1 else 'are'} not told here."
    )


def entered_late(day: date) -> str:
    return f"entered on {day_in_words(day)}, after the period"


def beside(line: Line) -> str:
    """Id and position, without saying twice what the name says."""
    return ", ".join(filter(None, [line.code, line.position if line.position != line.about else ""]))


def counted(counts: Mapping[str, int]) -> str:
    """``2 fitted, 1 removed, 5 found out``"""
    words = [f"{number:,} {COUNTED[kind][number != 1]}" for kind, number in counts.items() if number]
    return ", ".join(words) or "nothing done, found out or decided; see what is said of it"


COUNTED: Mapping[str, tuple[str, str]] = {
    FITTED: ("fitted", "fitted"),
    REMOVED: ("removed", "removed"),
    TREATED: ("treated", "treated"),
    MOVED: ("moved", "moved"),
    DISPOSED: ("disposed of", "disposed of"),
    FOUND: ("found out", "found out"),
    DECIDED: ("proposal", "proposals"),
    ISSUED: ("entry on statements", "entries on statements"),
    EVENTS: ("event", "events"),
    POSSIBLE: ("that may be of the period", "that may be of the period"),
}
"""What a number of lines is called: of one, of several."""


def nothing_of(report: PeriodReport) -> str:
    if report.vehicles:
        return "Nothing to tell of:" if report.quiet else ""
    return "Nothing to tell in this period of:" if report.quiet else "There is nothing to tell of this period."


def about_photo(photo: Photo) -> str:
    """For whoever cannot see it."""
    return f"Photograph{f': {photo.caption}' if photo.caption else ' without a caption'}"


def photo_words(photo: Photo) -> str:
    """Whose it is, under what licence, and when it was taken."""
    taken = f"taken {photo.taken}" if photo.taken else "date not known"
    return f"{photo.credit or 'Credit not known'}, {photo.licence or 'licence not known'}; {taken}."


def made_with(front: Front) -> str:
    change = f", change {front.change_number} of the register" if not front.is_public else ""
    return f"Method version {front.method_version}, software {front.software_version}{change}."


def stopped(text: str) -> str:
    """The text with a full stop, unless it ends with one already."""
    return text if not text or text.endswith((".", "!", "?")) else f"{text}."
