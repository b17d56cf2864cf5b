"""What a proposal asks, in the workshop's words: the sections of the form, of the blank sheet and of the paper.

The questions follow the trade's own list for a part that will not be seen: why, what else, how little, how it is undone,
who sees it, how it is told from old work, what becomes of what comes out, and the four tests of harm against benefit.
"""

from __future__ import annotations

from dataclasses import dataclass

WHY = ("safety", "law", "reliability", "unobtainable", "cost", "return to an earlier state")
"""Why the work is wanted."""

KINDS = (
    "do nothing",
    "reduce duty",
    "conserve in place",
    "repair by a traditional method",
    "repair by a modern method",
    "part from another vehicle",
    "new, like for like",
    "new and modern, in view",
    "new and modern, hidden",
    "recorded afterwards",
)
"""Ways to go. Doing nothing and like for like are always among the alternatives."""

NOTHING, LIKE_FOR_LIKE, AFTERWARDS = KINDS[0], KINDS[6], KINDS[9]

UNDO = ("fully", "with minor trace", "with loss", "irreversible")
"""How far the work can be undone."""

NOT_UNDONE = frozenset(UNDO[2:])


@dataclass(frozen=True, slots=True)
class Question:
    """kind: area, text or select. needed: before the proposal can be submitted."""

    name: str
    label: str
    kind: str = "area"
    hint: str = ""
    example: str = ""
    needed: bool = False
    options: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    key: str
    title: str
    questions: tuple[Question, ...]


SECTIONS = (
    Section(
        "need",
        "Why it is wanted",
        (
            Question("why", "Main reason", "select", needed=True, options=WHY),
            Question(
                "fails",
                "What fails, and the measurement",
                hint="what was seen or measured, when and by whom",
                example="Crown cracks up to 38 mm at the 2026 lift, four boxes of six",
                needed=True,
            ),
            Question(
                "rule",
                "Rule or requirement",
                "text",
                hint="the rule or the competent person's requirement, with its clause; leave empty where there is none",
            ),
            Question(
                "nothing",
                "If nothing is done",
                hint="what happens then, and how soon",
                example="Out of use within two seasons",
                needed=True,
            ),
        ),
    ),
    Section(
        "part",
        "The part as it is",
        (
            Question(
                "significance",
                "What the part is worth",
                hint="as evidence, for history, to look at, to people; “not known” is an answer",
                needed=True,
            ),
            Question(
                "known", "What is known of it", hint="its periods, marks and papers, and how sure that is"
            ),
            Question(
                "before", "Photographs and drawings before the work", hint="where they are and their numbers"
            ),
        ),
    ),
    Section(
        "harm",
        "Harm and benefit",
        (
            Question("necessary", "Is it demonstrably necessary?", needed=True),
            Question("harmless", "Is there no reasonable way without harm?", needed=True),
            Question(
                "minimised",
                "How is the harm kept as small as it can be?",
                hint="holes, cuts, welds",
                needed=True,
            ),
            Question("benefit", "Does the benefit to the public decisively outweigh it?", needed=True),
        ),
    ),
    Section(
        "removed",
        "What comes out",
        (
            Question(
                "leaving",
                "Original material that leaves",
                hint="in words; the register works out the mass",
                example="None but swarf; six boxes kept",
                needed=True,
            ),
            Question(
                "kept",
                "What becomes of it",
                hint="tag, store, condition, treatment, on what conditions it could go back; if it is not kept, who "
                "agreed and what sample or record is kept",
                needed=True,
            ),
        ),
    ),
    Section(
        "seen",
        "Who sees it, and what they are told",
        (
            Question(
                "seen_by",
                "Who sees the new work",
                hint="a visitor, the crew, a fitter with the cover off, nobody",
            ),
            Question(
                "public",
                "What the public page says",
                hint="what is new, why, and how it can be undone: two or three sentences",
                example="The oil pads in the axleboxes are new. The old ones are in the store and can go back in a day.",
                needed=True,
            ),
        ),
    ),
    Section(
        "papers",
        "Precedent, papers and safety",
        (
            Question(
                "precedent", "Precedent", hint="on which other vehicle, since when, and how it has served"
            ),
            Question("papers", "Drawings and quotations", hint="numbers and dates"),
            Question(
                "signoff_role",
                "Safety sign-off needed from",
                "text",
                hint="the role of the competent person; “none needed” is an answer",
                example="mechanical engineer",
                needed=True,
            ),
            Question(
                "signoff",
                "Reference of the sign-off",
                "text",
                hint="number of the paper only; the register never says that anything is fit to run",
            ),
        ),
    ),
)

QUESTIONS = {question.name: question for section in SECTIONS for question in section.questions}
LONGEST = 20_000


def section_of(key: str) -> Section | None:
    return next((one for one in SECTIONS if one.key == key), None)


def after(key: str) -> str:
    """The key of the section after this one, "" after the last."""
    keys = [one.key for one in SECTIONS]
    place = keys.index(key) + 1
    return keys[place] if place < len(keys) else ""
