"""Moving, taking away, exchanging; and putting a position elsewhere in the tree."""

from __future__ import annotations

from register.models import Part, Position
from register.services.structure_choices import (
    empty_positions,
    fitted_parts,
    parts_lying_about,
    places_above,
    standing_of,
)
from register.services.structure_moves import plan_exchange, plan_move, plan_taking
from register.services.structure_positions import plan_placing
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


def moved(part: Part, texts: Texts) -> list[Section]:
    standing = standing_of(part)
    suggested = empty_positions(standing.position)
    fields = [
        text_field(
            "position_id",
            "To which position",
            texts.get("position_id", ""),
            hint="Its id. Suggested are positions in which nothing is fitted.",
            example=suggested[0][0] if suggested else "HAR-CHIMNEY",
            required=True,
            suggestions=suggested,
        ),
        date_field(texts, "The day it came there."),
        *with_everything(standing.on_it, texts),
        why_field(
            texts, needed=False, hint="Kept with the installation and in the history. May be left empty."
        ),
    ]
    return [Section(fields)]


def taken(part: Part, texts: Texts) -> list[Section]:
    standing = standing_of(part)
    value = texts.get("comes_out") or "yes"
    belongs = (
        ("yes", "No: it has come out of its position for good"),
        ("no", "Yes: it is away for a while, for repair or on loan"),
    )
    fields = [
        choice_field(
            "place_id",
            "To which place",
            texts.get("place_id", ""),
            place_options("Choose one"),
            hint="A store, a shed, another works. Places are added under Places.",
            kind="select",
        ),
        text_field(
            "with_part",
            "Or to lie with another part",
            texts.get("with_part", ""),
            hint="The id of that part: fittings may lie with their boiler.",
            example="BO-001",
            suggestions=parts_lying_about(part),
        ),
        date_field(texts, "The day it was taken there.", "3 May 2026"),
        text_field(
            "due_back",
            "Due back",
            texts.get("due_back", ""),
            hint="May be left empty.",
            example="Spring 2027",
            column=("movements", "due_back"),
        ),
        *(
            [
                choice_field(
                    "comes_out",
                    "Does it still belong in its position?",
                    value,
                    belongs,
                    hint=f"Its position is {standing.position.name}.",
                )
            ]
            if standing.position
            else []
        ),
        *with_everything(standing.on_it, texts),
        why_field(texts, needed=False, hint="Kept with the movement and in the history. May be left empty."),
    ]
    return [Section(fields)]


def exchanged(part: Part, texts: Texts) -> list[Section]:
    standing = standing_of(part)
    suggested = fitted_parts(part, standing.position)
    fields = [
        text_field(
            "other_id",
            "With which part",
            texts.get("other_id", ""),
            hint="Its id. Suggested are parts that are fitted, those of the same name first.",
            example=suggested[0][0] if suggested else "WH-002",
            required=True,
            suggestions=suggested,
        ),
        date_field(texts, "The day on which both were in their new places."),
        choice_field(
            "with_everything",
            "What is fitted on the two",
            texts.get("with_everything") or "yes",
            (("yes", "It goes with them"), ("no", "It stays where it is")),
        ),
        why_field(
            texts, needed=False, hint="Kept with the installations and in the history. May be left empty."
        ),
    ]
    return [Section(fields)]


def placed(position: Position, texts: Texts) -> list[Section]:
    now = position.parent.code if position.parent else ""
    fields = [
        text_field(
            "parent_id",
            "Under which position",
            texts.get("parent_id", now),
            hint="Its id. Empty: at the top, under the vehicle itself.",
            example=now,
            suggestions=places_above(position),
        ),
        why_field(texts, needed=False),
    ]
    return [Section(fields)]


MOVE = Verb(
    "refit-part",
    "Fit in another position",
    "It comes out of its position and is fitted in another, on the same day. It stays the same part.",
    moved,
    lambda part, texts: plan_move(
        part_id=part.code,
        position_id=texts.get("position_id", ""),
        on=texts.get("on", ""),
        with_everything=goes_along(texts),
        why=texts.get("why", ""),
    ),
    "Fitted in its other position.",
    {"position_id": ("installations", "position_id"), "on": ON},
    {"position_id": "say where to: the id of a position.", "on": SAY_WHEN},
)
TAKE = Verb(
    "take-part",
    "Take out, to a place",
    "It comes out of its position and goes to a store, a shed, another works, or to lie with another part.",
    taken,
    lambda part, texts: plan_taking(
        part_id=part.code,
        on=texts.get("on", ""),
        place_id=texts.get("place_id", ""),
        with_part=texts.get("with_part", ""),
        due_back=texts.get("due_back", ""),
        comes_out=texts.get("comes_out") == "yes",
        with_everything=goes_along(texts),
        why=texts.get("why", ""),
    ),
    "Recorded where it is.",
    {
        "place_id": ("movements", "place_id"),
        "with_part": ("movements", "with_part"),
        "on": ON,
        "due_back": ("movements", "due_back"),
    },
    {"on": SAY_WHEN},
)
EXCHANGE = Verb(
    "exchange-parts",
    "Exchange with another part",
    "The two change places on one day: each leaves its position as the other arrives. Wheels, boilers and buffers went from vehicle to vehicle so.",
    exchanged,
    lambda part, texts: plan_exchange(
        part_id=part.code,
        other_id=texts.get("other_id", ""),
        on=texts.get("on", ""),
        with_everything=goes_along(texts),
        why=texts.get("why", ""),
    ),
    "Exchanged.",
    {"other_id": PART, "on": ON},
    {"other_id": "say which part: its id.", "on": SAY_WHEN},
)
PLACE_UNDER = Verb(
    "move-position",
    "Put under another position",
    "The position goes to another place in the tree, with everything below it. What is fitted where stays as it is.",
    placed,
    lambda position, texts: plan_placing(position_id=position.code, parent_id=texts.get("parent_id", "")),
    "Moved.",
    {"parent_id": ("positions", "parent_id")},
    table="positions",
)
