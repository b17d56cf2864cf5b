"""Parts: physical objects that keep their identity wherever they go; and the treatments that renewed some of them."""

from __future__ import annotations

from django.db import models

from register.fabric.interval import MILLION
from register.fabric.vocabulary import ACCESS, DISPOSAL, MASS_BASIS
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


class Part(Recorded):
    name = short()
    material = short()
    made = short()
    made_edtf = edtf()
    maker = short()
    marks = text()
    date_mark = text()
    quantity = models.PositiveIntegerField(default=1)
    mass_low = whole_number()
    mass = whole_number()
    mass_high = whole_number()
    mass_basis = optional_choice(MASS_BASIS)
    gross_mass = short()
    gross_mass_low = whole_number()
    gross_mass_best = whole_number()
    gross_mass_high = whole_number()
    hazards = short()
    owner = to("register.Person")
    disposal = choice(DISPOSAL, default="none")
    disposal_date = short()
    disposal_date_edtf = edtf()
    tag = models.CharField(max_length=8, unique=True)
    access = choice(ACCESS, default="public")
    public_note = text()
    remarks = text()
    history = history()

    class Meta:
        constraints = (
            *not_empty("name"),
            one_of("mass_basis", MASS_BASIS, blank=True),
            one_of("disposal", DISPOSAL),
            one_of("access", ACCESS),
            *in_order("mass_low", "mass", "mass_high"),
            models.CheckConstraint(
                condition=models.Q(quantity__gte=1),
                name="part_at_least_one",
                violation_error_message="A quantity is at least 1.",
            ),
            models.CheckConstraint(
                condition=models.Q(disposal="none") | ~models.Q(disposal_date_edtf=""),
                name="part_disposal_dated",
                violation_error_message="A disposal needs its date.",
            ),
        )

    def __str__(self) -> str:
        return str(self.name)


class Treatment(Recorded):
    part = to("register.Part", required=True, name="treatments")
    date = short()
    date_edtf = edtf()
    work = text()
    done_by = to("register.Person")
    replaced_low = whole_number()
    replaced = whole_number()
    replaced_high = whole_number()
    history = history()

    class Meta:
        constraints = (
            *not_empty("date_edtf", "work"),
            *in_order("replaced_low", "replaced", "replaced_high", ceiling=MILLION),
        )

    def __str__(self) -> str:
        return str(self.work)
