"""Break a part down into parts.

The part keeps its id, its label, its marks, its papers and its place in the tree: it stays in its position
as the whole that the new parts are fitted to, and keeps as its own mass what is not given to one of them,
down to 0 kg. It is not struck out, and no child takes its id over, because everything that names it (its
stamps, the mark book, a label tied to it, an issued statement) names the whole; and because, staying in its
position, it goes on ruling out a predecessor or a successor whose dates overlap its own.

Each new part gets a place under every position in which the part has been, with the same dates, so that the
figures by mass are the same on every day, for every vehicle and against every reference: best, bounds and
composition, the whole-vehicle bounds and the survival shares. By count they move, since there are more
items; on significance they do not, since a judgement of the whole is not one of each piece.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from register.exchange.faults import Fault, Refused
from register.exchange.records import Change, Register, Row, trio_interval
from register.exchange.schema import TABLES
from register.exchange.values import key_of, read_value
from register.fabric.dates import span_of
from register.fabric.interval import Interval
from register.fabric.quantities import write_mass
from register.models import Act, Installation, User
from register.services import structure_rows as rows
from register.services.structure import Plan, around, carry_out, ids_like, make_plan, taken
from register.services.structure_places import Places
from register.services.structure_rows import GOES_ALONG, put, refused, stays_of, trio
from register.services.structure_shares import mass_shares, shared


@dataclass(frozen=True, slots=True)
class Child:
    """A part that comes out, in texts as typed.

    mass: one figure, its own low and high follow from the part's; "": an equal share of what the others
    leave. position_id: its place under the position in which the part is (or last was); one that is there
    already is used; "": one is made. position_name: "" for the child's name.
    """

    part_id: str
    name: str
    mass: str = ""
    quantity: str = "1"
    position_id: str = ""
    position_name: str = ""


def changes_for_break_down(
    register: Register, *, part_id: str, children: Sequence[Child], despite_doubt: bool = False
) -> list[Change]:
    """The changes that break the part down. Raises Refused with every fault found.

    despite_doubt: also where another part may have been in its place on some of the same days; the bounds
    of those days can then widen.
    """
    part = rows.row_of(register, "parts", part_id)
    texts = _checked(register, part, children)
    stays, whole = stays_of(register, part["_key"]), trio_interval(part, "mass")
    names = [child.position_name.strip() or child.name for child in children]
    given = [child.position_id for child in children]
    places = Places(register, stays, given, names, weighed=whole is not None)
    if not despite_doubt:
        rows.refuse_doubts([*rows.doubts(register, stays), *places.clashes()])
    masses, rest = _masses(part, whole, children)
    designs = {} if whole else places.designs()
    changes = [*_what_stays(part, whole, rest, bool(designs)), *places.made(designs)]
    for at, child in enumerate(texts):
        own = trio(masses[at]) if masses else {}
        along = {name: part[name] for name in GOES_ALONG}
        basis = "calculated" if masses and part["mass_basis"] == "weighed" else part["mass_basis"]
        changes.append(put("parts", **along, mass_basis=basis if masses else None, **own, **child))
        changes += places.fitted(at, child["part_id"])
        changes += rows.copied_history(register, part["_key"], child["part_id"])
        changes += _lies_with(register, part, child["part_id"])
    return changes


def plan_break_down(*, part_id: str, children: Sequence[Child], despite_doubt: bool = False) -> Plan:
    """The plan, to preview or to apply. Raises Refused."""
    been_in = Installation.objects.filter(part=key_of(part_id)).values_list("position", flat=True)
    new_places = {*ids_like("positions", been_in), *(child.position_id for child in children)} - {""}
    register = around(
        parts=[part_id], new={"parts": [child.part_id for child in children], "positions": new_places}
    )
    changes = changes_for_break_down(
        register, part_id=part_id, children=children, despite_doubt=despite_doubt
    )
    return make_plan(register, changes, "break down a part", _notes(register, key_of(part_id)))


def break_down(
    *,
    part_id: str,
    children: Sequence[Child],
    despite_doubt: bool = False,
    user: User | None,
    reason: str = "",
    token: str | None = None,
) -> Act | None:
    """Break the part down, in one act. Raises Refused or Conflicted; nothing is stored then."""
    return carry_out(
        lambda: plan_break_down(part_id=part_id, children=children, despite_doubt=despite_doubt),
        user=user,
        reason=reason,
        token=token,
    )


def _checked(register: Register, part: Row, children: Sequence[Child]) -> list[dict[str, Any]]:
    """The texts of the children as values, or Refused with all that is wrong with them; the row of a fault
    is the number of the child, from 1."""
    if not children:
        refused("parts", "part_id", part["_code"], "say into what it is broken down: at least one part.")
    values, faults, seen = [], [], {part["_key"]}
    for number, child in enumerate(children, 1):
        given, wrong = rows.typed(
            "parts", {"part_id": child.part_id, "name": child.name, "quantity": child.quantity}, new=True
        )
        key = key_of(child.part_id)
        if not wrong and key in seen:
            wrong = [rows.fault("parts", "part_id", child.part_id, "that id is given twice here.")]
        elif not wrong and not rows.is_free(register, "parts", child.part_id):
            wrong = [taken("parts", child.part_id, register.retired.get(("parts", key)))]
        wrong += _wrong_mass(child.mass)
        faults += [replace(one, row=number) for one in wrong]
        seen.add(key)
        values.append(given)
    if faults:
        raise Refused(faults)
    return values


def _masses(
    part: Row, whole: Interval | None, children: Sequence[Child]
) -> tuple[list[Interval], Interval | None]:
    """The children's masses and what the part keeps; no masses where the part has none."""
    given = [_grams(child) for child in children]
    if whole is None:
        named = next((child for child, grams in zip(children, given, strict=True) if grams is not None), None)
        if named is not None:
            refused(
                "parts",
                "mass",
                named.mass,
                f"{part['_code']} has no mass of its own to share out: give it one first, or leave the "
                "masses empty and weigh the parts afterwards.",
            )
        return [], None
    assert whole.best is not None  # a stored mass has its best value
    left = whole.best - sum(grams or 0 for grams in given)
    if left < 0:
        refused(
            "parts",
            "mass",
            "",
            f"the parts weigh {write_mass(whole.best - left)} together, and {part['_code']} weighs "
            f"{write_mass(whole.best)}: correct one of them.",
        )
    open_ones = [at for at, grams in enumerate(given) if grams is None]
    bests = [grams or 0 for grams in given]
    for at, share in zip(open_ones, shared(left, [1] * len(open_ones)) if open_ones else [], strict=True):
        bests[at] = share
    *masses, rest = mass_shares(whole, [*bests, 0 if open_ones else left])
    return masses, rest


