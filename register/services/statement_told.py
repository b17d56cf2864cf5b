"""What a statement says in words, made of its frozen texts: significance, policy, decisions, and what may be said in public."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import datetime
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from django.utils import timezone

from register.documents.figure_view import FigureView, figure_view
from register.documents.figure_words import count_of
from register.documents.panel_words import agreement
from register.documents.statement_texts_content import Case, InPublic, LogRow, Policy, Worth
from register.exchange.values import key_of
from register.fabric.dates import day_in_words
from register.fabric.fraction import FROM_ELSEWHERE
from register.fabric.rounding import shown_high, shown_low
from register.fabric.vocabulary import SIGNIFICANCE
from register.models import Position
from register.services import significance_texts, vehicle_policies
from register.services.statement_texts import Texts, act_of, was_afterwards

if TYPE_CHECKING:
    from register.services.statements import Gathered

IN_PUBLIC = ("panel", "not_claimed")
"""Fields of a policy that are told where it is said what may be said in public."""
NEVER = (
    "A single percentage without its bounds, what it is weighed by, its reference period and its day.",
    "That a percentage decides what the vehicle is.",
    "That the vehicle, or any part of it, is fit or safe to run: this statement does not show it.",
)
DECISIONS = {
    "approved": "approved",
    "declined": "declined",
    "withdrawn": "withdrawn",
    "done": "carried out",
    "done in part": "carried out in part",
    "superseded": "superseded",
}
"""What happened to a proposal that is told as a decision, in words."""
AFTERWARDS_WORDS = {"approved": "decided long ago, written up afterwards"}
"""The same of a case that was written up when the work had long been done."""


class Told:
    """For one edition. internal: with persons' own names, and with what was written beside a decision."""

    def __init__(self, gathered: Gathered, texts: Texts, *, internal: bool) -> None:
        self.gathered, self.texts, self.internal = gathered, texts, internal

    def called(self, person: dict[str, str]) -> str:
        return person["name"] if self.internal else person["public"]

    # --- significance ---------------------------------------------------------------------------------------------

    def significance(self) -> Iterator[Worth]:
        """The whole, then every main group in the order of the screen."""
        texts = {one["position"]: one for one in self.texts["significance"]}
        yield Worth("", _heads(significance_texts.WHOLE, texts.get(significance_texts.WHOLE)))
        positions = self.gathered.rows.positions
        grades = _grades_by_group(positions)
        for key, one in sorted(positions.items()):
            if one.parent_id is None:
                heads = _heads(key, texts.get(key))
                yield Worth(one.name, heads, one.code, one.significance, one.significance_reason, grades[key])

    # --- policy ---------------------------------------------------------------------------------------------------

    def policy(self) -> Policy | None:
        found = self.texts["policy"]
        if found is None:
            return None
        rules = []
        for one in vehicle_policies.FIELDS:
            if one.name in (*IN_PUBLIC, "adopted"):
                continue
            words = found[one.name]
            if one.name == "never_lost":
                words = self._named(words)
            elif one.name == "loss_limit" and words:
                words = f"{words} percentage points by mass"
            elif one.name == vehicle_policies.SECOND_PERSON:
                words = "asked for: for proposals and for statements" if words else "not asked for"
            rules.append((one.label, words))
        laid_down = f"Laid down on {day_of(found['at'])} by {self.called(found['by'])}"
        adopted = f"; adopted: {found['adopted']}" if found["adopted"] else ""
        return Policy(tuple(rules), f"{laid_down}{adopted}.")

    def _named(self, ids: str) -> str:
        """``HAR-FR Frames; HAR-BO Boiler``"""
        positions = self.gathered.rows.positions
        listed = [one.strip() for one in ids.split(";") if one.strip()]
        found = [(one, positions.get(key_of(one))) for one in listed]
        return "; ".join(f"{position.code} {position.name}" if position else one for one, position in found)

    # --- decisions ------------------------------------------------------------------------------------------------

    def log(self) -> tuple[LogRow, ...]:
        """What was decided of this vehicle, the latest first."""
        rows = [*self._written(), *self._decided(), *self._signed()]
        rows.sort(key=lambda pair: pair[0])  # what happened at one moment stays in its order
        return tuple(row for _, row in reversed(rows))

    def _written(self) -> Iterator[tuple[str, LogRow]]:
        policy = self.texts["policy"]
        if policy is not None:
            more = f"adopted: {policy['adopted']}" if policy["adopted"] else ""
            yield policy["at"], LogRow(day_of(policy["at"]), "policy laid down", self.called(policy["by"]), more)
        positions = self.gathered.rows.positions
        for one in self.texts["significance"]:
            position = positions.get(one["position"])
            what = f"significance written: {position.name if position else 'the whole vehicle'}"
            yield one["at"], LogRow(day_of(one["at"]), what, self.called(one["by"]))

    def _decided(self) -> Iterator[tuple[str, LogRow]]:
        for one in self.texts["proposals"]:
            words = AFTERWARDS_WORDS if was_afterwards(one) else DECISIONS
            for act in one.get("acts", ()):
                if act["kind"] in words:
                    what = f"{one['code']} {one['title']}: {words[act['kind']]}"
                    yield act["at"], LogRow(day_of(act["at"]), what, self.decider(act), self._beside(act))

    def decider(self, act: dict[str, Any]) -> str:
        """The body, and whoever wrote it down."""
        told = ", ".join(filter(None, [act["details"].get("body", ""), act["details"].get("minute", "")]))
        who = self.called(act["by"]) + (" (the author)" if act["details"].get("by_author") else "")
        return f"{told}; {who}" if told else who

    def _beside(self, act: dict[str, Any]) -> str:
        if not self.internal:
            return ""
        dissent = act["details"].get("dissent", "")
        return "; ".join(filter(None, [act["words"], f"dissent: {dissent}" if dissent else ""]))

    def _signed(self) -> Iterator[tuple[str, LogRow]]:
        """Of an issued statement: who prepared and who issued it, and those before it."""
        signed = self.texts.get("signed")
        if signed is None:
            return
        number, at, writer = signed["number"], signed["at"], self.called(signed["written_by"])
        second = signed["agreed_by"]
        if second is None:
            yield at, LogRow(day_of(at), f"{number} issued", writer, "no second person")
        else:
            asked_at = signed["asked_at"] or at
            yield asked_at, LogRow(day_of(asked_at), f"{number} prepared", writer)
            yield at, LogRow(day_of(at), f"{number} issued", self.called(second), "as a second person")
        for one in signed["earlier"]:
            ends = f"withdrawn on {day_of(one['withdrawn_at'])}" if one["withdrawn_at"] else ""
            yield one["at"], LogRow(day_of(one["at"]), f"{one['number']} issued", self.called(one["issued_by"]), ends)

    def cases(self, codes: Iterable[str]) -> Iterator[Case]:
        """Of the proposals with these codes, in the order of their numbers."""
        wanted = set(codes)
        for one in self.texts["proposals"]:
            if one["code"] in wanted:
                need = [one["answers"].get("why", "").capitalize(), one["answers"].get("fails", "")]
                against = [way for way in one["alternatives"] if not way["recommended"]]
                yield Case(
                    one["code"],
                    one["title"],
                    ": ".join(filter(None, need)),
                    "; ".join(_with_reason(way) for way in against),
                    self._decided_on(one),
                )

    def _decided_on(self, proposal: dict[str, Any]) -> str:
        act = act_of(proposal, ("approved", "declined"))
        if act is None:
            return "not decided"
        return f"{self.decider(act)}, {'written up on ' if was_afterwards(proposal) else ''}{day_of(act['at'])}"

    # --- in public ------------------------------------------------------------------------------------------------

    def in_public(self) -> InPublic:
        account, views = self.gathered.account, self.gathered.figures
        policy = self.texts["policy"] or {}
        view = figure_view(account.figures["mass"], account.inputs, public=True)
        panel = policy.get("panel", "")
        agrees = agreement(panel, printed_bounds(views)) if panel else ""
        claims = [one.strip() for one in policy.get("not_claimed", "").splitlines() if one.strip()]
        sentence = f"{view.plain} As at {view.day}, as far as anybody knows."
        return InPublic(sentence, panel, agrees, (*self._never(), *claims))

    def _never(self) -> Iterator[str]:
        rows = self.gathered.account.figures["mass"].rows
        new = [row for row in rows if row.status in ("replica", "modern substitute")]
        hidden = sum(row.visibility == "hidden" for row in new)
        yield NEVER[0]
        if new:
            yield (
                f"That it is all original, or as it left the works: {count_of(len(new), 'part')} "
                f"{'is a replica or a modern substitute' if len(new) == 1 else 'are replicas or modern substitutes'}, "
                f"{hidden} of them hidden."
            )
        if unknown := sum(not row.status for row in rows):
            yield f"That what nobody has assessed ({count_of(unknown, 'part')}) is original, or that it is new."
        if other := sum(row.category == FROM_ELSEWHERE for row in rows):
            yield f"That what came from another vehicle ({count_of(other, 'part')}) is original to this one."
        yield from NEVER[1:]


