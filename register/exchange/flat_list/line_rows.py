"""From what was read of a line to drafts of rows, with every doubt at its cell and every question beside
it."""

from __future__ import annotations

from collections.abc import Mapping

from register.exchange.flat_list.amounts import Reading, read_when
from register.exchange.flat_list.answers import Context
from register.exchange.flat_list.facts import (
    date_mark_of,
    hazards_of,
    marks_disagree,
    marks_of,
)
from register.exchange.flat_list.line_facts import LineFacts
from register.exchange.flat_list.results import Question, RowDraft
from register.exchange.flat_list.roles import (
    MADE,
    MAKER,
    MARKS,
    MATERIAL,
    PLACE,
    VISIBILITY,
    fold,
)
from register.exchange.flat_list.status_words import (
    MODERN,
    NO_ANSWER,
    ON_THE_VEHICLE,
    REPLICA,
    SAFETY_OF_SECTION,
    VISIBLE,
    WEAR,
)
from register.fabric.dates import AS_BUILT

ASBESTOS = (
    "Is it asbestos? Until a competent person has said, treat it as if it were: leave it where it is, do not "
    "touch, cut or sample it, and follow the local rules."
)
HAZARD = (
    "The remark names it. Before rubbing down, cutting or burning: the usual cautions and the local rules."
)