def _wrong_mass(text: str) -> list[Fault]:
    values, wrong = rows.typed("parts", {"mass": text})
    mass = None if wrong else values["mass"]
    if mass is None or mass.is_exact:
        return wrong
    sentence = "give one figure: its range follows from that of the whole part."
    return [rows.fault("parts", "mass", text, sentence)]


def _grams(child: Child) -> int | None:
    mass = rows.typed_or_refused("parts", {"mass": child.mass})["mass"]
    grams: int | None = mass.best if mass else None
    return grams


def _what_stays(part: Row, whole: Interval | None, rest: Interval | None, designed: bool) -> Iterator[Change]:
    """The part's own mass from now on; weighed complete, it keeps that as its gross mass. Without a mass of
    its own it must not weigh what the drawing says of its position, which the new positions weigh now."""
    basis = "calculated" if part["mass_basis"] == "weighed" else part["mass_basis"]
    if whole is None:
        if designed:
            yield put("parts", part_id=part["_code"], **trio(Interval.exactly(0)), mass_basis="calculated")
        return
    values: dict[str, Any] = {"part_id": part["_code"], **trio(rest), "mass_basis": basis}
    if part["gross_mass"] is None and part["mass_basis"] == "weighed":
        ends = [write_mass(grams) for grams in (whole.low, whole.high)]
        text = ends[0] if whole.is_exact else f"{ends[0].removesuffix(' kg')}-{ends[1]}"
        values["gross_mass"] = read_value(TABLES["parts"].by_name["gross_mass"], text)
    yield put("parts", **values)


def _lies_with(register: Register, part: Row, child: str) -> Iterator[Change]:
    """Where the part has been moved to, the child lies with it from that day on."""
    moved = rows.rows_for(register, "movements", part["_key"])
    if moved:
        latest = max(moved, key=lambda row: span_of(row["moved_on"].edtf).best)
        yield put("movements", part_id=child, moved_on=latest["moved_on"], with_part=part["_code"])


def _notes(register: Register, part: str) -> Iterator[str]:
    code = register.code("parts", part)
    for row in rows.rows_for(register, "installations", part):
        if row["temporary"]:
            where = register.code("positions", row["position_id"])
            yield f"{code} has stood in at {where}: that stays said of {code} alone."
    if any(row["part_id"] == part for row in register.drafts.values()):
        yield f"A draft assessment of {code} waits for review; it stays with {code} alone."
    if rows.rows_for(register, "treatments", part):
        yield (
            "Each new part has the treatments of the whole, at the same share; where the work was done on "
            "one of them only, correct that afterwards."
        )
