"""Since when the thing of a line is where it is: fitted or seen, lost, or kept somewhere else."""

from __future__ import annotations

from register.exchange.flat_list.amounts import by_day, latest_before
from register.exchange.flat_list.facts import date_of_loss
from register.exchange.flat_list.line_rows import LineRows
from register.exchange.flat_list.results import RowDraft
from register.exchange.flat_list.roles import PLACE, REMOVED, SEEN_ON, fold
from register.exchange.flat_list.status_words import MODERN, NO_ANSWER, ON_THE_VEHICLE
from register.fabric.dates import read_date, read_day
from register.fabric.occupancy import ImpossibleDates, resolve


def installation(line: LineRows) -> None:
    """Fitted when the list says, else seen in place on a day: its own, or that of the list."""
    when = line.facts.when.reading
    seen, seen_doubt = seen_on(line)
    removed = line.date_in(REMOVED, "removed")
    line.ask("fitted", when.asked, suggestion=when.suggestion)
    line.ask("removed", removed.asked, line.thing.cell(REMOVED), removed.suggestion)
    doubts = {"fitted": when.doubt, "seen_on": seen_doubt, "removed": removed.doubt}
    fitted = when.text
    if not fitted and not seen:
        line.undated = True
        seen = line.context.day
        doubts["seen_on"] = "the day of the list: right only if somebody looked at it then"
        if not seen:
            return
    fitted, seen, removed_text = possible(line, fitted, seen, removed.text)
    reason = line.facts.cues.reason if line.facts.verdict.status == MODERN else ""
    line.add(
        "installations",
        {
            "position_id": line.position_id,
            "part_id": line.part_id,
            "fitted": fitted,
            "seen_on": seen,
            "removed": removed_text,
            "reason": reason,
        },
        doubts,
    )


def seen_on(line: LineRows) -> tuple[str, str]:
    """The day in the line's own column, and why it cannot be read."""
    cell = line.given("seen on") or line.thing.cell(SEEN_ON)
    if not cell or fold(cell) in NO_ANSWER:
        return "", ""
    try:
        return read_day(cell).isoformat(), ""
    except ValueError as sentence:
        line.ask("seen on", f"On which day was it seen in place? {sentence}", cell)
        return "", str(sentence)


def impossible(line: LineRows, fitted: str, removed: str, seen: str = "") -> str:
    """The sentence that says why these dates cannot all be true, "" where they can."""
    if line.context.built is None:
        return ""
    dates = [read_date(text, as_built=True) if text else None for text in (fitted, removed)]
    day = read_day(seen).toordinal() if seen else None
    try:
        resolve(dates[0], day, dates[1], line.context.built)
    except ImpossibleDates as sentence:
        return str(sentence)
    return ""


def possible(line: LineRows, fitted: str, seen: str, removed: str) -> tuple[str, str, str]:
    """The dates, those left out that cannot be true together."""
    why = impossible(line, fitted, removed, seen)
    if not why:
        return fitted, seen, removed
    said = "; ".join(text for text in (fitted, seen, removed) if text)
    line.ask("dates", f"These dates cannot all be true, so they are left out: {why}", said)
    if line.context.day:
        return "", line.context.day, ""
    return (fitted, "", "") if fitted else ("", seen, "")


def lost(line: LineRows) -> None:
    """A position, and the part that was in it: disposed of, its installation ended."""
    line.position()
    cell = line.date_in(REMOVED, "lost")
    gone = cell.text or date_of_loss(line.remark)
    line.ask("fitted", line.facts.when.reading.asked, suggestion=line.facts.when.reading.suggestion)
    if not gone and line.context.day:
        gone = by_day(line.context.day_in_words)
        line.ask(
            "lost",
            f"When was it lost? Taken for now: not after the day of the list, {line.context.day_in_words}.",
        )
    if not gone:
        line.ask(
            "lost",
            "When was it lost? Without a date it cannot be entered as lost; only the position is made, "
            "with what is said of it here.",
            line.remarks(),
        )
        return
    disposal = "scrapped" if "scrap" in fold(f"{line.thing.remark} {line.facts.word}") else "lost"
    line.part(disposal, gone, "" if cell.text == gone else "from the remark")
    fitted = line.facts.when.reading.text
    if fitted and impossible(line, fitted, gone):
        line.ask("dates", f"Fitted {fitted} and lost {gone} cannot both be true: which is right?")
        fitted = ""
    doubt = "" if fitted else "when it was fitted is not said: it was there by the time it was lost"
    stay = {
        "position_id": line.position_id,
        "part_id": line.part_id,
        "fitted": fitted or latest_before(read_date(gone)),
        "removed": gone,
    }
    line.add("installations", stay, {"fitted": doubt})


def whereabouts(line: LineRows) -> None:
    """Of a part in no position."""
    fitted = line.facts.when.reading
    line.ask("fitted", fitted.asked, suggestion=fitted.suggestion)
    if fitted.text:
        line.ask(
            "removed",
            f"It is not on the vehicle now. It was fitted {fitted.text}: where, and when was it taken off?",
        )
    lies_at(line)


def lies_at(line: LineRows) -> None:
    """Where a part is that is not where it belongs: by the day of the list at the latest."""
    place = line.facts.cues.place or line.thing.cell(PLACE)
    if not place or fold(place) in ON_THE_VEHICLE | NO_ANSWER:
        return
    place_id = line.context.ids.of("places", place, "AT")
    values = {"place_id": place_id, "name": place, "access": "restricted"}
    line.places.append(RowDraft(f"places:{place_id}", "places", values))
    if not line.context.day:
        line.ask("place", f"Since when has it been here: {place}?")
        return
    moved = {"part_id": line.part_id, "moved_on": by_day(line.context.day_in_words), "place_id": place_id}
    line.add("movements", moved, {"moved_on": "since when it lies there is not said"})