def _with_reason(way: dict[str, Any]) -> str:
    """``Do nothing (the boiler stays empty)``"""
    return f"{way['title']} ({way['why_not'].rstrip('.')})" if way["why_not"] else str(way["title"])


def _heads(position: str, found: dict[str, Any] | None) -> tuple[tuple[str, str], ...]:
    fields = significance_texts.fields_for(position)
    return tuple((one.label, found[one.name] if found else "") for one in fields)


def _grades_by_group(positions: dict[str, Position]) -> dict[str, str]:
    """By key of a main group: ``2 exceptional, 14 considerable`` of the positions in it, wear parts aside."""
    counted: dict[str, Counter[str]] = {key: Counter() for key, one in positions.items() if one.parent_id is None}
    for one in positions.values():
        if one.significance and not one.wear_part:
            counted.setdefault(_top(one, positions), Counter())[one.significance] += 1
    return {
        key: ", ".join(f"{some[grade]} {grade}" for grade in SIGNIFICANCE if some[grade])
        for key, some in counted.items()
    }


def _top(position: Position, positions: dict[str, Position]) -> str:
    while position.parent_id is not None and position.parent_id in positions:
        position = positions[position.parent_id]
    return str(position.key)


def printed_bounds(views: Iterable[FigureView]) -> list[tuple[Fraction, Fraction]]:
    """Every pair of bounds as visitors are told them: in whole numbers, outwards."""
    return [
        (Fraction(shown_low(one.low, 0)), Fraction(shown_high(one.high, 0)))
        for view in views
        for one in (view.own, view.whole)
        if one is not None
    ]


def day_of(at: str) -> str:
    """Of a moment as it is frozen, on the railway's clocks."""
    return day_in_words(timezone.localtime(datetime.fromisoformat(at)).date())


