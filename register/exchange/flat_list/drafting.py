"""A whole list to drafts: what becomes of each line, the rows that belong to none, what is asked of the
whole."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from register.exchange.flat_list.answers import Context, ListAnswers
from register.exchange.flat_list.cues import says_see_above
from register.exchange.flat_list.facts import person_in, person_in_brackets, tare_of, testimonies_of, to_find
from register.exchange.flat_list.headings import heading_of
from register.exchange.flat_list.line_facts import LineFacts, facts_of, facts_of_portion, says_original
from register.exchange.flat_list.line_statements import rows_of
from register.exchange.flat_list.list_questions import (
    about_heritage,
    about_the_day,
    about_the_plate,
    about_visibility,
)
from register.exchange.flat_list.mapping import ListChoices, check
from register.exchange.flat_list.results import Drafted, LineOutcome, Question, RowDraft
from register.exchange.flat_list.roles import DONE_BY, MASS, MASS_EACH, MASS_TOTAL, STATUS, fold
from register.exchange.flat_list.shared_rows import SharedRows
from register.exchange.flat_list.sheet import Sheet, refuse
from register.exchange.flat_list.splitting import portions_of
from register.exchange.flat_list.status_words import GONE, NEVER_HAD, WEAR, meaning_of
from register.exchange.flat_list.things import (
    MAX_PREFIX,
    NamedIds,
    Thing,
    is_bare,
    things_of,
    with_ids,
    with_names,
)
from register.exchange.flat_list.wording import made_of
from register.exchange.values import read_id
from register.fabric.dates import AS_BUILT, day_in_words, span_of
from register.fabric.quantities import read_mass

PAINTWORK = ("paint", "paintwork", "painting", "livery", "varnish", "lining", "lettering", "repaint")
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def draft(
    sheet: Sheet, choices: ListChoices, answers: ListAnswers, remembered: Mapping[str, str] | None = None
) -> Drafted:
    """What the list amounts to. remembered: the ids of an earlier import of it (``Drafted.ids``).

    Nothing is guessed and nothing is lost: the remark of every line is in a part's remarks, in an event or in
    a question. Refused with a sentence where the choices cannot be used on this sheet.
    """
    check(sheet, choices)
    _check_answers(sheet, answers)
    return _Drafting(sheet, choices, answers).draft(remembered or {})


def _check_answers(sheet: Sheet, answers: ListAnswers) -> None:
    stem = answers.stem
    try:
        read_id(stem)
    except ValueError as sentence:
        refuse(sheet.name, f"The ids of a list begin with the id of its vehicle. {sentence}")
    if len(stem) > MAX_PREFIX:
        refuse(
            sheet.name,
            f"“{stem}” is too long for the beginning of ids: give one of at most {MAX_PREFIX} letters.",
        )
    built = span_of(answers.built) if answers.built else None
    if answers.day and built and answers.day.toordinal() < built.earliest:
        day = day_in_words(answers.day)
        refuse(sheet.name, f"The day of the list, {day}, is before she was built: correct one of them.")


class _Drafting:
    """The state of drafting one list."""

    def __init__(self, sheet: Sheet, choices: ListChoices, answers: ListAnswers) -> None:
        self.sheet = sheet
        self.choices = choices
        self.things = things_of(sheet, choices)
        self.title = heading_of(sheet, choices.first, choices.last).title
        people = frozenset(people_named(self.things, " ".join(self.title)))
        self.context = Context(answers, choices, NamedIds(answers.stem), people)
        self.shared = SharedRows(self.context)
        self.undated: list[str] = []
        self.waiting: list[str] = []

    def draft(self, remembered: Mapping[str, str]) -> Drafted:
        things, ids = with_ids(self.things, remembered)
        things = with_names(things)
        self.shared.vehicle()
        self.shared.list_source(self.title, self.sheet.name)
        for thing in things:
            if thing.section:
                self.shared.section(thing.section)
        lines = tuple(self.line(thing) for thing in things)
        return Drafted(lines, self.shared.rows, tuple(self.whole_list(things, lines)), ids)

    def whole_list(self, things: list[Thing], lines: tuple[LineOutcome, ...]) -> Iterator[Question]:
        yield from self.shared.questions
        yield from about_the_day(self.context, self.undated, self.waiting)
        yield from about_the_plate(self.context, things)
        yield from about_heritage(self.context, lines)
        yield from about_visibility(self.context, lines)

    def line(self, thing: Thing) -> LineOutcome:
        if thing.kind == "section":
            return _outcome(thing, "section", f"the assembly “{thing.item}”, a position without a part")
        if thing.kind == "heading":
            return LineOutcome(thing.line, "heading", made="left out: the heading again")
        if thing.kind == "blank" or not (thing.remark or thing.said):
            return LineOutcome(thing.line, "blank")
        if thing.kind == "total":
            return self.total(thing)
        if thing.kind == "note":
            asked = self.question(thing, "unclear", "This line names no item. What is it about?")
            return _outcome(thing, "unclear", "not entered: the line names no item", questions=[asked])
        if says_see_above(thing.remark) and is_bare(thing):
            return _outcome(thing, "see above", "no part: the line says that it is in another one")
        word = fold(thing.cell(STATUS))
        if (self.choices.words.get(word) or meaning_of(word)) == NEVER_HAD:
            return self.never_had(thing)
        if fold(thing.item).rstrip("?!. ") in PAINTWORK:
            return self.paintwork(thing)
        return self.part(thing)

    # --- lines that are no part ---------------------------------------------------------------------------

    def never_had(self, thing: Thing) -> LineOutcome:
        asked = self.question(
            thing,
            "never had",
            "The list says that she never had it. Do drawings or photographs say otherwise, and which are "
            "right?",
        )
        found = [
            self.question(thing, f"source {what}", f"“{what}” would be a source: where is it?")
            for what in to_find(thing.read)
        ]
        told = "no part and no position: the list says that she never had it"
        return _outcome(thing, "no part", told, questions=[asked, *found])

    def total(self, thing: Thing) -> LineOutcome:
        weight = thing.cell(MASS_TOTAL) or thing.cell(MASS) or thing.cell(MASS_EACH)
        told = "left out: a total, not a thing"
        if weight:
            try:
                read_mass(weight)
                told += f"; {weight} is only a check"
            except ValueError as sentence:
                told += f"; its weight is refused: {sentence}"
        return _outcome(thing, "total", told, questions=list(self.about_total(thing)))

    def about_total(self, thing: Thing) -> Iterator[Question]:
        tare = tare_of(thing.read)
        if tare:
            asked = (
                f"The tare painted on her, {tare[0]}, would be {tare[1]}. Is it old, or repainted? "
                "It would be her empty mass, and the lettering a source of the kind mark."
            )
            yield self.question(thing, "empty mass", asked, tare[1])
        elif thing.remark:
            yield self.question(thing, "total", "The line of totals has a remark: where does it belong?")

    def paintwork(self, thing: Thing) -> LineOutcome:
        """A livery is an event: paint wears, and its layers are evidence."""
        when = facts_of(thing, self.context).when.reading
        title = ": ".join(text for text in (thing.item, thing.remark) if text)
        if not when.text or when.text == AS_BUILT:
            asked = f"Paint is an event, and this one has no date. When was it done? {when.asked}".strip()
            found = [self.question(thing, "fitted", asked, when.suggestion)]
            return _outcome(thing, "event", "an event that waits for its date", questions=found)
        values = {"vehicle_id": self.context.vehicle, "date": when.text, "kind": "livery", "title": title}
        row = RowDraft(f"events:{thing.ident}", "events", values, thing.line)
        return _outcome(thing, "event", f"an event: livery, {when.text}", [row])

    # --- lines that are parts -----------------------------------------------------------------------------

    def part(self, thing: Thing) -> LineOutcome:
        facts = facts_of(thing, self.context)
        made = [rows_of(one, self.context) for one in self.portions(facts) or [facts]]
        for one in made:
            self.shared.take(one.places)
            self.undated += [one.part_id] if one.undated else []
            self.waiting += [one.part_id] if one.draft_waits_for_day else []
        self.shared.books(thing.read, thing)
        kind = "part"
        if len(made) > 1:
            kind = "split"
        elif made[0].is_loose():
            kind = "loose part"
        elif facts.meaning == GONE:
            kind = "lost part"
        rows = [row for one in made for row in one.rows]
        questions = [question for one in made for question in one.questions]
        return _outcome(thing, kind, made_of(kind, rows, thing.tell), rows, questions)

    def portions(self, whole: LineFacts) -> list[LineFacts]:
        """What is said of each portion, where the remark divides the line; [] where it does not."""
        portions = portions_of(whole.thing.read, whole.quantity) if whole.meaning not in (WEAR, GONE) else []
        if len(portions) > len(LETTERS):
            return []
        beside = any(says_original(portion, self.context) for portion in portions)
        return [
            facts_of_portion(whole, portion, letter, self.context, beside_original=beside)
            for portion, letter in zip(portions, LETTERS, strict=False)
        ]

    def question(self, thing: Thing, about: str, text: str, suggestion: str = "") -> Question:
        """About a line that is no part: everything that it says is kept here, word for word."""
        key = f"{self.context.id(thing.ident or f'line-{thing.line}')} {about}"
        told = "\n".join(text for text in (thing.remark, thing.said) if text)
        return Question(
            key, about, text, told, suggestion, thing.line, thing.number, thing.name or thing.item
        )


def people_named(things: Sequence[Thing], title: str) -> Iterator[str]:
    """Who the list says did the work, said something, or kept the list."""
    yield person_in_brackets(title)
    for thing in things:
        yield person_in(thing.cell(DONE_BY))
        yield from (said.who for said in testimonies_of(thing.read))


def _outcome(
    thing: Thing, kind: str, made: str, rows: Sequence[RowDraft] = (), questions: Sequence[Question] = ()
) -> LineOutcome:
    said = "; ".join(text for text in (thing.said, thing.remark) if text)
    name = thing.name or thing.item
    return LineOutcome(thing.line, kind, thing.number, name, said, made, tuple(rows), tuple(questions))
