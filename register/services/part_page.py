"""What the page of a part is made of: where it has been, what it is held to be and why, what was done to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from register.exchange.values import key_of
from register.fabric.dates import span_of
from register.fabric.evidence import Citation as Cited
from register.fabric.evidence import strength
from register.models import (
    Assessment,
    ChangeSet,
    Citation,
    Installation,
    Movement,
    Part,
    Photograph,
    Treatment,
)
from register.models.change_set import RETURNED, WAITING
from register.services.inputs import NoSuch
from register.services.opinions import Opinion, opinions_on
from register.services.photograph_records import photographs_of


@dataclass(frozen=True, slots=True)
class PartPage:
    """in_force: the accepted assessment with the latest day, None where there is none; its strength 0 to 3 and whether
    a citation contradicts it."""

    part: Part
    installations: list[Installation]
    in_force: Assessment | None
    strength: int
    disputed: bool
    assessments: list[Assessment]
    treatments: list[Treatment]
    citations: list[Citation]
    movements: list[Movement]
    photographs: list[Photograph]
    waiting: list[ChangeSet]
    opinions: list[Opinion]


def part_page(part_id: str, user: Any) -> PartPage:
    """Everything about one part, in a fixed number of queries. Raises NoSuch."""
    part = Part.objects.select_related("owner").filter(key=key_of(part_id)).first()
    if part is None:
        raise NoSuch(f"There is no part {part_id} in this register.")
    installations = sorted(
        Installation.objects.filter(part=part).select_related("position__vehicle"), key=_begins
    )
    assessments = sorted(
        Assessment.objects.filter(part=part).select_related("assessor", "original_to"),
        key=lambda one: one.assessed_on_edtf,
        reverse=True,
    )
    in_force = next((one for one in assessments if one.state == "accepted"), None)
    citations = list(Citation.objects.filter(part=part).select_related("source"))
    found = strength_of(in_force, citations)
    return PartPage(
        part,
        installations,
        in_force,
        *found,
        assessments,
        _by_date(Treatment.objects.filter(part=part).select_related("done_by")),
        citations,
        _by_date(Movement.objects.filter(part=part).select_related("place", "with_part"), "moved_on_edtf"),
        photographs_of(user, part=part.key),
        list(
            ChangeSet.objects.filter(
                Q(part=part.key) | Q(about__contains=f";parts:{part.key};"), state__in=(WAITING, RETURNED)
            )
        ),
        opinions_on([part.key]),
    )


def strength_of(assessment: Assessment | None, citations: list[Citation]) -> tuple[int, bool]:
    """Strength of an assessment from the citations that belong to it: those of its day, and those that name no day."""
    if assessment is None:
        return 0, False
    own = [one for one in citations if one.assessed_on_edtf in ("", assessment.assessed_on_edtf)]
    return strength(
        Cited(one.source.kind, one.source_id, bool(one.source.date_edtf), one.supports) for one in own
    )


def _by_date(rows: Any, name: str = "date_edtf") -> list[Any]:
    return sorted(rows, key=lambda one: span_of(getattr(one, name)).best)


def _begins(row: Installation) -> int:
    if row.fitted_edtf == "as built" or not row.fitted_edtf:
        return (
            span_of(row.position.vehicle.built_edtf).best
            if row.fitted_edtf
            else span_of(row.seen_on_edtf).best
        )
    return span_of(row.fitted_edtf).best
