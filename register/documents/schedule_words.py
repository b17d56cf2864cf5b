"""The sentences of a schedule of figures: the paragraph to copy, what may not be claimed, and what each column holds."""

from __future__ import annotations

from collections.abc import Iterator

from register.documents.figure_parts import BoundsView
from register.documents.figure_view import FigureView
from register.documents.figure_words import NBSP, count_of
from register.documents.schedule import (
    BEFORE,
    COMPLETED,
    PROPOSED,
    Entry,
    Line,
    Schedule,
    State,
    headline,
    lines_of,
)
from register.fabric.fraction import NOT_ASSESSED

MAY_NOT = (
    "No figure without its bounds. “65 %”, “about 65 %” and “up to 75 %” all hide how much is not known.",
    "Not “65 % original” without saying weighed by what, against which reference period and as at which day: against another"
    " state of the same vehicle the figure is another one, and both are right.",
    "Not the best figure alone. It speaks of the assessed parts only.",
    "Not that what has not been assessed is original, nor that it is not. It may be either, and the bounds allow for both.",
    "Nothing between vehicles by count: one register lists a boiler as one part, the next as two hundred.",
    "Not that one vehicle is better, or more worth helping, for having a higher figure.",
    "Not what a vehicle is. Identity is stated in words, on evidence; no percentage decides it.",
    "Not how much of the original vehicle is left. That is its survival, which is another figure.",
    "Not that proposed works have been done, or have been agreed to, where this schedule does not say so.",
    "No difference between a figure of this schedule and one worked out by another method, or by another version of this one.",
    "Not that anybody outside the railway has checked it. A schedule is not issued: nothing in it is frozen. For a figure that"
    " a stranger can check, issue a statement.",
    "Not that any vehicle, or any part of one, is fit or safe to run. This register says nothing of that; the safety file of the"
    " railway’s responsible person does. Pressure, brakes, running gear, lifting, asbestos and lead are for the licensed or"
    " competent person, under the local code.",
)

COLUMNS = (
    ("vehicle_id", "The vehicle’s id in the register."),
    ("vehicle", "Its number and name."),
    ("state", "Before; after the proposed works, laid over the records as if done on that day; or after completion, as recorded."),
    ("as_at", "The day that the figure is for: year, month, day."),
    ("basis", "What parts are weighed by: mass, count or significance. Significance is a judgement."),
    ("headline", "Yes for the basis that was asked for as the headline. All three are always given."),
    (
        "of",
        "Which parts the figure is of. The whole vehicle: what the register does not list is counted too, as not known, up to the"
        " empty mass. The weighted parts only: some parts have no known weight and are left out.",
    ),
    ("leads", "Yes for the figure that stands first on its basis, and may be quoted."),
    ("reference", "The reference period that “original” is measured against."),
    ("reference_date", "Its date, as kept (EDTF)."),
    ("low", "Lower bound in per cent, rounded down."),
    ("best", "The best figure in per cent, over what has been assessed; empty where it may not be given."),
    ("high", "Upper bound in per cent, rounded up."),
    ("why_no_best", "Why there is no best figure, or no percentage at all."),
    ("assessed_share", "How much of the weight has been assessed, in per cent; empty where it is kept back."),
    ("parts", "Occupied positions that the figure counts. A set counts once."),
    ("not_assessed", "How many of them nobody has assessed."),
    ("unweighted", "How many of them have no weight on this basis, and are left out of it."),
    ("wear_left_out", "Wear parts fitted, which are left out."),
    ("stand_ins", "Temporary stand-ins in use, which enter no figure."),
    ("weight", "What the weighted parts weigh at best; empty where it is kept back."),
    ("unit", "Of the weight: kg, parts or points."),
    (
        "change_low, change_best, change_high",
        "Change against the same figure before, in percentage points, worked out before rounding; empty for the state before.",
    ),
    (
        "data_sha256",
        "SHA-256 of the inputs that the figure was computed from. The same inputs give the same hash; what enters no figure does"
        " not alter it.",
    ),
    ("note", "What must be known beside the figure."),
)


def paragraph(entry: Entry, schedule: Schedule) -> str:
    """A short paragraph in plain words that is true as it stands, with everything that no figure goes without."""
    if entry.missing:
        return f"{entry.name}: {entry.missing}"
    run, before = schedule.run, entry.state(BEFORE)
    sentences = [] if before is None else list(_before(entry, before, schedule))
    sentences += filter(None, _afterwards(entry, schedule))
    sentences.append(
        f"Worked out by version {run.method_version} of the register’s method from change {run.change_no} of the register;"
        " it says neither what the vehicle is nor that it is fit to run."
    )
    return " ".join(sentences)


