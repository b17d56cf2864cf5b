"""What is asked of somebody who found something: one small question at a time, "not known" always an answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from register.fabric.vocabulary import MASS_BASIS, SOURCE_KINDS
from register.models import FindDraft

Options = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Ask:
    """One field of a question. kind: text, area, radio, select or checks. column: ``table.column`` of the exchange
    format that its text must suit, "" for none."""

    name: str
    label: str
    kind: str = "text"
    hint: str = ""
    example: str = ""
    options: Options = ()
    column: str = ""
    required: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """heading: what is asked. skips: (answer, words) of the buttons that leave the fields empty on purpose."""

    name: str
    heading: str
    hint: str
    fields: tuple[Ask, ...]
    skips: Options = (("not known", "Not known"),)


CLEAR: Options = (
    ("clear", "All of it is clear"),
    ("worn", "Some letters are worn"),
    ("guess", "I am guessing"),
)
SURE: Options = (("sure", "I am sure"), ("fairly", "I am fairly sure"), ("guess", "It is a guess"))
STATUS: Options = (
    ("original", "Original: it belonged to this vehicle, not materially renewed"),
    ("restored", "Restored: it belonged to this vehicle, with some new material"),
    ("replica", "Replica: made new to the old pattern"),
    ("modern substitute", "Modern substitute: made new or bought in, to another pattern"),
)
SAID_OF_CLEAR = {
    "clear": "all of it clear",
    "worn": "some letters worn",
    "guess": "partly guessed",
}
SAID_OF_SURE = {"sure": "sure", "fairly": "fairly sure", "guess": "a guess"}

WHAT = Question(
    "what",
    "What did you find?",
    "It need not fit anywhere yet.",
    (
        Ask(
            "name",
            "What is it?",
            example="Handrail knob, brass",
            column="parts.name",
            required=True,
        ),
        Ask(
            "said",
            "Where was it, and what is it said to be off?",
            "area",
            example="Loose in the stores, said to be off No. 4",
            column="parts.remarks",
        ),
    ),
    (),
)
MARKS = Question(
    "marks",
    "What marks can you read on it?",
    "Exactly as you see them. A full stop for each letter you cannot read. Do not scrape or rub paint to see more.",
    (
        Ask("marks", "Marks as read", example="S&HR 6 L D 1926", column="parts.marks"),
        Ask("where", "Where on the part?", example="Top leaf, outside face", column="parts.marks"),
        Ask("clear", "How clear is it?", "radio", options=CLEAR),
    ),
    (("none", "No marks"), ("not known", "Not known")),
)
MEASURED = Question(
    "measured",
    "How heavy is it, or how large?",
    "Only what you measured or read. Lifting and weighing are for competent people under the rules of your railway.",
    (
        Ask("mass", "Mass", example="2 cwt 3 qr 14 lb, or 40-44 kg", column="parts.mass"),
        Ask(
            "basis",
            "How is the mass known?",
            "radio",
            options=tuple((word, word.capitalize()) for word in MASS_BASIS),
            column="parts.mass_basis",
        ),
        Ask("size", "Dimensions, as measured", "area", example="3 ft 6 in long, 4 in wide, 3/8 in thick"),
    ),
)
WORK = Question(
    "work",
    "What was done to it?",
    "Repairs and renewals, now or long ago.",
    (
        Ask(
            "work",
            "What was done",
            "area",
            example="Rim built up by welding and turned",
            column="treatments.work",
        ),
        Ask(
            "date",
            "When",
            hint="Left empty: at some time up to now.",
            example="1998, or between 1985 and 1990",
            column="treatments.date",
        ),
        Ask("by", "By whom", example="the workshop", column="treatments.done_by"),
        Ask(
            "least",
            "How much of its material was replaced, at least",
            example="2%",
            column="treatments.replaced_low",
        ),
        Ask("most", "At most", example="10%", column="treatments.replaced_high"),
    ),
    (("none", "Nothing was done"), ("not known", "Not known")),
)
STATUS_QUESTION = Question(
    "status",
    "What do you think it is?",
    "It waits for the heritage officer, so an honest guess does no harm.",
    (
        Ask("status", "It is", "radio", options=STATUS, column="assessments.status"),
        Ask(
            "least",
            "How much of the old material is left in it, at least",
            hint="For a restored part. Old material is what was there before the repair.",
            example="60%",
            column="assessments.fraction_low",
        ),
        Ask("most", "At most", example="80%", column="assessments.fraction_high"),
        Ask(
            "since",
            "Since when has it been part of the vehicle?",
            hint="Left empty: since it was built.",
            example="1912, or before 1930",
            column="assessments.original_since",
        ),
        Ask(
            "to",
            "Which vehicle did it belong to first?",
            hint="The vehicle's id. Only where the part has been in several, or in none.",
            example="HAR",
            column="assessments.original_to",
        ),
    ),
)
WHY = Question(
    "why",
    "Why do you think so?",
    "What you saw that speaks for it, and what speaks against it.",
    (
        Ask(
            "why",
            "Your reasons",
            "area",
            example="The rivets have the old pitch; the edge is flame-cut",
            column="assessments.reason",
        ),
        Ask("sure", "How sure are you?", "radio", options=SURE),
    ),
)
KINDS: Options = (
    ("", "It is in the register already"),
    *((kind, f"New: {kind}") for kind in SOURCE_KINDS),
)
EVIDENCE = Question(
    "evidence",
    "What shows it?",
    "A drawing, a ledger, a photograph, somebody's memory. Add one after another; each may speak for it or against it.",
    (
        Ask(
            "source",
            "The source",
            hint="Its id, or what it is called.",
            example="S-004, or Works ledger 3",
            column="sources.title",
        ),
        Ask("kind", "Is it in the register?", "select", options=KINDS),
        Ask("locator", "Where in it", example="page 12, lower left", column="citations.locator"),
        Ask(
            "supports",
            "Does it speak for what you think?",
            "radio",
            options=(("yes", "It speaks for it"), ("no", "It speaks against it")),
        ),
    ),
    (("none", "No other evidence"), ("not known", "Not known")),
)
PICTURES = Question(
    "pictures",
    "Have you a picture of it?",
    "What you wrote is kept already, whatever becomes of the pictures. One of the whole part, one of each mark.",
    (),
    (("none", "No picture"),),
)
CAPTIONS = Question(
    "captions",
    "What do the pictures show?",
    "A few words each, for somebody who was not there.",
    (),
    (("not said", "Nothing to add"),),
)
"""Its fields are the pictures that are there: ``questions_for`` knows them."""

QUESTIONS = {
    question.name: question
    for question in (WHAT, MARKS, MEASURED, WORK, STATUS_QUESTION, WHY, EVIDENCE, PICTURES, CAPTIONS)
}
CHECK = "check"
"""The last step: everything once more, and then it is handed in."""
NEVER_COPIED = frozenset({WHAT.name, PICTURES.name, CAPTIONS.name})
"""Questions that the find before this one has no answer to."""


def pictures_of(draft: FindDraft) -> list[dict[str, str]]:
    """The pictures that the find holds, each with its name, sha256, ending and day."""
    return list(draft.answers.get(PICTURES.name, {}).get("rows", []))


def caption_field(picture: Mapping[str, str]) -> str:
    return f"caption-{picture['sha256'][:12]}"


def questions_for(draft: FindDraft) -> list[Question]:
    """The questions of a find, in their order: what it is, only where it is no part of the register yet; what the
    pictures show, only where there are some."""
    pictures = pictures_of(draft)
    asked = [question for name, question in QUESTIONS.items() if name != CAPTIONS.name]
    if draft.parts:
        asked.remove(WHAT)
    return [*asked, replace(CAPTIONS, fields=_captions(pictures))] if pictures else asked


def _captions(pictures: list[dict[str, str]]) -> tuple[Ask, ...]:
    return tuple(
        Ask(
            caption_field(one),
            "What it shows" if len(pictures) == 1 else f"What picture {number} shows",
            example="The mark on the top leaf" if number == 1 else "",
            column="photographs.caption",
        )
        for number, one in enumerate(pictures, 1)
    )
