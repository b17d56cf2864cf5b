"""A statement about to be issued: what it is frozen from at one moment of the register, its papers, what stands in its way."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cached_property
from typing import Any

from register.documents.fonts import missing_glyphs
from register.exchange.faults import Fault, Refused
from register.exchange.frozen import canonical, frozen_bytes, sheets_of
from register.models import IssueRequest, Statement, User, Vehicle
from register.services.chain import head, record_columns, record_digests
from register.services.figures import vehicle_named
from register.services.freezing import cut_of
from register.services.issue_requests import (
    NOT_A_SECOND,
    SECOND_NEEDED,
    is_same_person,
    refuse_stale,
    standing_request,
)
from register.services.issued import all_standings
from register.services.loading import last_change_no
from register.services.proposal_effect import first_stated
from register.services.readiness import Case, Readiness, readiness, shown_letter
from register.services.statement_edition import software_version
from register.services.statement_figures import METHOD_VERSION, stated
from register.services.statement_files import papers_of
from register.services.statement_loss import FirstStated
from register.services.statement_rows import with_what_there_is_one_of
from register.services.statement_texts import person, steps_of, texts_of
from register.services.statements import gathered
from register.services.vehicle_page import Question, vehicle_to_ask_of
from register.services.vehicle_policies import SECOND_PERSON


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
        self.change_no = last_change_no()
        self.length, self.previous = head()
        self.vehicle = vehicle_named(asked.vehicle)
        self.earlier = all_standings(self.vehicle.key)
        self.latest = self.earlier[0].statement if self.earlier else None
        self.serial = Statement.objects.count() + 1
        self.gathered = gathered(self.vehicle.key, Question(asked.day, asked.reference))
        self.laid_down = canonical(self.gathered.texts)
        self.register = self.gathered.register = cut_of(self.vehicle.key, steps_of(self.gathered.texts))
        self.gathered.texts["signed"] = self.signed()
        self.texts = canonical(self.gathered.texts)
        self.content = self.gathered.content(asked.user, internal=True, first=self.first())
        self.outside = self.gathered.content(asked.user, first=self.first())
        self.reference = stated(
            self.register, self.vehicle.key, asked.day, asked.reference or ""
        ).reference.label
        self.inputs = frozen_bytes(self.register)
        self.readiness: Readiness = readiness(
            Case(self.vehicle.key, self.register, self.content, self.outside, asked.day, self.reference, at),
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
        policy = self.gathered.texts["policy"]
        return policy is not None and bool(policy[SECOND_PERSON])

    def signed(self) -> dict[str, Any]:
        """Who wrote it and who issues it, and what was issued of the vehicle before."""
        asked = self.asked
        return {
            "number": self.number,
            "at": self.at.astimezone(UTC).isoformat(),
            "written_by": person(asked.user),
            "asked_at": asked.request.at.astimezone(UTC).isoformat() if asked.request else None,
            "agreed_by": person(asked.agreed_by, "a second person of the railway") if asked.agreed_by else None,
            "earlier": [
                {
                    "number": one.statement.number,
                    "at": one.at.isoformat(),
                    "issued_by": person(one.statement.agreed_by or one.statement.issued_by),
                    "withdrawn_at": one.withdrawn_at.isoformat() if one.withdrawn_at else None,
                }
                for one in self.earlier
            ],
        }

    def first(self) -> FirstStated | None:
        """The first statement of the vehicle, and its best figure as it was printed."""
        return first_stated(self.vehicle.key, self.gathered.account.reference.label) if self.earlier else None

    @cached_property
    def sha256(self) -> str:
        """Of what a second person agrees to: the rows, the question, what was found and why it is accepted."""
        rows = [[name, header, rows] for name, header, rows in sheets_of(self.register)]
        said = [self.asked.day.isoformat(), self.reference, self.asked.why.strip(), self.supersedes, self.accepted()]
        return hashlib.sha256(canonical([rows, said, self.laid_down.decode()])).hexdigest()

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
            and self.laid_down == laid_down_of(self.vehicle.key)
            and (request is None or request == standing_request(self.vehicle.key))
        )

    def papers(self) -> dict[str, bytes]:
        """Every file by name, with what its entry says of the record of acts."""
        columns = record_columns()
        digests = record_digests(columns, [self.change_no])
        self.record = {"columns": columns, "sha256": digests[self.change_no]}
        return papers_of(self)

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


def laid_down_of(vehicle: str) -> bytes:
    """The texts about a vehicle as they are now."""
    found = vehicle_to_ask_of(vehicle, with_what_there_is_one_of(Vehicle.objects.all()))
    return canonical(texts_of(found))
