"""Where one record becomes several, or several one: breaking down, joining, splitting."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from register.exchange.faults import Fault, Refused
from register.models import Part
from register.services.structure import Plan, free_ids
from register.services.structure_break import Child, plan_break_down
from register.services.structure_choices import standing_of
from register.services.structure_join import parts_on, plan_join
from register.services.structure_rows import typed
from register.services.structure_sets import plan_split
from register.web.structure_fields import (
    Field,
    Section,
    Texts,
    checks_field,
    choice_field,
    text_field,
    why_field,
)
from register.web.structure_verbs import Verb

FIRST_ROWS, MOST_ROWS = 3, 30
COLUMNS = {"part_id": "id", "name": "name", "quantity": "quantity", "mass": "mass", "position_id": "place"}
"""Columns at fault to the first half of a field's name; the second is the number of the row."""


# Breaking down: one row of fields a part


def number_of_rows(texts: Texts) -> int:
    """How many rows of fields the form has; one more where another was asked for."""
    asked = texts.get("rows", "")
    number = int(asked) if asked.isdecimal() and asked.isascii() and len(asked) < 4 else FIRST_ROWS
    return min(max(number + (texts.get("step") == "more"), 1), MOST_ROWS)


def _filled(texts: Texts) -> list[int]:
    """The numbers of the rows in which something is said; an id alone, which the form suggests, says nothing."""
    return [
        at
        for at in range(1, number_of_rows(texts) + 1)
        if any(texts.get(f"{name}-{at}", "").strip() for name in ("name", "mass", "place"))
    ]


def broken(part: Part, texts: Texts) -> list[Section]:
    places = standing_of(part).places
    rows = number_of_rows(texts)
    ids = iter(free_ids(table="parts", stem=part.code, number=rows + MOST_ROWS))
    typed_ids = {texts.get(f"id-{at}", "").lower() for at in range(1, rows + 1)}
    free = (code for code in ids if code.lower() not in typed_ids)
    found = []
    for at in range(1, rows + 1):
        code = texts.get(f"id-{at}") or next(free, "")
        legend = f"Part {at}"
        found.append(Section(list(_row(part, texts, at, code, places)), legend, in_a_row=True))
    return [*found, Section([why_field(texts, needed=False)])]


def _row(part: Part, texts: Texts, at: int, code: str, places: list[tuple[str, str]]) -> Iterator[Field]:
    """The fields of one part. Hints stand with the first row only."""

    def field(name: str, label: str, value: str, hint: str = "", example: str = "") -> Field:
        hint, example = (hint, example) if at == 1 else ("", "")
        return text_field(f"{name}-{at}", label, value, hint=hint, example=example)

    yield field("name", "What it is", texts.get(f"name-{at}", ""), "Its name.", "barrel")
    mass_hint = (
        "Empty: an equal share of what is left."
        if part.mass is not None
        else "Leave it empty: the whole has none."
    )
    yield field("mass", "Mass", texts.get(f"mass-{at}", ""), mass_hint, "600 kg")
    yield field("quantity", "Pieces", texts.get(f"quantity-{at}", "1"), "More than 1: a set.", "120")
    yield field("id", "Id", code, "Suggested; your own will do.", "BO-001-1")
    if places:
        options = [("", "A new one, called after it"), *((key, f"{name} ({key})") for key, name in places)]
        yield choice_field(f"place-{at}", "Position", texts.get(f"place-{at}", ""), options, kind="select")


def _break_plan(part: Part, texts: Texts) -> Plan:
    filled = _filled(texts)
    if not filled:
        sentence = "say what it is made of: name at least one part."
        raise Refused([Fault("parts", None, "name-1", "", sentence)])
    children = [
        Child(
            texts.get(f"id-{at}", "").strip(),
            texts.get(f"name-{at}", "").strip(),
            texts.get(f"mass-{at}", "").strip(),
            texts.get(f"quantity-{at}", "").strip() or "1",
            texts.get(f"place-{at}", "").strip(),
        )
        for at in filled
    ]
    try:
        _refuse_bad_texts(children)
        return plan_break_down(
            part_id=part.code, children=children, despite_doubt=texts.get("despite_doubt") == "yes"
        )
    except Refused as refused:
        raise type(refused)(_at_their_rows(refused.faults, filled, texts)) from None


