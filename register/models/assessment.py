"""Assessments: a named person's dated statement of what a part is. Drafts are stored change sets, never rows here."""

from __future__ import annotations

from django.db import models

from register.fabric.interval import MILLION
from register.fabric.vocabulary import PATTERN_BASIS, STATUSES
from register.models.base import (
    Recorded,
    choice,
    edtf,
    history,
    in_order,
    not_empty,
    one_of,
    optional_choice,
    short,
    text,
    to,
    whole_number,
)

STORED_STATES = ("accepted", "withdrawn")


class Assessment(Recorded):
    part = to("register.Part", required=True, name="assessments")
    assessed_on = short()
    assessed_on_edtf = edtf()
    state = choice(STORED_STATES, default="accepted")
    status = choice(STATUSES)
    original_to = to("register.Vehicle", name="original_parts")
    original_since = short()
    original_since_edtf = edtf()
    fraction_low = whole_number()
    fraction = whole_number()
    fraction_high = whole_number()
    pattern_basis = optional_choice(PATTERN_BASIS)
    assessor = to("register.Person")
    reason = text()
    from_draft = models.BooleanField(default=False, editable=False)
    history = history()

    class Meta:
        constraints = (
            *not_empty("assessed_on_edtf"),
            one_of("state", STORED_STATES),
            one_of("status", STATUSES),
            one_of("pattern_basis", PATTERN_BASIS, blank=True),
            *in_order("fraction_low", "fraction", "fraction_high", ceiling=MILLION),
            models.UniqueConstraint(
                fields=["part", "assessed_on_edtf"],
                condition=models.Q(state="accepted"),
                name="one_accepted_a_day",
                violation_error_message="Two accepted assessments of one part on one day.",
            ),
            models.CheckConstraint(
                condition=~models.Q(status__in=["original", "restored"])
                | ~models.Q(state="accepted")
                | models.Q(original_to__isnull=False),
                name="assessment_original_to_a_vehicle",
                violation_error_message="An original or restored part is original to a vehicle: say which.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.part_id}: {self.status}"