def _before(entry: Entry, state: State, schedule: Schedule) -> Iterator[str]:
    view, lead = state.views[schedule.basis], headline(state, schedule.basis)
    asked = f"{view.basis_words}, measured against “{entry.reference}”"
    if lead is None:
        yield f"As at {view.day}, how much of {entry.name} is original fabric {asked}, is not given as a percentage."
        yield _stopped(view.no_figure)
    else:
        yield f"As at {view.day}, {entry.name} is {_between(lead)} original fabric {asked}."
        yield f"These are bounds {_what_of(view)}: they hold whatever the parts that are not assessed turn out to be."
    yield _rests_on(view)
    if lead is not None:
        yield _best(view)


def _between(bounds: BoundsView) -> str:
    """``between 42.9 and 79.4 %``"""
    if bounds.low_text == bounds.high_text:
        return f"{bounds.low_text}{NBSP}%"
    return f"between {bounds.low_text} and {bounds.high_text}{NBSP}%"


def _what_of(view: FigureView) -> str:
    if view.whole_first:
        return "of the whole vehicle, what the register does not list being counted as not known"
    return "of the weighted parts only" if view.figures.unweighted else "of every part that is counted"


def _rests_on(view: FigureView) -> str:
    """The counts that no figure goes without."""
    figures = view.figures
    unknown = sum(row.category == NOT_ASSESSED for row in view.answer.rows_asked_for)
    told = f"{unknown:,} not assessed"
    if view.answer.basis != "count":
        told += f" and {figures.unweighted:,} without a {'grade' if view.answer.basis == 'significance' else 'known mass'}"
    more = [] if view.is_withheld or figures.assessed_share is None else [f"assessed share {view.assessed}"]
    more += [f"{count_of(figures.wear, 'wear part')} left out"] if figures.wear else []
    more += [f"{count_of(figures.temporary, 'stand-in')} not counted"] if figures.temporary else []
    return f"It rests on {count_of(figures.items, 'part')}, {told}{_in_brackets(more)}."


def _in_brackets(words: list[str]) -> str:
    return f" ({'; '.join(words)})" if words else ""


def _best(view: FigureView) -> str:
    if view.is_withheld:
        return f"No other percentage is given: {_lower(_stopped(view.no_figure))}"
    if view.own is None:
        return ""
    if view.own.best is None:
        return f"No best figure is given: {view.own.no_best}."
    over = "the assessed parts that have a weight" if view.figures.unweighted else "the assessed parts"
    return f"The best figure, over {over}, is {view.own.best_words}, and is not to be quoted without the bounds."


def _afterwards(entry: Entry, schedule: Schedule) -> Iterator[str]:
    """What the works would do, and what they did."""
    proposed, completed = entry.state(PROPOSED), entry.state(COMPLETED)
    if proposed is not None and proposed.is_told:
        works = f"The works proposed ({'; '.join(entry.works)})" if entry.works else "The works proposed on other vehicles"
        if proposed.views:
            yield f"{works}, if done on that day, would {_leave(entry, proposed, schedule)}."
            yield from proposed.notes if entry.works else ()
        else:
            yield f"What works proposed ({'; '.join(entry.works)}) would leave cannot be worked out: {_lower(proposed.missing)}"
    if completed is None or not completed.is_told:
        return
    if not completed.views:
        yield completed.missing
        return
    lead, day = headline(completed, schedule.basis), completed.views[schedule.basis].day
    said = f"it is {_between(lead)} original fabric{_of(completed, schedule)}" if lead else "no percentage is given"
    yield f"After completion, as at {day}, {said}."
    yield from completed.notes


def _leave(entry: Entry, state: State, schedule: Schedule) -> str:
    lead = headline(state, schedule.basis)
    if lead is None:
        return "leave it without a percentage that may be given"
    change = next((one.change for one in lines_of(entry, schedule.basis) if one.state is state and one.leads), "")
    if change == "no change":
        return f"leave these bounds as they are, {_between(lead)}{_of(state, schedule)}"
    return f"leave it {_between(lead)} original fabric{_of(state, schedule)}"


def _of(state: State, schedule: Schedule) -> str:
    view = state.views[schedule.basis]
    if view.whole_first:
        return ", of the whole vehicle"
    return ", of the weighted parts only" if view.figures.unweighted else ""


def _lower(words: str) -> str:
    """For the middle of a sentence, unless it begins with an id or a figure."""
    first = words.split(" ", 1)[0]
    return words[:1].lower() + words[1:] if first.isalpha() and not first.isupper() else words


def _stopped(words: str) -> str:
    return words if words.endswith((".", "!", "?")) else f"{words}."


def notes_beside(line: Line) -> tuple[str, ...]:
    """What must be known beside a figure: of the state, of the basis, and why percentages are kept back."""
    found = [*line.state.notes, *line.view.notes]
    if line.why:
        found.append(line.why)
    return tuple(dict.fromkeys(found))
