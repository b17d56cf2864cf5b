"""The figures of a conservation statement: the headline, the table of every basis, the account of the
fabric."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from reportlab.platypus import Flowable

from register.documents.composition_bar import composition_bar
from register.documents.escape import bold
from register.documents.figure_view import BoundsView, FigureView
from register.documents.figure_words import NBSP, count_of, figure, reference_words
from register.documents.interval_bar import interval_bar, interval_bar_of
from register.documents.palette import STATUSES
from register.documents.pdf import WIDTH, Paper
from register.documents.pdf_charts import SCALE, Picture
from register.documents.pdf_tables import GAP, NOTHING, Column, Row, Small, Total, side_by_side
from register.documents.statement_content import Statement
from register.documents.statement_evidence import elsewhere, masses
from register.documents.statement_page import Numbered, status_mark
from register.documents.statement_words import SURVIVAL_SHARES
from register.fabric.rounding import shown_high, shown_low
from register.fabric.survival import Survival

HALF = (WIDTH - GAP) / 2


def headlines(paper: Paper, content: Statement) -> None:
    """How much of the vehicle is original, and how much of the original is left, beside each other."""
    if not content.figures:
        paper.add(*paper.words("No figures have been worked out.", "lead"))
        return
    view = content.figures[0]
    survival = survival_beside(content, view)
    room = HALF if survival else WIDTH
    left = list(_retained(paper, view, room))
    if survival is None:
        paper.add(*left)
    else:
        paper.add(side_by_side([left, list(_survived(paper, survival))]))


def survival_beside(content: Statement, view: FigureView) -> Survival | None:
    """On the basis and against the reference of the headline; none where a percentage by mass is kept
    back."""
    if view.is_withheld:
        return None
    for one in content.survival:
        if (
            one.basis == view.answer.basis
            and one.reference.label == view.answer.reference.label
            and one.low is not None
        ):
            return one
    return None


def _retained(paper: Paper, view: FigureView, room: float) -> Iterator[Flowable]:
    lead = view.lead
    if lead is None:
        yield from paper.words("RETAINED: HOW MUCH OF IT IS ORIGINAL", "label")
        yield from paper.words("No percentage by mass" if view.is_withheld else "No figure", "figure")
        yield from paper.words(view.no_figure)
        yield from paper.words(_status_counts(view))
        return
    whole = " (WHOLE VEHICLE)" if view.whole_first else ""
    yield from paper.words(f"RETAINED: HOW MUCH OF IT IS ORIGINAL{whole}", "label")
    yield from paper.words(lead.words, "figure")
    yield _bar(paper, lead, room)
    best = (
        f" Best {lead.best_words}{f', {lead.likely_words}' if lead.likely_words else ''}."
        if lead.best_words
        else ""
    )
    yield from paper.words(f"{_sentence(view.caption)}{best}", "note")
    if view.whole_first and view.own:
        yield from paper.words(
            f"Of the weighted parts only: {view.own.words}, best {view.own.best_words}.", "note"
        )
    elif view.whole_first:
        yield from paper.words(f"{view.no_figure} {_status_counts(view)}", "note")


def _bar(paper: Paper, bounds: BoundsView, room: float) -> Flowable:
    return Picture.of(interval_bar_of(bounds, size="large", width=room / SCALE), paper.tree)


def _survived(paper: Paper, survival: Survival) -> Iterator[Flowable]:
    low, high = survival.low, survival.high
    if low is None or high is None:
        return
    then = reference_words(survival.reference)
    texts, best = (shown_low(low), shown_high(high)), _best_survival(survival)
    yield from paper.words(
        f"SURVIVAL: HOW MUCH OF IT IS LEFT{' (WEIGHTED PARTS)' if survival.unweighted else ''}",
        "label",
    )
    yield from paper.words(f"{' to '.join(texts)}{NBSP}%", "figure")
    sheet = interval_bar(
        low,
        high,
        best,
        size="large",
        width=HALF / SCALE,
        texts=texts,
        title=f"Survival, bounds: {' to '.join(texts)}{NBSP}%",
        description=f"Of the vehicle {then}.{f' Best: {figure(best)}{NBSP}%.' if best is not None else ''}",
    )
    yield Picture.of(sheet, paper.tree)
    yield from paper.words(_shares(survival), "note")


def _best_survival(survival: Survival) -> Fraction | None:
    """The share with this vehicle, as long as most of the inventory has been assessed."""
    best, unknown = survival.shares["with_this_vehicle"], survival.shares["not_assessed"]
    if best is None or unknown is None or survival.low is None or survival.high is None or unknown > 50:
        return None
    return min(max(best, survival.low), survival.high)


def _shares(survival: Survival) -> str:
    parts = (
        f"Of {count_of(survival.inventory, 'part')} fitted in the state {reference_words(survival.reference)}"
    )
    shares = [
        f"{words} {figure(survival.shares[share])}{NBSP}%"
        for share, words in SURVIVAL_SHARES.items()
        if survival.shares[share]
    ]
    said = ", ".join(shares) or "nothing weighted"
    text = f"{parts} ({survival.unweighted} unweighted), by {survival.basis}: {said}."
    if since := len(survival.made_since):
        new = "is a replica or modern substitute" if since == 1 else "are replicas or modern substitutes"
        text += (
            f" {count_of(since, 'of them', 'of them')} {new} that {'was' if since == 1 else 'were'} in"
            " place by then: fabric of that state here, and never original fabric of the other figure."
        )
    return text


def every_basis(content: Statement) -> list[Row]:
    """A row for each figure, the reference named where it changes."""
    rows: list[Row] = []
    named = ""
    for view in content.figures:
        for row in basis_rows(view):
            rows.append(["" if view.reference == named else view.reference, *row])
            named = view.reference
    return rows


def beside_every_basis(content: Statement) -> str:
    """What no figure goes without besides: stand-ins, wear parts, parts without a grade's weight, each
    said once."""
    return " ".join(dict.fromkeys(note for view in content.figures for note in view.notes))


BASIS_COLUMNS = [
    Column("Against", 31),
    Column("Weighed by", 32),
    Column("Bounds, %", 22, True),
    Column("Best", 18, True),
    Column("Likely, approx.", 26, True),
    Column("Assessed, %", 23, True),
    Column("Unweighted", 0, True),
]


def basis_rows(view: FigureView) -> Iterator[list[str]]:
    basis, counts = view.answer.basis, [view.assessed_text, view.unweighted]
    own = f"{basis}, weighted parts" if view.is_of_weighted_only else basis
    found = [(own, view.own), (f"{basis}, whole vehicle", view.whole)]
    for words, bounds in reversed(found) if view.whole_first else found:
        if bounds is None:
            continue
        yield [
            words,
            bold(bounds.short),
            bounds.best_text or NOTHING,
            _likely(bounds),
            *_kept_back(view, counts),
        ]
    if not view.own and not view.whole:
        yield [basis, "none given", NOTHING, NOTHING, *_kept_back(view, counts)]


def _kept_back(view: FigureView, counts: list[str]) -> list[str]:
    """The assessed share is a percentage by mass, and kept back with the others."""
    return [NOTHING, counts[1]] if view.is_withheld else counts


def _likely(bounds: BoundsView) -> str:
    if bounds.likely is None:
        return NOTHING
    low, high = bounds.likely
    return f"{shown_low(low)}–{shown_high(high)}"


def account(page: Numbered, content: Statement) -> None:
    page.section("Fabric account")
    if not content.figures:
        page.say("No figures have been worked out.")
        return
    view = content.figures[0]
    said_of(page, view)
    for note in view.notes:
        page.say(note)
    for other in content.figures[1:]:
        for note in other.notes:
            if other.answer.reference.label == view.answer.reference.label and note not in view.notes:
                page.say(note, lead=f"{other.answer.basis.capitalize()}:")
    page.subsection("The figures on every basis and against every reference period")
    page.table(BASIS_COLUMNS, every_basis(content))
    same = [one for one in content.figures if one.answer.reference.label == view.answer.reference.label]
    for one in same:
        only = ", of the weighted parts only" if one.is_of_weighted_only and not one.is_withheld else ""
        page.subsection(f"Composition {one.basis_words}{only}", 220)
        composition(page, one)
        page.subsection(f"Visibility {one.basis_words}{only}", 135)
        visibility(page, one)
    elsewhere(page, content)
    masses(page, content)
    survivals(page, content, view)


def survivals(page: Numbered, content: Statement, view: FigureView) -> None:
    found = [one for one in content.survival if not (view.is_withheld and one.basis == "mass")]
    if found:
        page.subsection("Survival")
    for survival in found:
        page.say(survival_words(survival))


def said_of(page: Numbered, view: FigureView) -> None:
    """The bounds, then the question with the counts beside them, then why there is no figure if there is none."""
    for bounds in (view.whole, view.own) if view.whole_first else (view.own, view.whole):
        if bounds is not None:
            page.say(_bounds_words(bounds), "lead", lead=f"{bounds.label}:")
    page.say(_sentence(view.caption))
    if view.no_figure:
        page.say(view.no_figure)
        page.say(_status_counts(view))


def _bounds_words(bounds: BoundsView) -> str:
    best = f"; best {bounds.best_words}" if bounds.best_words else ""
    return f"{bounds.words}{best}{f', {bounds.likely_words}' if bounds.likely_words else ''}."


def survival_words(survival: Survival) -> str:
    if survival.low is None or survival.high is None:
        return f"{_shares(survival)} No bounds, for nothing is weighted."
    bounds = f"{shown_low(survival.low)} to {shown_high(survival.high)}{NBSP}%"
    return f"With this vehicle {bounds}. {_shares(survival)}"


def composition(page: Numbered, view: FigureView) -> None:
    if not view.composition:
        page.say("Not given, as no percentage is." if view.is_withheld else "Nothing has a weight.")
        return
    sheet = composition_bar(
        view.shares, size="large", width=WIDTH / SCALE, title=f"Composition {view.basis_words}"
    )
    page.paper.add(Picture.of(sheet, page.paper.tree), page.paper.space(4))
    rows: list[Row] = [
        [status_mark(row.mark.code), row.words, row.weight_text, row.percent_text] for row in view.composition
    ]
    rows.append(Total(["", "Together", view.total_text, "100.0"]))
    page.table(
        [Column("Code", 20), Column("What it is", 100), Column(view.unit, 26, True), Column("%", 0, True)],
        rows,
    )


def visibility(page: Numbered, view: FigureView) -> None:
    if not view.visibility:
        page.say("Not given, as no percentage is.")
        return
    columns = [
        Column("Seen", 26),
        Column("Made of", 65),
        Column("Bounds, %", 23, True),
        Column("Best", 16, True),
        Column("Assessed, %", 24, True),
        Column(view.unit, 0, True),
    ]
    rows: list[Row] = []
    for row in view.visibility:
        words = (row.words, Small(row.parts))
        if row.bounds is None:
            rows.append([words, "nothing weighted", NOTHING, NOTHING, row.assessed_text, row.weight_text])
            continue
        bar = composition_bar(row.shares, size="table", width=172 / SCALE, title=f"{row.words}, made of")
        rows.append(
            [words, bar, bold(row.bounds.short), row.bounds.best_text, row.assessed_text, row.weight_text]
        )
    page.table(columns, rows)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:] + ("" if words.endswith(".") or not words else ".")


def _status_counts(view: FigureView) -> str:
    """``46 parts: original 6, restored 0, …`` for where no percentage may be given."""
    if not view.figures.items:
        return ""
    words = [f"{STATUSES[one.status].words.lower()} {one.number:,}" for one in view.statuses]
    return f"{count_of(sum(one.number for one in view.statuses), 'part')}: {', '.join(words)}."
