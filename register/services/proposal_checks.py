"""What must be answered in writing before a proposal can be decided, and why it is asked.

Every check is worked out from the recommended alternative and from the register; none is a matter of ticking. The answers
are printed with the case.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from register.exchange.records import Register, Row
from register.exchange.values import key_of
from register.fabric.rounding import shown
from register.models import Alternative, Proposal, VehiclePolicy
from register.services.proposal_effect import Effects, Outcome
from register.services.proposal_fields import LIKE_FOR_LIKE, NOT_UNDONE, NOTHING
from register.services.proposal_steps import FIT, TAKE_OUT, THERE, TREAT

STRESSED = frozenset({"pressure", "running gear", "brakes", "lifting"})
DISTURBED = frozenset({"asbestos", "lead paint"})


@dataclass(frozen=True, slots=True)
class Check:
    """key: stays the same as long as the cause does. question: to be answered; because: what raised it."""

    key: str
    question: str
    because: str
    answer: str = ""

    @property
    def is_answered(self) -> bool:
        return bool(self.answer.strip())


def checks_of(proposal: Proposal, effects: Effects, policy: VehiclePolicy | None) -> list[Check]:
    """The checks that this proposal raises, with the answers written so far, in a fixed order."""
    outcome = effects.recommended
    if outcome is None:
        return []
    look = _Look(proposal, effects, outcome, policy)
    return [
        Check(key, question, because, proposal.checks.get(key, ""))
        for key, question, because in look.raised()
    ]


@dataclass(frozen=True, slots=True)
class _Look:
    proposal: Proposal
    effects: Effects
    outcome: Outcome
    policy: VehiclePolicy | None

    @property
    def alternative(self) -> Alternative:
        return self.outcome.alternative

    @property
    def register(self) -> Register:
        return self.effects.register

    def raised(self) -> Iterator[tuple[str, str, str]]:
        yield from self._original_in_view()
        yield from self._not_kept()
        if self.alternative.undo in NOT_UNDONE:
            yield (
                "irreversible",
                "It cannot be undone without loss. Why is that accepted?",
                f"alternative {self.alternative.letter} can be undone: {self.alternative.undo}",
            )
        yield from self._alternatives()
        yield from self._safety()
        yield from self._hazards()
        yield from self._marking()
        yield from self._policies()

    def _steps(self, *do: str) -> Iterator[dict[str, str]]:
        return (step for step in self.alternative.steps if step["do"] in do)

    def _touched(self) -> Iterator[tuple[Row, Row | None]]:
        """(part, position) of every part that comes out or is worked on."""
        for step in self._steps(TAKE_OUT, TREAT):
            part = self.register.tables["parts"].get(key_of(step["part_id"]))
            if part is not None:
                yield part, self._position_of(part)

    def _position_of(self, part: Row) -> Row | None:
        for row in self.register.tables["installations"].values():
            if row["part_id"] == part["_key"] and row["removed"] is None and not row["temporary"]:
                return self.register.tables["positions"].get(row["position_id"])
        return None

    def _positions(self) -> Iterator[Row]:
        """Every position that the steps touch, once."""
        found = {row["_key"]: row for _, row in self._touched() if row is not None}
        for step in self._steps(FIT):
            row = self.register.tables["positions"].get(key_of(step["position_id"]))
            if row is not None:
                found[row["_key"]] = row
        for part in self._there():
            row = self._position_of(part)
            if row is not None:
                found[row["_key"]] = row
        return iter(found.values())

    def _there(self) -> Iterator[Row]:
        """Parts whose case is written after they were fitted."""
        for step in self._steps(THERE):
            part = self.register.tables["parts"].get(key_of(step["part_id"]))
            if part is not None:
                yield part

    def _has_original(self, part: str) -> bool:
        """Whether original fabric may be in it, as far as anybody knows: a part never assessed may be all original."""
        answer = self.effects.figures[self.effects.reference.label]["count"]
        return any(part in row.parts and row.f.high > 0 for row in (*answer.rows, *answer.wear_rows))

    def _original_in_view(self) -> Iterator[tuple[str, str, str]]:
        codes = [
            part["_code"]
            for part, position in self._touched()
            if position is not None
            and position["visibility"] == "in view"
            and self._has_original(part["_key"])
        ]
        if codes:
            yield (
                "original in view",
                "Original fabric in view would go, wholly or in part. Why there?",
                f"in view, and original or not assessed: {', '.join(codes)}",
            )

    def _not_kept(self) -> Iterator[tuple[str, str, str]]:
        gone = []
        for step in self._steps(TAKE_OUT):
            kept = step.get("place_id") and step.get("disposal", "none") == "none"
            if not kept and self._has_original(key_of(step["part_id"])):
                gone.append(step["part_id"])
        if gone:
            yield (
                "not kept",
                "What comes out is not kept, or nobody has said where. Who agreed, and what record or sample is kept?",
                f"no place of keeping: {', '.join(gone)}",
            )

    def _alternatives(self) -> Iterator[tuple[str, str, str]]:
        others = [one.alternative for one in self.effects.outcomes if not one.alternative.recommended]
        real = [one for one in others if one.kind not in (NOTHING, LIKE_FOR_LIKE)]
        if not real:
            yield (
                "no alternative",
                "Nothing but doing nothing and like for like was weighed. Why is there no other way?",
                "no other alternative is written down",
            )
        like = next((one for one in others if one.kind == LIKE_FOR_LIKE), None)
        if self.alternative.kind != LIKE_FOR_LIKE and (like is None or not like.why_not.strip()):
            yield (
                "like for like",
                "Why not like for like?",
                "the alternative like for like has no reason against it"
                if like
                else "like for like is not among the alternatives",
            )

    def _safety(self) -> Iterator[tuple[str, str, str]]:
        critical = [row for row in self._positions() if _words(row["safety"])]
        if critical and not self.proposal.answers.get("signoff", "").strip():
            names = ", ".join(f"{row['_code']} ({row['safety'].replace(';', ', ')})" for row in critical)
            yield (
                "no sign-off",
                "The work touches a position that people's safety hangs on, and no sign-off is named. Who signs, and under which reference?",
                names,
            )
        copies = [
            f"{step['part_id']} in {step['position_id']}"
            for step in self._steps(FIT)
            if step.get("status") == "replica" and "pressure" in self._safety_of(step)
        ]
        if copies:
            yield (
                _key("pressure replica", copies),
                "A pressure part called a replica is new pressure equipment, whatever its heritage label. "
                "Which rules apply, and who answers for it?",
                ", ".join(copies),
            )

    def _safety_of(self, step: Mapping[str, str]) -> frozenset[str]:
        """What work in the position of a fitting can touch."""
        position = self.register.tables["positions"].get(key_of(step["position_id"]))
        return _words(position["safety"]) if position else frozenset()

    def _hazards(self) -> Iterator[tuple[str, str, str]]:
        found = [
            f"{part['_code']} ({', '.join(sorted(DISTURBED & _words(part['hazards'])))})"
            for part, _ in self._touched()
            if DISTURBED & _words(part["hazards"])
        ]
        if found:
            yield (
                "hazard disturbed",
                "The work disturbs asbestos or lead. Who does it, licensed by whom, under which plan?",
                ", ".join(found),
            )

    def _marking(self) -> Iterator[tuple[str, str, str]]:
        new = [
            step for step in self._steps(FIT) if key_of(step["part_id"]) not in self.register.tables["parts"]
        ]
        unmarked = [part["_code"] for part in self._there() if not part["date_mark"]]
        unmarked += [step["part_id"] for step in new if not step.get("date_mark")]
        if unmarked:
            yield (
                _key("unmarked", unmarked),
                "How is the new part told from old work?",
                f"no mark that the register knows of: {', '.join(unmarked)}",
            )
        stamped = [
            f"{step['part_id']} ({step['date_mark']})"
            for step in new
            if "stamp" in step.get("date_mark", "").casefold() and STRESSED & self._safety_of(step)
        ]
        if stamped:
            yield (
                _key("stamped", stamped),
                "Stressed and pressure parts are not hard-stamped without the engineer's agreement. "
                "Who agreed, or how else is it marked?",
                ", ".join(stamped),
            )

    def _policies(self) -> Iterator[tuple[str, str, str]]:
        if self.policy is None:
            return
        kept = {key_of(one) for one in self.policy.never_lost.replace("\n", ";").split(";") if one.strip()}
        lost = [
            position["_code"]
            for part, position in self._touched()
            if position is not None and position["_key"] in kept and self._has_original(part["_key"])
        ]
        if lost:
            yield (
                "never to be lost",
                "The vehicle's policy says that this is never to be lost. Who sets the policy aside, and why?",
                ", ".join(lost),
            )
        limit, change = self.policy.loss_limit, self.effects.since(self.outcome)[0].change
        start = date.fromordinal(self.effects.reference.span.latest)
        if limit is not None and change is None:
            yield (
                "loss not known",
                "How much has been lost since the reference date cannot be told. Why is the policy kept to all the same?",
                f"not enough is assessed to tell the loss since {start.year}, and the policy allows {limit} points",
            )
        elif limit is not None and change is not None and -change > limit:
            yield (
                "beyond the policy",
                "The loss since the reference date goes beyond the vehicle's policy. Why is more accepted?",
                f"{shown(-change)} points since {start.year}, and the policy allows {limit}",
            )


def _key(kind: str, named: Iterable[str]) -> str:
    """Another one as soon as other parts are concerned, so that an answer never stands for what it was not asked of."""
    return f"{kind} {' '.join(key_of(one.split(' ')[0]) for one in named)}"


def _words(value: str | None) -> frozenset[str]:
    """The words of a cell that holds several."""
    return frozenset(word for word in (value or "").split(";") if word)
