"""Installations: which part belongs in which position, from when to when."""

from __future__ import annotations

from django.db import models

from register.fabric.vocabulary import VISIBILITY
from register.models.base import Recorded, edtf, history, one_of, optional_choice, short, text, to


class Installation(Recorded):
    position = to("register.Position", required=True, name="installations")
    part = to("register.Part", required=True, name="installations")
    fitted = short()
    fitted_edtf = edtf()
    seen_on = short()
    seen_on_edtf = edtf()
    removed = short()
    removed_edtf = edtf()
    temporary = models.BooleanField(default=False)
    visibility = optional_choice(VISIBILITY)
    reason = text()
    history = history()

    class Meta:
        constraints = (
            one_of("visibility", VISIBILITY, blank=True),
            models.CheckConstraint(
                condition=~models.Q(fitted_edtf="") | ~models.Q(seen_on_edtf=""),
                name="installation_dated",
                violation_error_message="Say when it was fitted, or a day on which it was seen in place.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.part_id} in {self.position_id}"
