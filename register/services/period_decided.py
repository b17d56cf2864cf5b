"""What was decided in a period and what was issued: proposals, finds that were accepted, conservation statements. In a
fixed number of queries."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any

from django.utils import timezone

from register.documents.period_content import Line
from register.fabric.dates import day_in_words
from register.models import Entry, ProposalAct, ReviewEntry, Statement
from register.models.statement import ISSUED, PUBLISHED, UNPUBLISHED, WITHDRAWN
from register.services.chain import told_by
from register.services.known import start_of
from register.services.period_moments import Moments
from register.services.proposal_fields import AFTERWARDS

OUTCOMES = {
    "approved": "approved",
    "declined": "declined",
    "withdrawn": "withdrawn before it was decided",
    "returned": "returned with a question",
    "done": "carried out and recorded",
}
"""What is told of a proposal, by the kind of act."""

ABOUT = re.compile(r";(parts|vehicles):([^;]+)")
WHAT_OF_IT = {ISSUED: "issued", WITHDRAWN: "withdrawn", PUBLISHED: "published", UNPUBLISHED: "taken back from the public"}
OPEN_TO_ALL = (ISSUED, WITHDRAWN)

ByVehicle = Mapping[str, list[Line]]


def _between(moments: Moments) -> dict[str, datetime]:
    return {"at__gte": start_of(moments.first_day), "at__lt": start_of(moments.last_day + timedelta(days=1))}


def _day(at: datetime) -> str:
    return day_in_words(timezone.localtime(at).date())


def proposals_decided(moments: Moments) -> ByVehicle:
    """By the vehicle's key."""
    found: dict[str, list[Line]] = defaultdict(list)
    if not moments.sight.proposals:
        return found
    acts = ProposalAct.objects.filter(kind__in=OUTCOMES, **_between(moments)).order_by("proposal__number", "pk")
    for proposal, own in groupby(acts.select_related("proposal", "user"), key=lambda act: act.proposal):
        listed = list(own)
        days = ", ".join(dict.fromkeys(_day(act.at) for act in listed))
        said = tuple(words for act in listed for words in _said_of(act, moments) if words)
        found[proposal.vehicle].append(Line(days, proposal.title, proposal.code, said=said))
    return found


def _said_of(act: ProposalAct, moments: Moments) -> Iterator[str]:
    chosen: Mapping[str, Any] = next((one for one in act.case.get("alternatives", ()) if one["recommended"]), {})
    details, answers = act.details, act.case.get("answers", {})
    outcome = OUTCOMES[act.kind]
    if chosen.get("kind") == AFTERWARDS:
        outcome = f"{outcome}, written up long after the work"
    is_named = chosen and act.kind == "approved" and chosen["title"] != act.proposal.title
    yield f"{outcome}: {chosen['title']}" if is_named else outcome
    need = ": ".join(filter(None, [answers.get("why", ""), answers.get("fails", "")]))
    if need and act.kind == "approved":
        yield f"why: {need}"
    if act.words:
        yield f"{'conditions' if act.kind == 'approved' else 'reason'}: {act.words}"
    who = ", ".join(filter(None, [details.get("body", ""), moments.after.seen.user(act.user), details.get("minute", "")]))
    if who and act.kind in ("approved", "declined"):
        yield f"decided by {who}{' (its author)' if details.get('by_author') else ''}"
    if details.get("dissent"):
        yield f"dissent: {details['dissent']}"


def finds_accepted(moments: Moments) -> ByVehicle:
    """By the key of each vehicle concerned, "" for parts that belong to none; for those who review finds."""
    found: dict[str, list[Line]] = defaultdict(list)
    if not moments.sight.finds:
        return found
    entries = ReviewEntry.objects.filter(verb="accepted", change_set__kind="find", **_between(moments)).order_by("pk")
    for entry in entries.select_related("user", "change_set__author"):
        change_set, seen = entry.change_set, moments.after.seen
        who = [f"handed in by {seen.user(change_set.author)}", f"accepted by {seen.user(entry.user)}"]
        said = ("a find, accepted", *(one for one in who if not one.endswith("by ")), entry.text)
        line = Line(_day(entry.at), change_set.title, said=tuple(filter(None, said)))
        for vehicle in dict.fromkeys(_concerned(change_set.about, moments)):
            found[vehicle].append(line)
    return found


def _concerned(about: str, moments: Moments) -> Iterator[str]:
    for table, key in ABOUT.findall(about):
        if table == "vehicles":
            yield key
        else:
            home = moments.after.happened.home(key, moments.period.last)
            yield home.vehicle if home else ""


def statements_entered(moments: Moments) -> ByVehicle:
    """What was entered in the chain in the period, by vehicle."""
    found: dict[str, list[Line]] = defaultdict(list)
    if not moments.sight.statements:
        return found
    statements = {one.number: one for one in Statement.objects.all()}
    start, end = _between(moments).values()
    for entry in Entry.objects.order_by("seq"):
        told, statement = told_by(entry), statements[entry.number]
        at = datetime.fromisoformat(told["at"])
        if start <= at < end and (not moments.sight.public or entry.kind in OPEN_TO_ALL):
            said = tuple(filter(None, _said_of_statement(entry, told, statement, moments)))
            found[statement.vehicle].append(Line(_day(at), f"Statement {statement.number}", said=said))
    return found


def _said_of_statement(entry: Entry, told: Mapping[str, Any], statement: Statement, moments: Moments) -> Iterator[str]:
    yield WHAT_OF_IT[entry.kind]
    yield f"as at {day_in_words(statement.day)}, against {statement.reference}"
    if entry.kind == ISSUED and statement.supersedes:
        yield f"supersedes {statement.supersedes}"
    if not moments.sight.public and (why := told.get("why") or told.get("reason")):
        yield str(why)
