"""The parts of a statement, gathered: the schedule, and what is new, unweighted, removed, disputed, hazardous or not known."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from register.documents.figure_view import STRENGTHS
from register.documents.statement_content import (
    Assembly,
    Dispute,
    Hazard,
    NewPart,
    PartRow,
    RemovedPart,
    SourceRow,
    Unweighted,
)
from register.fabric.account import Row
from register.fabric.dates import AS_BUILT, in_words, span_of
from register.fabric.fraction import FROM_ELSEWHERE, LATER_HISTORIC
from register.fabric.inputs import VISIBILITIES
from register.fabric.interval import ONE
from register.models import Citation, Installation, Part, Source
from register.services.statement_texts import case_by_part, recommended
from register.services.vehicle_page import Node, tree_of

if TYPE_CHECKING:
    from register.services.statements import Gathered

HIDDEN_FIRST = tuple(reversed(VISIBILITIES))


class Cited:
    """The sources of one paper, numbered in the order in which they are first cited."""

    def __init__(self, citations: dict[str, list[Citation]]) -> None:
        self.citations = citations
        self.numbers: dict[str, int] = {}
        self.sources: dict[str, Source] = {}

    def number(self, source: Source) -> int:
        self.sources.setdefault(source.key, source)
        return self.numbers.setdefault(source.key, len(self.numbers) + 1)

    def of_part(self, part: str | None) -> tuple[int, ...]:
        return tuple(dict.fromkeys(self.number(one.source) for one in self.citations.get(part or "", ())))

    def rows(self) -> Iterable[SourceRow]:
        for key, number in self.numbers.items():
            one = self.sources[key]
            if one.access == "restricted":
                yield SourceRow(number, one.kind, "restricted: not to be described here")
            else:
                dated = in_words(one.date_edtf) if one.date_edtf else ""
                yield SourceRow(number, one.kind, one.title, one.author, dated, one.repository, one.reference)


class Parts:
    """The parts of one edition. internal: with the stores where removed parts lie."""

    def __init__(self, gathered: Gathered, cited: Cited, *, internal: bool) -> None:
        self.gathered, self.cited, self.internal = gathered, cited, internal
        self.account, self.vehicle, self.rows = gathered.account, gathered.vehicle, gathered.rows

    def schedule(self) -> tuple[Assembly, ...]:
        found = []
        for top in tree_of(self.account):
            nodes = [node for node in top.walk() if node.row is not None]
            if nodes:
                weights = [
                    node.row.weight.best
                    for node in nodes
                    if node.row and not node.wear and node.row.weight and node.row.weight.best is not None
                ]
                found.append(
                    Assembly(
                        top.name,
                        tuple(self.part_row(node) for node in nodes),
                        sum(weights) if weights else None,
                    )
                )
        return tuple(found)

    def part_row(self, node: Node) -> PartRow:
        row = node.row
        assert row is not None
        part = self.rows.parts.get(row.part or "")
        position = self.account.labels.positions[row.position]
        best = row.f.best
        return PartRow(
            position=position.name,
            part=part.name if part else "not known which part",
            part_id=part.code if part else "",
            status="" if node.wear else row.status,
            original_low=_percent(row.f.low),
            original_best=None if best is None else _percent(best),
            original_high=_percent(row.f.high),
            fitted=self.fitted(row),
            visibility=row.visibility,
            evidence=STRENGTHS[row.strength] if row.status and not node.wear else "",
            quantity=part.quantity if part else 1,
            mass=row.weight,
            mass_basis="by the drawing" if row.assumed else part.mass_basis if part else "",
            doubtful=not row.certain or row.straddles,
            disputed="?" if row.disputed else "",
            remark=self.remark(node, row),
            sources=self.cited.of_part(row.part),
            is_wear=node.wear,
        )

    def remark(self, node: Node, row: Row) -> str:
        if node.wear:
            return "in no figure"
        if row.weight is None:
            return "unweighted"
        if row.category == LATER_HISTORIC:
            return "historic, later than the reference"
        if row.category == FROM_ELSEWHERE:
            return "historic, from elsewhere"
        return "not certain what is fitted" if not row.certain else ""

    def fitted(self, row: Row) -> str:
        one = self.gathered.last_ordinary.get((row.part or "", row.position))
        if one is None:
            return ""
        if one.fitted_edtf:
            return self.gathered.words(one.fitted_edtf) if one.fitted_edtf != AS_BUILT else "as built"
        return f"seen {in_words(one.seen_on_edtf)}"

    def fitted_by_position(self) -> dict[str, str]:
        return {row.position: self.fitted(row) for row in self.account.chosen.rows}

    def left(self) -> dict[str, str]:
        """When each part that is out was removed, in words."""
        return {one.part_id: self.gathered.words(one.removed_edtf) for one in self.gathered.stays if one.removed_edtf}

    def new_parts(self) -> Iterable[NewPart]:
        """Hidden ones first, for they are what nobody sees."""
        reasons, cases = self.gathered.beside.reasons(), case_by_part(self.gathered.texts)
        for row in sorted(self.account.chosen.rows, key=lambda one: HIDDEN_FIRST.index(one.visibility)):
            part = self.rows.parts.get(row.part or "")
            if part is None or row.status not in ("replica", "modern substitute"):
                continue
            stay = self.gathered.last_stays.get((part.key, row.position))
            reason = reasons.get(part.key) or (stay.reason if stay else "")
            yield NewPart(
                self.account.labels.positions[row.position].name,
                part.name,
                part.code,
                row.status,
                row.visibility,
                self.fitted(row),
                reason,
                part.date_mark,
                part.material,
                *_case(cases.get(part.key)),
            )

    def unweighted(self) -> Iterable[Unweighted]:
        for row in self.account.figures["mass"].rows:
            if row.weight is None:
                part, position = self.rows.parts.get(row.part or ""), self.rows.positions[row.position]
                yield Unweighted(
                    position.name,
                    part.name if part else "",
                    part.code if part else "",
                    row.status,
                    position.significance,
                )

    def removed(self) -> Iterable[RemovedPart]:
        """Parts that belonged here and are out, where they are now, and what survives of them."""
        fabric = {row.part: row for found in self.gathered.survivals for row in found.rows}
        gone: dict[str, Installation] = {}
        for one in self.gathered.stays:
            if not one.temporary and one.part_id not in self.gathered.here:
                gone[one.part_id] = one
        for key, stay in sorted(gone.items()):
            part, row = self.rows.parts[key], fabric.get(key)
            yield RemovedPart(
                part.name,
                part.code,
                self.rows.positions[stay.position_id].name,
                self.gathered.words(stay.removed_edtf),
                stay.reason,
                self.whereabouts(part),
                row.status if row else "",
                (_percent(row.s.low), _percent(row.s.high)) if row and row.status else None,
            )

    def whereabouts(self, part: Part) -> str:
        """What may be said of it: outside the railway, never which store."""
        if part.disposal != "none":
            return f"{part.disposal}, {in_words(part.disposal_date_edtf)}"
        if part.key in self.gathered.now_elsewhere:
            return "in another vehicle"
        moved = self.rows.movements.get(part.key)
        if not moved:
            return "not known"
        latest = max(moved, key=lambda one: span_of(one.moved_on_edtf).best)
        if latest.place and (self.internal or latest.place.access == "public"):
            return str(latest.place.name)
        return "kept" if latest.place else "kept with another part"

    def disputes(self) -> Iterable[Dispute]:
        for row in self.account.chosen.rows:
            part = self.rows.parts.get(row.part or "")
            if part and row.disputed:
                against = [one for one in self.gathered.citations.get(part.key, ()) if not one.supports]
                said = "; ".join(
                    f"{one.source.kind}, {one.locator}" if one.locator else one.source.kind for one in against
                )
                yield Dispute(
                    part.name,
                    part.code,
                    self.account.labels.positions[row.position].name,
                    row.status,
                    said,
                    tuple(self.cited.number(one.source) for one in against),
                )

        yield from self.differing()

    def differing(self) -> Iterable[Dispute]:
        """Opinions that stand beside what is accepted."""
        rows = {row.part: row for row in self.account.chosen.rows if row.part}
        for one in self.gathered.opinions:
            part, row = self.rows.parts[one.part], rows[one.part]
            yield Dispute(
                part.name,
                part.code,
                self.account.labels.positions[row.position].name,
                row.status,
                f"differing opinion of {one.in_public_words}",
            )

    def unknown(self) -> Iterable[str]:
        """What is not known, in sentences."""
        chosen = self.account.figures["mass"]
        filled = {row.position for row in (*chosen.rows, *chosen.wear_rows)}
        never = [
            one
            for one in self.account.inputs.positions
            if one not in filled and not self._has_children(one)
        ]
        counts = {
            "parts have no accepted assessment": sum(not row.status for row in chosen.rows),
            "parts have no mass and are in no figure by mass": chosen.whole.unweighted,
            "positions hold a part that is not known, or not certainly": sum(
                not row.certain for row in chosen.rows
            ),
            "positions have no part in them": len(never),
            "accepted assessments rest on no source": sum(
                bool(row.status) and row.strength == 0 for row in chosen.rows
            ),
        }
        for words, count in counts.items():
            if count:
                yield f"{count} of {chosen.whole.items if 'positions have' not in words else len(self.rows.positions)} {words}."
        if not self.vehicle.identity_basis:
            yield "What carries the identity of the vehicle has not been stated."
        if not self.vehicle.empty_mass:
            yield "The empty mass of the vehicle is not known, so nothing says how much the list of parts leaves out."
        if not self.vehicle.heritage_from_edtf:
            yield "Since when the vehicle has been looked after as heritage is not recorded."

    def _has_children(self, position: str) -> bool:
        if not hasattr(self, "_parents"):
            self._parents = {one.parent_id for one in self.rows.positions.values()}
        return position in self._parents

    def hazards(self) -> Iterable[Hazard]:
        for key in self.gathered.here:
            part = self.rows.parts.get(key or "")
            if part and part.hazards:
                yield Hazard(
                    part.name,
                    part.code,
                    self.account.labels.positions[self.gathered.here[key].position].name,
                    tuple(part.hazards.split(";")),
                )

    def safety(self) -> tuple[str, ...]:
        return tuple(
            sorted({word for one in self.rows.positions.values() for word in one.safety.split(";") if word})
        )


def _case(proposal: Mapping[str, Any] | None) -> tuple[str, str]:
    """Its code, and whether and how it can be undone."""
    way = recommended(proposal) if proposal else None
    if proposal is None or way is None:
        return "", ""
    return proposal["code"], ": ".join(filter(None, [way["undo"], way["undo_how"]]))


def _percent(value: int) -> Fraction:
    return Fraction(value * 100, ONE)
