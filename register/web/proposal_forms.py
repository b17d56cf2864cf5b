"""The fields of the pages about proposals, and what was typed in them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from django.http import QueryDict

from register.exchange.faults import Fault
from register.models import Alternative, Proposal
from register.services.proposal_fields import KINDS, UNDO, Section
from register.services.proposal_steps import DO
from register.web.asking import storable
from register.web.record_form import FormField


def field(
    name: str,
    label: str,
    value: str = "",
    *,
    kind: str = "text",
    hint: str = "",
    example: str = "",
    needed: bool = False,
    options: Iterable[str] = (),
    blank: str = "Choose one",
    faults: Iterable[Fault] = (),
) -> FormField:
    """One field of a form; its error is the first fault of that column."""
    choices = tuple((one, one.capitalize()) for one in options)
    if choices:
        kind, choices = "select", (("", blank), *choices)
    error = next((fault.message for fault in faults if fault.column == name), "")
    return FormField(name, label, kind, value, hint, example, needed, choices, error=error)


def section_fields(
    section: Section, proposal: Proposal, texts: Mapping[str, str] | None, faults: Iterable[Fault] = ()
) -> list[FormField]:
    """The questions of a section with the answers so far, or with what was just typed."""
    listed = list(faults)
    return [
        field(
            one.name,
            one.label,
            (texts if texts is not None else proposal.answers).get(one.name, ""),
            kind=one.kind,
            hint=one.hint,
            example=one.example,
            needed=one.needed,
            options=one.options,
            faults=listed,
        )
        for one in section.questions
    ]


def alternative_fields(
    alternative: Alternative | None, texts: Mapping[str, str] | None, faults: Iterable[Fault] = ()
) -> list[FormField]:
    def value(name: str) -> str:
        if texts is not None:
            return texts.get(name, "")
        return str(getattr(alternative, name)) if alternative else ""

    listed = list(faults)
    recommended = (
        texts.get("recommended") == "yes"
        if texts is not None
        else bool(alternative and alternative.recommended)
    )
    return [
        field("title", "Name", value("title"), example="Weld and re-bush", needed=True, faults=listed),
        field("kind", "What kind of way it is", value("kind"), options=KINDS, needed=True, faults=listed),
        field("words", "In a sentence or two", value("words"), kind="area", faults=listed),
        FormField(
            "recommended",
            "Recommended",
            "checks",
            "",
            "one alternative is; the others need a reason against them",
            "",
            False,
            (("yes", "This is the one proposed"),),
            frozenset({"yes"} if recommended else ()),
        ),
        field(
            "why_not",
            "Why not",
            value("why_not"),
            kind="area",
            hint="the reason against it, where it is not the one proposed",
            faults=listed,
        ),
        field("undo", "Can it be undone?", value("undo"), options=UNDO, blank="Not said yet", faults=listed),
        field(
            "undo_how",
            "How, and what stands in the way",
            value("undo_how"),
            kind="area",
            hint="method, time and cost",
            faults=listed,
        ),
        field(
            "marked",
            "How the new work is marked as new",
            value("marked"),
            hint="mark, where, drawing number",
            faults=listed,
        ),
    ]


def step_fields(do: str, texts: Mapping[str, str], faults: Iterable[Fault] = ()) -> list[FormField]:
    listed = list(faults)
    return [
        field(
            one.name,
            one.label,
            texts.get(one.name, ""),
            hint=one.hint,
            example=one.example,
            needed=one.needed,
            options=one.options,
            blank="Not said",
            faults=listed,
        )
        for one in DO[do]
    ]


def decision_fields(data: Mapping[str, str], verb: str, faults: Iterable[Fault] = ()) -> list[FormField]:
    """What is asked of who decides: ``approve``, ``decline``, ``return`` or ``withdraw``."""
    listed = list(faults)
    words = {
        "approve": ("Conditions", "leave empty where there are none; each is followed up"),
        "decline": ("Why it is declined", "kept with the case"),
        "return": ("What is asked", "the author reads it and answers"),
        "withdraw": ("Why", "may be left empty"),
    }[verb]
    fields = [
        field(
            "words",
            words[0],
            data.get("words", ""),
            kind="area",
            hint=words[1],
            needed=verb in ("decline", "return"),
            faults=listed,
        )
    ]
    if verb in ("approve", "decline"):
        fields += [
            field(
                "body",
                "Decided by",
                data.get("body", ""),
                hint="the role or body; empty: you, by name",
                example="Collections committee",
            ),
            field(
                "minute",
                "Minute or paper",
                data.get("minute", ""),
                hint="under which number it stands",
                example="minute 2026/41",
                faults=listed,
            ),
            field(
                "dissent",
                "Dissent",
                data.get("dissent", ""),
                kind="area",
                hint="who thought otherwise, and why",
            ),
        ]
    if verb == "approve":
        fields.append(
            field(
                "record_due",
                "Record of the work due by",
                data.get("record_due", ""),
                hint="a day; empty: three months from now",
                faults=listed,
            )
        )
    return fields


def typed(data: QueryDict) -> dict[str, str]:
    """What was typed, as it can be kept."""
    return {name: storable(str(text)) for name, text in data.items()}


def texts_of_fields(data: QueryDict, names: Iterable[str]) -> dict[str, str]:
    return {name: storable(str(data.get(name, ""))) for name in names}


def unnamed(faults: Iterable[Fault], fields: Iterable[FormField]) -> list[str]:
    """The sentences of faults that belong to no field shown."""
    known = {one.name for one in fields}
    return [fault.message for fault in faults if fault.column not in known]
