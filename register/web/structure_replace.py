"""Replacing a part by another of the register, or by a new one."""

from __future__ import annotations

from register.exchange.faults import Fault, Refused
from register.models import Part
from register.services.structure import Plan
from register.services.structure_choices import loose_parts, standing_of
from register.services.structure_replace import plan_replacement
from register.web.structure_fields import Section, Texts, choice_field, text_field, why_field
from register.web.structure_verbs import (
    ON,
    PART,
    SAY_WHEN,
    Verb,
    date_field,
    goes_along,
    place_options,
    with_everything,
)


def replaced(part: Part, texts: Texts) -> list[Section]:
    standing = standing_of(part)
    suggested = loose_parts(part)
    places = place_options("Not known, or not moved")
    became = (
        ("none", "Nothing: it is kept"),
        ("scrapped", "Scrapped"),
        ("destroyed", "Destroyed"),
        ("lost", "Lost"),
        ("transferred", "Transferred to another owner"),
    )
    return [
        Section([date_field(texts, "The day the one came out and the other went in.")]),
        Section(
            [
                text_field(
                    "by",
                    "A part of the register",
                    texts.get("by", ""),
                    hint="Its id. Suggested are parts that are fitted nowhere, those of the same name first.",
                    example=suggested[0][0] if suggested else "CH-002",
                    suggestions=suggested,
                )
            ],
            "What takes its place",
            "One of the two: a part that the register knows, or a new one.",
        ),
        Section(
            [
                text_field(
                    "new_id",
                    "Id of a new part",
                    texts.get("new_id", ""),
                    hint="Your short id for it.",
                    example="CH-003",
                ),
                text_field("new_name", "What it is", texts.get("new_name", ""), example=part.name),
                text_field(
                    "new_mass",
                    "Mass",
                    texts.get("new_mass", ""),
                    hint="Leave it empty until it is weighed or worked out.",
                    example="2 cwt 3 qr",
                    column=("parts", "mass"),
                ),
                text_field(
                    "new_made", "Made", texts.get("new_made", ""), example="2026", column=("parts", "made")
                ),
            ],
            "Or a new part",
            "It counts as not assessed until you assess it.",
        ),
        Section(
            [
                choice_field(
                    "place_id", "Where what comes out goes", texts.get("place_id", ""), places, kind="select"
                ),
                choice_field(
                    "disposal", "What became of it", texts.get("disposal") or "none", became, kind="select"
                ),
                *with_everything(standing.on_it, texts),
                why_field(
                    texts,
                    needed=False,
                    hint="Kept with the installations and in the history. May be left empty.",
                ),
            ],
            "What comes out",
        ),
    ]


def _replacement(part: Part, texts: Texts) -> Plan:
    new = {
        name: texts.get(f"new_{name.removeprefix('part_')}", "").strip()
        for name in ("part_id", "name", "mass", "made")
    }
    given = {name: text for name, text in new.items() if text}
    if given and texts.get("by"):
        sentence = "it is either a part of the register or a new one: leave one of the two empty."
        raise Refused([Fault("parts", None, "by", "", sentence)])
    return plan_replacement(
        part_id=part.code,
        on=texts.get("on", ""),
        by=texts.get("by", ""),
        new={"part_id": "", "name": "", **given} if given else None,
        place_id=texts.get("place_id", ""),
        disposal=texts.get("disposal", ""),
        with_everything=goes_along(texts),
        why=texts.get("why", ""),
    )


REPLACE = Verb(
    "replace-part",
    "Replace by another part",
    "It comes out of its position for good, and another part is fitted there on the same day.",
    replaced,
    _replacement,
    "Replaced.",
    {
        "by": PART,
        "on": ON,
        "place_id": ("movements", "place_id"),
        "disposal": ("parts", "disposal"),
        "new_id": ("parts", "part_id"),
        "new_mass": ("parts", "mass"),
        "new_made": ("parts", "made"),
        "new_name": ("parts", "name"),
    },
    {"on": SAY_WHEN},
    {"part_id": "new_id", "name": "new_name"},
)
