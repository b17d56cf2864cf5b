"""What can be done to the structure, each a row of a table: its words, its fields, its plan.

A verb asks for texts, makes a plan of them, and says where a fault of the plan belongs. The pages
(``register.web.structure``) are the same for all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from register.exchange.faults import Refused
from register.services.structure import Plan
from register.services.structure_choices import Choice, all_places
from register.web.structure_fields import Column, Field, Section, Texts, choice_field, read_faults, text_field

Subject = Any
"""The part or the position that the page is about."""

ON: Column = ("movements", "moved_on")
WHY: Column = ("movements", "reason")
PART: Column = ("installations", "part_id")
SAY_WHEN = "say when, even roughly, such as March 1937."


@dataclass(frozen=True)
class Verb:
    """One thing to do. name: of its page; heading: words for the page; lead: what it is for;
    ask: its sections of fields, filled; plan: raises Refused; columns, needed: what may and what must stand
    in a field; where: a fault's column to the field it belongs to; done: the words afterwards."""

    name: str
    heading: str
    lead: str
    ask: Callable[[Subject, Texts], list[Section]]
    plan: Callable[[Subject, Texts], Plan]
    done: str
    columns: Mapping[str, Column] = field(default_factory=dict)
    needed: Mapping[str, str] = field(default_factory=dict)
    where: Mapping[str, str] = field(default_factory=dict)
    table: str = "parts"

    def planned(self, subject: Subject, texts: Texts) -> Plan:
        """The plan, or Refused with everything that is wrong with the texts by themselves first."""
        faults = read_faults(texts, {**self.columns, "why": WHY}, self.needed)
        if faults:
            raise Refused(faults)
        return self.plan(subject, texts)


def date_field(texts: Texts, what: str, example: str = "March 1937") -> Field:
    """When it happened; said again as it was read."""
    hint = f"{what} As well as it is known; a year will do."
    return text_field("on", "When", texts.get("on", ""), hint=hint, example=example, required=True, column=ON)


def place_options(first: str) -> list[Choice]:
    """Every place, after words for none."""
    return [("", first), *((code, f"{name} ({code})") for code, name in all_places())]


def with_everything(on_it: list[Choice], texts: Texts) -> list[Field]:
    """What becomes of what is fitted on the part; nothing is asked where nothing is."""
    if not on_it:
        return []
    named = ", ".join(f"{code} {name}" for code, name in on_it[:4])
    more = f" and {len(on_it) - 4} more" if len(on_it) > 4 else ""
    options = (("yes", "It goes with it"), ("no", "It stays where it is"))
    value = texts.get("with_everything") or "yes"
    return [
        choice_field("with_everything", "What is fitted on it", value, options, hint=f"Now: {named}{more}.")
    ]


def goes_along(texts: Texts) -> bool:
    """Whether what is fitted on a part goes with it."""
    return texts.get("with_everything", "yes") != "no"
