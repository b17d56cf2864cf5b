"""A statement about to be issued: what it is frozen from at one moment of the register, its papers, what stands in its way."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from functools import cached_property
from typing import Any

from django.conf import settings
from django.utils import timezone

from register.documents.change_words import ChangeTold
from register.documents.fonts import missing_glyphs
from register.documents.statement import render
from register.documents.statement_content import Issue
from register.documents.statement_content import Statement as Content
from register.documents.statement_editions import EDITIONS, INTERNAL, PUBLIC, for_edition
from register.exchange.faults import Fault, Refused
from register.exchange.frozen import canonical, frozen_bytes, register_of, sheets_of
from register.exchange.records import Register
from register.fabric.figures_json import as_json
from register.models import IssueRequest, Statement, User
from register.services.chain import head, record_columns, record_digests
from register.services.changes import Side, compared, in_words, of_rows, of_statement
from register.services.figures import vehicle_named
from register.services.freezing import cut_of
from register.services.inputs import NoSuch
from register.services.issue_requests import (
    NOT_A_SECOND,
    SECOND_NEEDED,
    is_same_person,
    latest_of,
    refuse_stale,
    refused,
    standing_request,
)
from register.services.loading import last_change_no
from register.services.public import NOT_PUBLISHED, public_register
from register.services.readiness import Case, Group, Readiness, readiness, shown_letter
from register.services.statement_figures import METHOD_VERSION, stated, statement_figures, typed_ids_of
from register.services.statements import gathered, software_version
from register.services.vehicle_page import Question
from register.services.vehicle_policies import policy_of

INPUTS, FIGURES = "inputs.json", "figures.json"
LISTED = 20
"""Ids that a paper lists of one kind of finding."""


class AlreadyIssued(Exception):
    """Somebody else was first. ``statement`` is theirs; str() is the sentence."""

    def __init__(self, statement: Statement) -> None:
        self.statement = statement
        super().__init__(
            f"{statement.number} of this vehicle was issued meanwhile. Read it first, then issue again if it must be superseded."
        )


def number_of(serial: int) -> str:
    """``CS-0012``: one row of numbers for the whole register."""
    return f"CS-{serial:04d}"


def edition_file(edition: str) -> str:
    return f"{edition}.pdf"


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be issued. user: who wrote it; agreed_by: the second person, who issues it, of the request. after: the number
    of the vehicle's latest statement as the officer knew it, "" for none, None where it does not matter. reasons: why
    findings are accepted, by code. request: in which one officer asked another."""

    vehicle: str
    day: date
    reference: str | None = None
    user: User | None = None
    agreed_by: User | None = None
    reasons: Mapping[str, str] | None = None
    why: str = ""
    after: str | None = None
    token: str | None = None
    request: IssueRequest | None = None


