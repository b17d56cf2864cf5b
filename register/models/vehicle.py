"""Vehicles, the reference periods they are measured against, and the events of their lives."""

from __future__ import annotations

from django.db import models

from register.fabric.vocabulary import ACCESS, EVENT_KINDS, VEHICLE_KINDS
from register.models.base import (
    Recorded,
    choice,
    edtf,
    history,
    not_empty,
    one_of,
    short,
    text,
    to,
    whole_number,
)


class Vehicle(Recorded):
    name = short()
    number = short()
    former_numbers = text()
    kind = choice(VEHICLE_KINDS)
    builder = short()
    works_number = short()
    built = short()
    built_edtf = edtf()
    gauge = short()
    heritage_from = short()
    heritage_from_edtf = edtf()
    empty_mass = short()
    empty_mass_low = whole_number()
    empty_mass_best = whole_number()
    empty_mass_high = whole_number()
    identity_basis = text()
    owner = to("register.Person")
    title_notes = text()
    tag = models.CharField(max_length=8, unique=True)
    in_fleet = models.BooleanField(default=True)
    published = models.BooleanField(default=False)
    summary = text()
    history = history()

    class Meta:
        constraints = (
            *not_empty("name", "built_edtf"),
            one_of("kind", VEHICLE_KINDS),
            models.CheckConstraint(
                condition=models.Q(empty_mass_best__isnull=True) | models.Q(empty_mass_best__gt=0),
                name="vehicle_weighs_something",
                violation_error_message="An empty mass is more than 0.",
            ),
        )

    def __str__(self) -> str:
        return self.full_name

    @property
    def full_name(self) -> str:
        """ "No. 6 Harrow" for a numbered vehicle whose name does not already say so."""
        if not self.number or self.number in self.name:
            return str(self.name)
        return f"No. {self.number} {self.name}" if self.number.isdigit() else f"{self.number} {self.name}"


class ReferencePeriod(Recorded):
    vehicle = to("register.Vehicle", required=True, name="reference_periods")
    label = short()
    date = short()
    date_edtf = edtf()
    default = models.BooleanField(default=False)
    reason = text()
    history = history()

    class Meta:
        constraints = (
            *not_empty("label", "date_edtf"),
            models.UniqueConstraint(fields=["vehicle", "label"], name="reference_label_once"),
        )

    def __str__(self) -> str:
        return str(self.label)


class Event(Recorded):
    vehicle = to("register.Vehicle", required=True, name="events")
    date = short()
    date_edtf = edtf()
    kind = choice(EVENT_KINDS)
    title = text()
    part = to("register.Part", name="events")
    until = short()
    until_edtf = edtf()
    source = to("register.Source", name="events")
    reference = short()
    holder = to("register.Person")
    access = choice(ACCESS, default="public")
    history = history()

    class Meta:
        constraints = (
            *not_empty("date_edtf", "title"),
            one_of("kind", EVENT_KINDS),
            one_of("access", ACCESS),
        )

    def __str__(self) -> str:
        return str(self.title)