class LineRows:
    """The rows and questions of one thing. ``undated``: it is entered by the day of the list;
    ``draft_waits_for_day``: it would be assessed if there were one."""

    def __init__(self, facts: LineFacts, context: Context) -> None:
        self.facts = facts
        self.thing = facts.thing
        self.remark = facts.portion.words if facts.portion else facts.thing.read
        self.context = context
        self.rows: list[RowDraft] = []
        self.questions: list[Question] = []
        self.places: list[RowDraft] = []
        self.part_id = context.id(facts.ident)
        self.position_id = context.id(f"P{facts.ident}")
        self.draft_waits_for_day = False
        self.undated = False

    def given(self, about: str) -> str:
        """What somebody answered, "" where nobody has."""
        return self.context.given(self.facts.ident, about)

    def is_loose(self) -> bool:
        """In no position: a spare, or something kept elsewhere."""
        place = fold(self.thing.cell(PLACE))
        return self.facts.cues.is_loose or bool(
            place and place not in ON_THE_VEHICLE and place not in NO_ANSWER
        )

    def add(
        self, table: str, values: Mapping[str, str], doubts: Mapping[str, str] | None = None, tell: str = ""
    ) -> None:
        kept = {column: text for column, text in values.items() if text}
        key = f"{table}:{tell or self.facts.ident}"
        self.rows.append(
            RowDraft(
                key,
                table,
                kept,
                self.thing.line,
                {column: why for column, why in (doubts or {}).items() if why},
            )
        )

    def ask(self, about: str, text: str, said: str = "", suggestion: str = "") -> None:
        key = f"{self.context.id(self.facts.ident)} {about}"
        if text and key not in {question.key for question in self.questions}:
            self.questions.append(
                Question(
                    key,
                    about,
                    text,
                    said or self.thing.remark,
                    suggestion,
                    self.thing.line,
                    self.thing.number,
                    self.facts.name,
                )
            )

    # --- where it belongs, and what it is -----------------------------------------------------------------

    def position(self) -> None:
        visibility, doubt = self.visibility()
        section = self.thing.section
        safety = next((word for stem, word in SAFETY_OF_SECTION if stem in fold(section)), "")
        self.add(
            "positions",
            {
                "position_id": self.position_id,
                "vehicle_id": self.context.vehicle,
                "parent_id": self.context.ids.of("positions", section) if section else "",
                "name": self.facts.name,
                "visibility": visibility,
                "wear_part": "yes" if self.facts.meaning == WEAR else "",
                "safety": safety,
            },
            {"visibility": doubt},
        )

    def visibility(self) -> tuple[str, str]:
        cell = self.thing.cell(VISIBILITY)
        answer = self.given("visibility")
        if answer:
            return answer, ""
        if cell:
            known = VISIBLE.get(fold(cell))
            if known:
                return known, ""
            self.ask(
                "visibility",
                f"Is it in view, seen on close inspection, or hidden? “{cell}” does not say.",
                cell,
            )
            return self.context.choices.visibility, f"the list says “{cell}”"
        if self.facts.cues.hidden:
            return "hidden", f"from “{self.facts.cues.hidden}” in the remark"
        return self.context.choices.visibility, ""

    def part(self, disposal: str = "", disposal_date: str = "", disposal_doubt: str = "") -> None:
        facts, thing, cues = self.facts, self.thing, self.facts.cues
        marks = self.marks()
        hazards = hazards_of(thing.item, self.remark, thing.cell(MATERIAL))
        material = thing.cell(MATERIAL) or cues.material
        name = (
            facts.name if facts.quantity or not facts.count.doubt else f"{facts.name} (how many is not known)"
        )
        made = self.date_in(MADE, "made")
        doubts = {
            "quantity": facts.count.doubt,
            "mass": facts.weight.doubt or (self.doubt_of_mixed_weight() if self.is_mixed() else ""),
            "made": made.doubt,
            "marks": self.marks_doubt(marks),
            "material": f"from “{cues.material}” in the remark"
            if material and not thing.cell(MATERIAL)
            else "",
            "disposal_date": disposal_doubt,
            "hazards": ASBESTOS if "asbestos" in hazards else HAZARD if hazards else "",
        }
        self.add(
            "parts",
            {
                "part_id": self.part_id,
                "name": name,
                "material": material,
                "made": made.text,
                "maker": thing.cell(MAKER),
                "marks": "; ".join(marks),
                "date_mark": self.date_mark(),
                "quantity": facts.count.text,
                "mass": facts.weight.text,
                "hazards": ";".join(hazards),
                "disposal": disposal,
                "disposal_date": disposal_date,
                "remarks": self.remarks(),
            },
            doubts,
        )
        self.ask("how many", facts.count.asked)
        self.ask("weight", facts.weight.asked, suggestion=facts.weight.suggestion)
        self.ask("made", made.asked, thing.cell(MADE), made.suggestion)
        if "asbestos" in hazards:
            self.ask("hazard", ASBESTOS)

    def remarks(self) -> str:
        """The remark word for word, below it the line as it stood, and what somebody answered about it."""
        start = f"{self.context.id(self.facts.ident)} "
        answers = [
            f"Answered when it was entered, {key.removeprefix(start)}: {text}"
            for key, text in sorted(self.context.answers.given.items())
            if key.startswith(start)
        ]
        told = (self.thing.remark, f"From the list: {self.thing.said}.", *answers)
        return "\n".join(text for text in told if text)

    def is_mixed(self) -> bool:
        return any(word in fold(self.remark).split() for word in ("mixed", "various", "assorted"))

    def doubt_of_mixed_weight(self) -> str:
        weight, several = self.facts.weight.text, (self.facts.quantity or 1) > 1
        return f"Is {weight} the weight of one or of all {self.facts.quantity}?" if weight and several else ""

    def marks(self) -> list[str]:
        found = [self.thing.cell(MARKS)] if self.thing.cell(MARKS) else []
        return found + [mark for mark in marks_of(self.remark) if mark not in found]

    def marks_doubt(self, marks: list[str]) -> str:
        if not marks_disagree(marks):
            return "from the remark" if marks and not self.thing.cell(MARKS) else ""
        told = f"The marks {', '.join(marks)} do not agree: which vehicle's are they? Both are kept."
        self.ask("marks", told)
        return told

    def date_mark(self) -> str:
        return date_mark_of(self.remark) if self.facts.verdict.status in (REPLICA, MODERN) else ""

    def date_in(self, role: str, what: str) -> Reading:
        """Of a column in which "as built" makes no sense."""
        cell = self.given(what) or self.thing.cell(role)
        reading = read_when(cell, what).reading
        if reading.text != AS_BUILT:
            return reading
        asked = f"When was it {what}? “{cell}” is no date for that."
        return Reading(doubt=asked, asked=asked)