class Prepared:
    """A statement about to be issued: what it is frozen from, at one moment of the register."""

    def __init__(self, asked: Asked, at: datetime) -> None:
        self.asked, self.at = asked, at
        self.record: dict[str, Any] = {}
        self.before: Side | None = None
        self.outside: Content | None = None
        self.change_no = last_change_no()
        self.length, self.previous = head()
        self.vehicle = vehicle_named(asked.vehicle)
        self.latest = latest_of(self.vehicle.key)
        self.policy = policy_of(self.vehicle.key)
        self.serial = Statement.objects.count() + 1
        self.gathered = gathered(self.vehicle.key, Question(asked.day, asked.reference))
        self.content = self.gathered.content(asked.user, internal=True)
        self.register = cut_of(self.vehicle.key)
        self.reference = stated(
            self.register, self.vehicle.key, asked.day, asked.reference or ""
        ).reference.label
        self.inputs = frozen_bytes(self.register)
        self.readiness: Readiness = readiness(
            Case(self.vehicle.key, self.register, self.content, asked.day, self.reference, at),
            asked.reasons or {},
        )

    @property
    def number(self) -> str:
        return number_of(self.serial)

    @property
    def issue(self) -> int:
        return self.latest.issue + 1 if self.latest else 1

    @property
    def supersedes(self) -> str:
        return self.latest.number if self.latest else ""

    @property
    def needs_second(self) -> bool:
        """Whether the policy of the vehicle asks for a second person."""
        return self.policy is not None and self.policy.second_person

    @cached_property
    def sha256(self) -> str:
        """Of what a second person agrees to: the rows, the question, what was found and why it is accepted."""
        rows = [[name, header, rows] for name, header, rows in sheets_of(self.register)]
        said = [self.asked.day.isoformat(), self.reference, self.asked.why.strip(), self.supersedes, self.accepted()]
        return hashlib.sha256(canonical([rows, said])).hexdigest()

    def accepted(self) -> list[dict[str, Any]]:
        """What was found and accepted, as its entry has it."""
        return [
            {"code": group.code, "records": [one.record for one in group.found], "reason": group.reason}
            for group in self.readiness.groups
        ]

    def checked(self, *, to_be_asked: bool = False) -> Prepared:
        """Itself, if nothing stands in the way. to_be_asked: a second person is to be asked, and need not have been."""
        asked = self.asked
        if asked.after is not None and self.latest and self.latest.number != asked.after:
            raise AlreadyIssued(self.latest)
        if asked.request is not None:
            refuse_stale(asked.request, self.sha256)
        faults = [Fault("", None, "", "", one.message) for one in self.readiness.blocking]
        faults += [
            Fault("", None, one.name, "", f"say why this is accepted ({one.code}), or put it right.")
            for one in self.readiness.lacking
        ]
        if self.needs_second and asked.agreed_by is None and not to_be_asked:
            faults.append(Fault("", None, "", "", SECOND_NEEDED))
        if asked.agreed_by is not None and (asked.user is None or is_same_person(asked.agreed_by, asked.user)):
            faults.append(Fault("", None, "", "", NOT_A_SECOND))
        if self.latest and not asked.why.strip():
            faults.append(
                Fault("", None, "why", "", f"say what {self.latest.number} no longer says rightly: this one supersedes it.")
            )
        faults += self.unprintable()
        if faults:
            raise Refused(faults)
        return self

    def unprintable(self) -> list[Fault]:
        """What the officer typed for the paper that its typeface cannot print."""
        typed = [("why", self.asked.why), *((one.name, one.reason) for one in self.readiness.groups)]
        return [
            Fault("", None, name, "", f"the typeface has no {shown_letter(letters[0])}: write it another way.")
            for name, text in typed
            if (letters := missing_glyphs(text))
        ]

    def is_of_now(self) -> bool:
        """Whether nothing was recorded, laid down, issued, withdrawn or taken back since."""
        request = self.asked.request
        return (
            self.change_no == last_change_no()
            and (self.length, self.previous) == head()
            and self.policy == policy_of(self.vehicle.key)
            and (request is None or request == standing_request(self.vehicle.key))
        )

    def figures(self) -> dict[str, Any]:
        """From the frozen bytes, and equal to what the papers print. Raises Refused where it is not."""
        frozen = register_of(self.inputs)
        found = statement_figures(frozen, self.vehicle.key, self.asked.day, self.reference)
        ids = typed_ids_of(frozen, self.vehicle.key)
        computed = [canonical(one) for one in found["fabric"]]
        for view in self.content.figures:
            if canonical(as_json(view.answer, ids)) not in computed:
                raise refused(
                    "",
                    "the figures worked out from the frozen rows are not those of the register. Nothing was issued; "
                    "this is a fault of the program, so tell whoever looks after it.",
                )
        return found

    def papers(self) -> dict[str, bytes]:
        """Every file by name."""
        figures = canonical(self.figures())
        columns = record_columns()
        self.record = {
            "columns": columns,
            "sha256": record_digests(columns, [self.change_no])[self.change_no],
        }
        self.outside = self.gathered.content(self.asked.user)
        papers = {INPUTS: self.inputs, FIGURES: figures}
        for edition in EDITIONS:
            papers[edition_file(edition)] = render(self.paper(edition, figures))
        return papers

    def paper(self, edition: str, figures: bytes) -> Content:
        gathered = self.content if edition == INTERNAL or self.outside is None else self.outside
        content = for_edition(gathered, edition, **_what_is_public(self.register, self.vehicle.key))
        issue = Issue(
            number=self.number,
            edition=edition,
            issued_on=timezone.localdate(self.at),
            approved_by=public_name(self.asked.agreed_by) if self.asked.agreed_by else "",
            supersedes=self.supersedes,
            inputs_sha256=hashlib.sha256(self.inputs).hexdigest(),
            check_at=check_address(self.number),
            issue=self.issue,
            figures_sha256=hashlib.sha256(figures).hexdigest(),
            entry=self.length + 1,
            previous=self.previous,
            accepted=tuple(map(_accepted, self.readiness.groups)) if edition != PUBLIC else (),
            why=self.asked.why.strip(),
            changed=self.changed(without_restricted=edition == "public"),
        )
        front = replace(
            content.front, issue=issue, written_by=content.front.written_by or "the heritage officer"
        )
        return replace(content, front=front)

    def changed(self, *, without_restricted: bool) -> ChangeTold | None:
        """Since the statement that this one supersedes."""
        if self.latest is None:
            return None
        if self.before is None:
            self.before = of_statement(self.latest.number)
        try:
            now = of_rows(
                self.register, self.vehicle.key, self.asked.day, self.reference, called=self.number
            )
            return in_words(
                self.before, now, compared(self.before, now), without_restricted=without_restricted
            )
        except NoSuch:
            return None

    def told(self, papers: Mapping[str, bytes]) -> dict[str, Any]:
        """What its entry says of it."""
        asked = self.asked
        return {
            "issue": self.issue,
            "vehicle": self.vehicle.code,
            "name": self.content.front.name,
            "as_at": asked.day.isoformat(),
            "reference": self.reference,
            "register_id": self.register.register_id,
            "change_no": self.change_no,
            "method_version": METHOD_VERSION,
            "software_version": software_version(),
            "issued_by": asked.user.pk if asked.user else None,
            "agreed_by": asked.agreed_by.pk if asked.agreed_by else None,
            "supersedes": self.supersedes,
            "why": asked.why.strip(),
            "asked_at": asked.request.at.astimezone(UTC).isoformat() if asked.request else None,
            "accepted": self.accepted(),
            "files": {name: hashlib.sha256(data).hexdigest() for name, data in papers.items()},
            "record": self.record,
        }


