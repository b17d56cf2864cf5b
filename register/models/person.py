"""Persons: their names live here only, so that a name can be withdrawn while the record still holds."""

from __future__ import annotations

from register.models.base import Recorded, history, not_empty, short, text


class Person(Recorded):
    name = short()
    role = short()
    public_as = short()
    consent = text()
    history = history()

    class Meta:
        verbose_name_plural = "people"
        constraints = (*not_empty("name"),)

    def __str__(self) -> str:
        return str(self.name)
