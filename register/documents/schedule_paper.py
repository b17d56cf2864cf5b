"""A schedule of figures as a PDF, in the look of the statement."""

from __future__ import annotations

from register.documents.chart_models import Sheet as Drawing
from register.documents.escape import bold
from register.documents.figure_words import NBSP
from register.documents.pdf import HEAVY, HEIGHT, WIDTH, Paper, Sheet
from register.documents.pdf_charts import SCALE, Picture
from register.documents.pdf_tables import NOTHING, Column, Group, Row, Small, table, title_block
from register.documents.schedule import Entry, Line, Schedule, lines_of, summary_of
from register.documents.schedule_charts import CHARTS
from register.documents.schedule_words import MAY_NOT, notes_beside, paragraph
from register.documents.statement_words import METHOD
from register.fabric.dates import day_in_words

HEAD = "Schedule of figures"
LEAD = (
    "Retained original fabric, before, after the works proposed and after completion, all worked out by the same method from"
    " the same register. Bounds come first: they hold whatever the parts that are not assessed turn out to be."
)
NOT_ISSUED = (
    "This schedule is about fabric and provenance only. It is not an issued statement: nothing in it is frozen. It does not"
    " show that a vehicle, or any part of one, is fit or safe to run."
)
FIGURES = [
    Column("State, and of which parts", 50),
    Column("Bounds, %", 20, True),
    Column("Best", 16, True),
    Column("Assessed, %", 21, True),
    Column("Parts", 12, True),
    Column("Unweighted", 23, True),
    Column("Change, points", 0),
]

SUMMARY = [
    Column("Vehicle, measured against", 56),
    Column("Before, %", 22, True),
    Column("Proposed, %", 24, True),
    Column("Completed, %", 25, True),
    Column("Assessed, %", 22, True),
    Column("Unweighted", 0, True),
]


def render_schedule(schedule: Schedule) -> bytes:
    """A tagged PDF of A4 pages; the same content gives the same bytes."""
    run = schedule.run
    paper = Paper(
        Sheet(
            title=f"{HEAD}: {schedule.names}",
            day=run.at.date(),
            railway=run.railway,
            head=HEAD,
            status="",
            foot=(schedule.names, f"As at {day_in_words(schedule.day)}"),
        )
    )
    _front(paper, schedule)
    for entry in schedule.entries:
        _vehicle(paper, entry, schedule)
    _claims(paper)
    _method(paper)
    _again(paper, schedule)
    return paper.finished()


def _front(paper: Paper, schedule: Schedule) -> None:
    run = schedule.run
    paper.add(*paper.heading(HEAD, "title"), *paper.words(_named(schedule), "lead"), *paper.words(LEAD), paper.rule(HEAVY))
    made = f"version {run.method_version}, {run.software_version}"
    paper.add(
        *title_block(
            paper,
            [
                [
                    ("As at", day_in_words(schedule.day).replace(" ", NBSP)),
                    ("Headline", f"by {schedule.basis}"),
                    ("Method, software", made),
                ],
                [
                    ("Run", run.minute),
                    ("By", run.by),
                    ("Change of the register", f"{run.change_no}"),
                ],
                [("", NOT_ISSUED)],
            ],
        ),
        paper.space(6),
    )
    for sentence in schedule.sentences:
        paper.add(*paper.words(sentence))
    if len(schedule.entries) > 1:
        paper.add(*paper.heading("The headline of each", "subsection"))
        paper.add(*table(paper, SUMMARY, [_summary(one, schedule) for one in schedule.entries]))
        paper.add(*paper.words("In the order of their ids, which is no ranking.", "note"))


def _named(schedule: Schedule) -> str:
    return f"{', '.join(one.name for one in schedule.entries)}."


def _summary(entry: Entry, schedule: Schedule) -> Row:
    found = summary_of(entry, schedule.basis)
    name = (entry.name, Small(f"{entry.vehicle_id}, {entry.reference or 'no such reference period'}"))
    return [name, *map(bold, found.bounds), found.assessed, found.unweighted]


def _vehicle(paper: Paper, entry: Entry, schedule: Schedule) -> None:
    paper.add(*paper.heading(entry.name))
    if entry.missing:
        paper.add(*paper.words(entry.missing))
        return
    paper.add(*paper.words(f"{entry.vehicle_id}, measured against {entry.reference}."))
    for work in entry.works:
        paper.add(*paper.words(work, lead="Works:"))
    paper.add(*paper.heading("In plain words", "subsection"))
    paper.add(*title_block(paper, [[("", paragraph(entry, schedule))]]))
    for chart in CHARTS.values():
        paper.add(paper.space(8), _picture(paper, chart(entry, schedule, WIDTH / SCALE)))
    paper.add(*paper.heading("Every figure", "subsection"), *table(paper, FIGURES, _rows(entry, schedule)))
    for note in _notes(entry, schedule):
        paper.add(*paper.words(note, "note"))
    hashes: list[Row] = [[one.label, one.data_hash] for one in entry.drawn]
    if hashes:
        paper.add(*table(paper, [Column("Figures", 58), Column("Data hash (SHA-256 of the inputs)", 0)], hashes))


def _picture(paper: Paper, chart: Drawing) -> Picture:
    """As wide as the text, or narrower where it would be higher than a page."""
    return Picture.of(chart, paper.tree, room=min(WIDTH, chart.width * (HEIGHT - 12) / chart.height))


def _rows(entry: Entry, schedule: Schedule) -> list[Row]:
    rows: list[Row] = []
    for basis in schedule.bases:
        lines = lines_of(entry, basis)
        head = f"By {basis}{', the headline' if basis == schedule.basis else ''}"
        if lines:
            rows += [Group([head, *[""] * (len(FIGURES) - 1)]), *map(_row, lines)]
    for state in entry.told:
        if not state.views:
            rows.append([(state.label, Small(state.missing)), *[NOTHING] * (len(FIGURES) - 2), ""])
    return rows


def _row(line: Line) -> Row:
    name = (line.state.label, Small(f"of {line.of}"))
    bounds = bold(line.bounds.short) if line.bounds else NOTHING
    return [
        name,
        bounds,
        line.best_text,
        line.assessed_text,
        line.parts,
        line.view.unweighted,
        line.change or NOTHING,
    ]


def _notes(entry: Entry, schedule: Schedule) -> list[str]:
    """Each said once, however many figures it stands beside."""
    found = [note for basis in schedule.bases for line in lines_of(entry, basis) for note in notes_beside(line)]
    return list(dict.fromkeys(found))


def _claims(paper: Paper) -> None:
    paper.add(*paper.heading("What may not be claimed"), *paper.items(MAY_NOT))


def _method(paper: Paper) -> None:
    paper.add(*paper.heading("How it is worked out"))
    for lead, words in METHOD:
        paper.add(*paper.words(words, lead=lead))


def _again(paper: Paper, schedule: Schedule) -> None:
    run = schedule.run
    paper.add(*paper.heading("The same schedule again"))
    paper.add(
        *paper.words(
            "Nothing of a schedule is stored. The address and the command below give the same choices; for another day,"
            " change the day in them. The data hash tells whether the records behind a figure are still the same."
        )
    )
    rows: list[Row] = [["Address", run.address], ["Command", run.command]]
    rows += [["Register", run.register_id], ["Run at", run.at.isoformat(timespec="seconds")]]
    paper.add(*table(paper, [Column("", 34), Column("", 0)], rows))