def _refuse_bad_texts(children: list[Child]) -> None:
    """Before any id is looked for in the database, which cannot be asked for every text."""
    faults: list[Fault] = []
    for number, child in enumerate(children, 1):
        texts = {"part_id": child.part_id, "name": child.name, "quantity": child.quantity, "mass": child.mass}
        wrong = typed("parts", texts, new=True)[1]
        wrong += typed("installations", {"position_id": child.position_id})[1]
        faults += [replace(fault, row=number) for fault in wrong]
    if faults:
        raise Refused(faults)


def _at_their_rows(faults: list[Fault], filled: list[int], texts: Texts) -> Iterator[Fault]:
    """Faults of the nth child are at the fields of the row in which it was typed."""
    for fault in faults:
        at = filled[fault.row - 1] if fault.row and fault.row <= len(filled) else 0
        if not at and fault.table == "positions":
            at = next((one for one in filled if texts.get(f"place-{one}") == fault.value), 0)
        if at and fault.column in COLUMNS:
            yield replace(fault, row=None, column=f"{COLUMNS[fault.column]}-{at}")
        else:
            yield replace(fault, row=None)


# Joining, splitting


def joined(part: Part, texts: Texts) -> list[Section]:
    options = [(code, f"{code} {name}") for code, name in parts_on(part_id=part.code)]
    if not options:
        return []
    hint = "Their masses are added to its own; their ids lead to it from then on."
    fields = [checks_field("children", "What is joined to it", texts.get("children", ""), options, hint)]
    return [Section([*fields, why_field(texts, needed=True)])]


def _join_plan(part: Part, texts: Texts) -> Plan:
    children = [code for code in texts.get("children", "").split(";") if code]
    faults = [] if children else [Fault("parts", None, "children", "", "say which: at least one.")]
    for code in children:
        faults += [replace(one, column="children") for one in typed("installations", {"part_id": code})[1]]
    if faults:
        raise Refused(faults)
    despite = texts.get("despite_doubt") == "yes"
    return plan_join(part_id=part.code, children=children, despite_doubt=despite)


def split_off(part: Part, texts: Texts) -> list[Section]:
    if part.quantity < 2:
        return []
    code = texts.get("new_part_id") or free_ids(table="parts", stem=part.code, number=1)[0]
    mass_hint = (
        "One figure. Empty: its share by number."
        if part.mass is not None
        else "Leave it empty: the set has none."
    )
    fields = [
        text_field(
            "leaving",
            "How many leave the set",
            texts.get("leaving", "1"),
            hint=f"From 1 to {part.quantity - 1}.",
            example="1",
            required=True,
        ),
        text_field(
            "new_part_id",
            "Id of what leaves",
            code,
            hint="Suggested; your own will do. What stays keeps its id.",
            example="SP-004-1",
            required=True,
        ),
        text_field("name", "What it is", texts.get("name", part.name), example=part.name),
        text_field(
            "mass",
            "Mass of what leaves",
            texts.get("mass", ""),
            hint=mass_hint,
            example="42 kg",
            column=("parts", "mass"),
        ),
        why_field(texts, needed=False),
    ]
    return [Section(fields)]


def _split_plan(part: Part, texts: Texts) -> Plan:
    values, faults = typed("parts", {"quantity": texts.get("leaving", "")})
    leaving = values.get("quantity")
    if faults or leaving is None:
        sentence = faults[0].message if faults else "say how many, as a number."
        raise Refused([Fault("parts", None, "leaving", "", sentence)])
    return plan_split(
        part_id=part.code,
        new_part_id=texts.get("new_part_id", "").strip(),
        leaving=leaving,
        mass=texts.get("mass", ""),
        name=texts.get("name", ""),
        despite_doubt=texts.get("despite_doubt") == "yes",
    )


BREAK_DOWN = Verb(
    "break-down",
    "Break down into parts",
    "It stays in its position as the whole that the parts are fitted to, and keeps its id, its marks and its "
    "label. Each part gets a position, a share of the mass, and the same dates, assessment and evidence.",
    broken,
    _break_plan,
    "Broken down.",
)
JOIN = Verb(
    "join-parts",
    "Join its parts again",
    "Parts that were registered too finely go back into the part that they are fitted to, where they tell nothing that it does not tell.",
    joined,
    _join_plan,
    "Joined.",
    needed={"why": "say why; whoever meets the old ids later will read it."},
)
SPLIT = Verb(
    "split-set",
    "Split a set: some of it leaves",
    "What leaves becomes a part of its own with the same history, in a position beside that of the set, so that it can be assessed by itself.",
    split_off,
    _split_plan,
    "Split.",
    {"new_part_id": ("parts", "part_id"), "name": ("parts", "name"), "mass": ("parts", "mass")},
    where={"part_id": "new_part_id", "quantity": "leaving"},
)
