"""Positions: the places in a vehicle where parts are fitted. A tree by ``parent``, read whole and built in memory."""

from __future__ import annotations

from django.db import models

from register.fabric.vocabulary import SIGNIFICANCE, VISIBILITY
from register.models.base import (
    Recorded,
    choice,
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


class Position(Recorded):
    vehicle = to("register.Vehicle", required=True, name="positions")
    parent = to("self", name="children")
    name = short()
    visibility = choice(VISIBILITY)
    significance = optional_choice(SIGNIFICANCE)
    significance_by = to("register.Person")
    significance_reason = text()
    wear_part = models.BooleanField(default=False)
    design_mass_low = whole_number()
    design_mass = whole_number()
    design_mass_high = whole_number()
    safety = short()
    tag = models.CharField(max_length=8, unique=True)
    history = history()

    class Meta:
        constraints = (
            *not_empty("name"),
            one_of("visibility", VISIBILITY),
            one_of("significance", SIGNIFICANCE, blank=True),
            *in_order("design_mass_low", "design_mass", "design_mass_high"),
            models.CheckConstraint(
                condition=models.Q(parent__isnull=True) | ~models.Q(parent=models.F("key")),
                name="position_not_its_own_parent",
                violation_error_message="A position is not part of itself.",
            ),
        )

    def __str__(self) -> str:
        return str(self.name)
