"""What an alternative would do, step by step, and the changes of the register that this amounts to.

A step is {"do": one of DO, and the texts of its fields}. ``changes_for_steps`` is pure: a register value in, changes out, so
that a preview of a proposal and the carrying out of it cannot differ.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change, Register
from register.exchange.values import key_of
from register.fabric.dates import HistoricDate, span_of
from register.fabric.vocabulary import DISPOSAL, MASS_BASIS, PATTERN_BASIS, VISIBILITY
from register.services import structure_rows as rows
from register.services.structure import around
from register.services.structure_carry import comes, day_of, leaves, must_be_fitted
from register.services.structure_rows import change_row, put

Step = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class StepField:
    name: str
    label: str
    hint: str = ""
    example: str = ""
    needed: bool = False
    options: tuple[str, ...] = ()


TAKE_OUT, FIT, TREAT, THERE = "take out", "fit", "treat", "already there"

NEW_STATUSES = ("replica", "modern substitute")

DO: dict[str, tuple[StepField, ...]] = {
    TAKE_OUT: (
        StepField("part_id", "Part", "the id of the part that comes out", "L7-P12", needed=True),
        StepField("place_id", "Taken to", "the id of the place where it is kept"),
        StepField("disposal", "What becomes of it", "if it is not kept", options=DISPOSAL),
    ),
    FIT: (
        StepField("position_id", "Position", "where it is fitted", "L7-CHIMNEY", needed=True),
        StepField("part_id", "Part id", "a new id, or that of a part of the register", "L7-P90", needed=True),
        StepField("name", "Name", "what it is; needed for a new part", "Axlebox, fabricated steel"),
        StepField("material", "Material"),
        StepField("mass", "Mass", "in kg, or in cwt, qr and lb", "118 kg"),
        StepField("mass_basis", "How the mass is known", options=MASS_BASIS),
        StepField("status", "Status", "of a new part", options=NEW_STATUSES),
        StepField("pattern_basis", "Copied from", "of a replica", options=PATTERN_BASIS),
        StepField("date_mark", "Marked as new", "how, and where", "M 2026 etched on the inner face"),
        StepField("visibility", "Visibility", "if other than the position's", options=VISIBILITY),
    ),
    TREAT: (
        StepField("part_id", "Part", "the id of the part that is worked on", needed=True),
        StepField("work", "Work", "what is done", "crown cracks welded", needed=True),
        StepField("replaced_low", "Share replaced, lowest", "between 0 and 1"),
        StepField("replaced", "Share replaced", "share of its material that is new", "0.04", needed=True),
        StepField("replaced_high", "Share replaced, highest"),
    ),
    THERE: (StepField("part_id", "Part", "a part fitted before anybody wrote its case", needed=True),),
}

PART_COLUMNS = ("part_id", "name", "material", "mass", "mass_basis", "date_mark")


def clean_step(step: Mapping[str, Any]) -> dict[str, str]:
    """The step with the fields of its kind and nothing else. Raises Refused for what is missing."""
    do = str(step.get("do", ""))
    if do not in DO:
        raise Refused([rows.fault("proposals", "do", do, f"a step is one of: {', '.join(DO)}.")])
    found = {field.name: " ".join(str(step.get(field.name, "")).split())[:2000] for field in DO[do]}
    missing = [field for field in DO[do] if field.needed and not found[field.name]]
    wrong = [field for field in DO[do] if field.options and found[field.name] not in ("", *field.options)]
    faults = [rows.fault("proposals", one.name, "", f"{one.label.lower()} is needed.") for one in missing]
    faults += [
        rows.fault("proposals", one.name, found[one.name], f"it is one of: {', '.join(one.options)}.")
        for one in wrong
    ]
    if faults:
        raise Refused(faults)
    return {"do": do, **{name: text for name, text in found.items() if text}}


def in_words(step: Step) -> str:
    """``Take out L7-P12, to STORE``"""
    do = step["do"]
    if do == TAKE_OUT:
        gone = step.get("disposal", "")
        became = f", {gone}" if gone and gone != "none" else ""
        return f"Take out {step['part_id']}{became}" + (
            f", to {step['place_id']}" if step.get("place_id") else ""
        )
    if do == FIT:
        said = [step.get("name", ""), step.get("status", ""), step.get("mass", "")]
        about = ", ".join(one for one in said if one)
        return f"Fit {step['part_id']} in {step['position_id']}" + (f" ({about})" if about else "")
    if do == TREAT:
        return f"Treat {step['part_id']}: {step['work']} ({step['replaced']} of it new)"
    return f"{step['part_id']}, already there"


def in_few_words(steps: Iterable[Step]) -> list[str]:
    """The steps in words, those that differ only in the part and its position together: ``Take out WS-101, WS-102, to
    STORE-A``"""
    groups: dict[tuple[tuple[str, str], ...], list[Step]] = {}
    for step in steps:
        alike = tuple(
            sorted(
                (name, text) for name, text in step.items() if name not in ("part_id", "position_id", "name")
            )
        )
        groups.setdefault(alike, []).append(step)
    found = []
    for group in groups.values():
        together = dict(group[0]) | {
            name: ", ".join(step[name] for step in group)
            for name in ("part_id", "position_id")
            if name in group[0]
        }
        if len(group) > 1:
            together.pop("name", None)
        found.append(in_words(together))
    return found


def parts_of(steps: Iterable[Step]) -> list[str]:
    """Keys of the parts that the steps name."""
    return [key_of(step["part_id"]) for step in steps]


def register_for(vehicle: str, steps: Iterable[Step]) -> Register:
    """The register around the vehicle and everything that the steps name: what ``changes_for_steps`` needs."""
    return register_for_all([vehicle], steps)


def register_for_all(vehicles: Iterable[str], steps: Iterable[Step]) -> Register:
    """The same around several vehicles."""
    listed = list(steps)
    named = {step["part_id"] for step in listed}
    return around(
        vehicles=vehicles,
        parts=named,
        positions=[step["position_id"] for step in listed if "position_id" in step],
        new={
            "parts": named,
            "places": [step["place_id"] for step in listed if "place_id" in step],
        },
    )


def changes_for_steps(
    register: Register,
    steps: Sequence[Step],
    *,
    days: Sequence[str],
    why: str,
    assessor: str = "",
    told: str = "",
) -> list[Change]:
    """The changes that the steps amount to, each on its day (as typed). Raises Refused with every fault, each saying
    which step it is in. assessor: id of the person whose assessment a new part's status is. told: what a visitor may read of
    a new part, and of one that is there and of which nothing is told yet."""
    changes: list[Change] = []
    faults: list[Fault] = []
    for number, (step, day) in enumerate(zip(steps, days, strict=True), 1):
        try:
            changes += _changes(register, step, day, why, assessor, told)
        except Refused as refused:
            faults += [
                rows.fault(
                    one.table, one.column, one.value, f"step {number} ({in_words(step)}): {one.message}"
                )
                for one in refused.faults
            ]
    if faults:
        raise Refused(faults)
    return changes


def _changes(register: Register, step: Step, on: str, why: str, assessor: str, told: str) -> list[Change]:
    day = day_of(on)
    if step["do"] == THERE:
        part = rows.row_of(register, "parts", step["part_id"])
        return [change_row("parts", part, public_note=told)] if told and not part["public_note"] else []
    if step["do"] == TREAT:
        part = rows.row_of(register, "parts", step["part_id"])
        shares = {name: step.get(name, "") for name in ("replaced_low", "replaced", "replaced_high")}
        values = rows.typed_or_refused("treatments", {"work": step["work"], **shares})
        return [put("treatments", part_id=part["_code"], date=day, **_given(values))]
    if step["do"] == TAKE_OUT:
        return _taken_out(register, step, day, why)
    return _fitted(register, step, day, why, assessor, told)


def _taken_out(register: Register, step: Step, day: HistoricDate, why: str) -> list[Change]:
    part = rows.row_of(register, "parts", step["part_id"])
    changes = [leaves(must_be_fitted(register, part), day, why)]
    if step.get("place_id"):
        place = rows.row_of(register, "places", step["place_id"])
        changes.append(put("movements", part_id=part["_code"], moved_on=day, place_id=place["_code"]))
    disposal = step.get("disposal", "")
    if disposal and disposal != "none":
        changes.append(change_row("parts", part, disposal=disposal, disposal_date=day))
    return changes


def _fitted(
    register: Register, step: Step, day: HistoricDate, why: str, assessor: str, told: str
) -> list[Change]:
    position = rows.row_of(register, "positions", step["position_id"])
    key = key_of(step["part_id"])
    changes: list[Change] = []
    known = register.tables["parts"].get(key)
    if known is None:
        if (retired := register.retired.get(("parts", key))) is not None:
            rows.refused("parts", "part_id", step["part_id"], retired.sentence())
        texts = {name: step.get(name, "") for name in PART_COLUMNS} | {"public_note": told}
        changes.append(put("parts", **_given(rows.typed_or_refused("parts", texts, new=True))))
        changes += _assessed(step, day, why, assessor)
    fitted = comes(register, step["part_id"], position["_code"], day, why)
    seen = {"visibility": step["visibility"]} if step.get("visibility") else {}
    return [*changes, put("installations", **{**fitted.values, **seen})]


def _assessed(step: Step, day: HistoricDate, why: str, assessor: str) -> list[Change]:
    """The status of a new part, on the last day that its fitting may have been."""
    if not step.get("status"):
        return []
    texts = {"status": step["status"], "pattern_basis": step.get("pattern_basis", ""), "reason": why}
    texts["assessed_on"] = date.fromordinal(span_of(day.edtf).latest).isoformat()
    values = rows.typed_or_refused("assessments", {**texts, "assessor": assessor})
    return [put("assessments", part_id=step["part_id"], state="accepted", **_given(values))]


def _given(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value is not None}
