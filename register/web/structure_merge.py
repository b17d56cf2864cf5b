"""Merging a duplicate: the part that it is, and a choice wherever the two differ."""

from __future__ import annotations

from dataclasses import replace

from register.exchange.faults import Refused
from register.models import Part
from register.services.structure import Plan
from register.services.structure_choices import parts_alike
from register.services.structure_clashes import KEEP, TAKE, Clash
from register.services.structure_merge import plan_merge, what_clashes
from register.services.structure_rows import typed
from register.web.structure_fields import Field, Section, Texts, choice_field, text_field, why_field
from register.web.structure_verbs import PART, Verb


def merged(part: Part, texts: Texts) -> list[Section]:
    suggested = parts_alike(part)
    fields = [
        text_field(
            "into_id",
            "Which part it is",
            texts.get("into_id", ""),
            hint=f"The id of the part that stays. {part.code} leads to it from then on.",
            example=suggested[0][0] if suggested else "CH-001",
            required=True,
            suggestions=suggested,
        )
    ]
    clashes = clashes_with(part, texts)
    sections = [Section(fields)]
    if clashes:
        asked = [_choice(part, clash, texts) for clash in clashes]
        hint = "Where only one of the two says something, it is kept without asking."
        sections.append(Section(asked, "Where the two differ", hint))
    hidden = Field("asked", "", "hidden", texts.get("into_id", ""), "", "", False)
    return [*sections, Section([hidden, why_field(texts, needed=True)])]


def clashes_with(part: Part, texts: Texts) -> list[Clash]:
    """What has to be chosen; nothing where no other part is named, or none that there is."""
    into = texts.get("into_id", "").strip()
    if not into or typed("installations", {"part_id": into})[1]:
        return []
    try:
        return what_clashes(duplicate_id=part.code, into_id=into)
    except Refused:
        return []  # the plan says why


def _choice(part: Part, clash: Clash, texts: Texts) -> Field:
    what = clash.question.partition(": ")[0].replace("_", " ")
    into = texts.get("into_id", "").strip()
    options = ((KEEP, f"As {into} says: {clash.kept}"), (TAKE, f"As {part.code} says: {clash.other}"))
    name = f"choice-{clash.key}"
    return choice_field(name, f"{what[:1].upper()}{what[1:]}", texts.get(name, ""), options)


def _merge_plan(part: Part, texts: Texts) -> Plan:
    choices = {
        name.removeprefix("choice-"): text for name, text in texts.items() if name.startswith("choice-")
    }
    try:
        return plan_merge(duplicate_id=part.code, into_id=texts.get("into_id", "").strip(), choices=choices)
    except Refused as refused:
        open_ones = {clash.key for clash in clashes_with(part, texts)}
        faults = [
            replace(one, column=f"choice-{one.column}", message="choose one of the two.")
            if one.column in open_ones
            else one
            for one in refused.faults
        ]
        raise Refused(faults) from None


MERGE = Verb(
    "merge-part",
    "Merge with the part that it is",
    "One object became two records. What is said of this one goes to the other, and its page leads there.",
    merged,
    _merge_plan,
    "Merged.",
    {"into_id": PART},
    {
        "into_id": "say which part it is: its id.",
        "why": "say why; whoever meets the old id later will read it.",
    },
    {"part_id": "into_id"},
)
