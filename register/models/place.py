"""Places, and the movements of parts between them."""

from __future__ import annotations

from django.db import models

from register.fabric.vocabulary import ACCESS
from register.models.base import Recorded, choice, edtf, history, not_empty, one_of, short, text, to


class Place(Recorded):
    name = short()
    parent = to("self", name="children")
    access = choice(ACCESS, default="restricted")
    history = history()

    class Meta:
        constraints = (*not_empty("name"), one_of("access", ACCESS))

    def __str__(self) -> str:
        return str(self.name)


class Movement(Recorded):
    part = to("register.Part", required=True, name="movements")
    moved_on = short()
    moved_on_edtf = edtf()
    place = to("register.Place", name="movements")
    with_part = to("register.Part", name="carried")
    due_back = short()
    due_back_edtf = edtf()
    reason = text()
    history = history()

    class Meta:
        constraints = (
            *not_empty("moved_on_edtf"),
            models.CheckConstraint(
                condition=models.Q(place__isnull=True) | models.Q(with_part__isnull=True),
                name="movement_one_way",
                violation_error_message="A part goes to a place or lies with another part, not both.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.part_id} moved {self.moved_on}"