def public_name(user: User) -> str:
    """The name that a person agreed to be called in print, or the role."""
    if user.person and user.person.public_as:
        return str(user.person.public_as)
    return "a second person of the railway"


def check_address(number: str) -> str:
    """Where a stranger checks a statement; without an address of the site, the words for it."""
    if settings.PUBLIC_BASE_URL:
        return f"{settings.PUBLIC_BASE_URL}/id/statements/{number}/"
    return "the railway’s register, under this number"


def _accepted(group: Group) -> str:
    """As it is printed: what was found, the ids where there are several, and why that is accepted."""
    if len(group.found) == 1:
        return f"{group.found[0].message} Accepted: {group.reason}"
    ids = [one.record for one in group.found if one.record]
    more = f" and {len(ids) - LISTED} more" if len(ids) > LISTED else ""
    return (
        f"{group.code[:1].upper()}{group.code[1:]}, {len(group.found)} found: {', '.join(ids[:LISTED])}{more}. "
        f"Accepted: {group.reason}"
    )


def _what_is_public(register: Register, vehicle: str) -> dict[str, frozenset[str]]:
    """The ids of parts, and the titles of events, that a visitor may read of, were the vehicle published."""
    opened = register.copy()
    opened.tables["vehicles"] |= {vehicle: opened.tables["vehicles"][vehicle] | {"published": True}}
    public = public_register(opened).tables
    return {
        "parts": frozenset(row["_code"] for row in public["parts"].values() if row["name"] != NOT_PUBLISHED),
        "events": frozenset(row["title"] for row in public["events"].values()),
    }
