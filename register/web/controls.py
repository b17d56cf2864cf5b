"""The controls of a figure: the day, the reference, the basis, the evidence, the wear parts. A GET form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from django.http import HttpRequest

from register.fabric.dates import DateError, day_in_words, read_day
from register.fabric.inputs import BASES
from register.services.vehicle_page import Question

FLOORS = (
    (0, "Any assessment"),
    (1, "Attributed or better"),
    (2, "Corroborated or better"),
    (3, "Documented only"),
)


@dataclass(frozen=True, slots=True)
class Controls:
    """The question, how it was typed, and what was wrong with it ("" if nothing)."""

    question: Question
    day_text: str
    error: str = ""

    @property
    def query(self) -> str:
        """The address part that asks the same again."""
        return urlencode(self.parameters())

    def parameters(self) -> dict[str, str]:
        asked = self.question
        found = {"as_at": asked.day.isoformat(), "basis": asked.basis}
        if asked.reference:
            found["reference"] = asked.reference
        if asked.evidence_floor:
            found["evidence"] = str(asked.evidence_floor)
        if asked.include_wear:
            found["wear"] = "yes"
        return found

    @property
    def floors(self) -> tuple[tuple[int, str], ...]:
        return FLOORS

    @property
    def bases(self) -> tuple[str, ...]:
        return BASES


def controls_from(request: HttpRequest, today: date) -> Controls:
    """What the address asks. A day that cannot be read is said, and today is shown."""
    return controls_of(request.GET, today)


def controls_of(data: Mapping[str, str], today: date) -> Controls:
    """The same of any parameters."""
    text, error, day = data.get("as_at", "").strip(), "", today
    if text:
        try:
            day = read_day(text)
        except DateError as sentence:
            error = str(sentence)
    basis = data.get("basis", "mass")
    floor = data.get("evidence", "0")
    question = Question(
        day,
        data.get("reference") or None,
        basis if basis in BASES else "mass",
        int(floor) if floor in {"0", "1", "2", "3"} else 0,
        data.get("wear") == "yes",
    )
    return Controls(question, text if error else day_in_words(day), error)
