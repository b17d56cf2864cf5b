"""Everything read from one line (or one portion of it) before rows are made: amounts, dates, status, what
is asked."""

from __future__ import annotations

from dataclasses import dataclass, field

from register.exchange.flat_list.amounts import Reading, WhenReading, read_quantity, read_weight, read_when
from register.exchange.flat_list.answers import Context
from register.exchange.flat_list.cues import Cues, cues_of
from register.exchange.flat_list.facts import testimonies_of
from register.exchange.flat_list.roles import FITTED, MASS, MASS_EACH, MASS_TOTAL, QUANTITY, STATUS, fold
from register.exchange.flat_list.splitting import Portion, counted
from register.exchange.flat_list.status_words import ASK, NOT_ASSESSED, ORIGINAL, WEAR, meaning_of
from register.exchange.flat_list.things import Thing
from register.exchange.flat_list.verdict import Verdict, verdict
from register.fabric.dates import HistoricDate, read_date


@dataclass(frozen=True, slots=True)
class LineFacts:
    """quantity: None where it is not known or not written; ``count`` says which. word, meaning: of the
    status."""

    thing: Thing
    cues: Cues
    word: str
    meaning: str
    quantity: int | None
    count: Reading
    weight: Reading
    when: WhenReading
    verdict: Verdict
    ident: str
    name: str
    portion: Portion | None = None
    mixed: list[tuple[int, str]] = field(default_factory=list)

    @property
    def fitted(self) -> HistoricDate | None:
        text = self.when.reading.text
        return read_date(text, as_built=True) if text else None


def facts_of(thing: Thing, context: Context) -> LineFacts:
    """What a line says, as a whole."""
    cues = cues_of(thing.read, is_cut=thing.read != thing.remark)
    word = thing.cell(STATUS)
    meaning = context.choices.words.get(fold(word)) or meaning_of(word)
    quantity, count = read_quantity(context.given(thing.ident, "how many") or thing.cell(QUANTITY))
    when = _when(thing.cell(FITTED), cues, context.given(thing.ident, "fitted"))
    mixed = counted(thing.read, quantity)
    found = _verdict(meaning, word, cues, when, context, disputed=_disputed(thing.read))
    if mixed:
        told = " and ".join(f"{number} {kind}" for number, kind in mixed)
        found = Verdict(
            "",
            f"the remark counts {told}",
            f"{_sum_of(mixed, quantity)}: {told}. One part or two, and which are which? Count again.",
        )
    meaning, found = _answered(meaning, found, context.given(thing.ident, "status"))
    return LineFacts(
        thing,
        cues,
        word,
        meaning,
        quantity,
        count,
        _weight(thing, context, quantity, context.given(thing.ident, "weight")),
        when,
        found,
        thing.ident,
        thing.name,
        None,
        mixed,
    )


def facts_of_portion(
    whole: LineFacts, portion: Portion, letter: str, context: Context, *, beside_original: bool
) -> LineFacts:
    """What a line says of one portion of its things. beside_original: whether another portion is said to be
    original, so that this one is not."""
    cues = cues_of(portion.words)
    word, meaning = _word_in(portion.words, context)
    if not word and beside_original:
        word, meaning = "not original", ASK
    year = next((piece for piece in portion.words.split() if len(piece) == 4 and piece.isdigit()), "")
    when = read_when(year) if year else whole.when
    thing, ident = whole.thing, f"{whole.thing.ident}{letter}"
    number, weighs = context.given(ident, "how many"), context.given(ident, "weight")
    many = portion.count
    if number:
        many, count = read_quantity(number)
        weight = _weight(thing, context, many, weighs, portion=True)
    elif portion.count is None:
        why = f"The list counts {thing.cell(QUANTITY)} in all. How many of them are {portion.label}?"
        count, weight = Reading(doubt=why, asked=why), Reading(doubt="it is not known how many there are")
    else:
        count, weight = Reading(str(portion.count)), _weight(thing, context, portion.count, weighs, portion=True)
    found = _verdict(meaning, word, cues, when, context)
    if meaning == NOT_ASSESSED:
        found = Verdict(
            "", "the remark does not say", f"“{portion.label} {portion.words}”: is this original?"
        )
    meaning, found = _answered(meaning, found, context.given(ident, "status"))
    return LineFacts(
        thing,
        cues,
        word,
        meaning,
        many,
        count,
        weight,
        when,
        found,
        ident,
        f"{thing.name}, {portion.label}",
        portion,
    )


def says_original(portion: Portion, context: Context) -> bool:
    return _word_in(portion.words, context)[1] == ORIGINAL


def _word_in(words: str, context: Context) -> tuple[str, str]:
    """The first word of a portion that the list's own choices (or common use) know, and its meaning."""
    for piece in fold(words).split():
        meaning = context.choices.words.get(piece) or meaning_of(piece)
        if meaning != ASK or piece in ("new", "n", "no", "rep", "copy"):
            return piece, meaning
    return "", NOT_ASSESSED


def _verdict(
    meaning: str, word: str, cues: Cues, when: WhenReading, context: Context, *, disputed: bool = False
) -> Verdict:
    text = when.reading.text
    fitted = read_date(text, as_built=True) if text else None
    return verdict(
        meaning,
        word,
        cues,
        disputed=disputed,
        later=text if context.after_built(fitted) else "",
        historic=text if context.may_be_historic(fitted) else "",
    )


def _disputed(remark: str) -> bool:
    return {said.supports for said in testimonies_of(remark)} >= {True, False}


def _sum_of(mixed: list[tuple[int, str]], quantity: int | None) -> str:
    total = sum(number for number, _ in mixed)
    return (
        f"{quantity} in all"
        if quantity == total or quantity is None
        else f"{quantity} in all, but {total} are counted"
    )


def _answered(meaning: str, found: Verdict, answer: str) -> tuple[str, Verdict]:
    """The meaning and the verdict, as somebody who was asked has it."""
    if not answer:
        return meaning, found
    pattern = found.pattern_basis if found.status == answer else ""
    status = "" if answer in (NOT_ASSESSED, WEAR) else answer
    return answer, Verdict(status, "as answered when the list was entered", pattern_basis=pattern)


def _when(cell: str, cues: Cues, answer: str = "") -> WhenReading:
    """A date beside words of buying may be that of the buying, so it is asked and not stored."""
    when = read_when(cell)
    if answer:
        return WhenReading(read_when(answer).reading, when.second)
    if cues.bought and when.reading.text:
        asked = (
            f"Is “{cell.strip()}” when it was bought or when it was fitted? The remark says “{cues.bought}”."
        )
        return WhenReading(Reading(doubt=asked, asked=asked, suggestion=when.reading.text))
    return when


def _weight(
    thing: Thing, context: Context, quantity: int | None, answer: str = "", *, portion: bool = False
) -> Reading:
    """answer: what somebody says that they weigh together."""
    if answer:
        return read_weight("", answer, "", quantity, counted=False)
    each, total, either = (thing.cell(role) for role in (MASS_EACH, MASS_TOTAL, MASS))
    units = tuple(
        context.choices.columns[index].unit if (index := context.choices.column(role)) is not None else ""
        for role in (MASS_EACH, MASS_TOTAL, MASS)
    )
    if portion:
        if not each and (total or either):
            return Reading(
                doubt="only the weight of all is given",
                asked=f"{total or either} is the weight of all: what do these weigh?",
            )
        total = either = ""
    return read_weight(each, total, either, quantity, counted=bool(thing.cell(QUANTITY)), units=units)  # type: ignore[arg-type]
