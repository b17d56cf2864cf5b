"""Sources, and the citations that bring them to bear on an assessment."""

from __future__ import annotations

from django.db import models

from register.fabric.vocabulary import ACCESS, SOURCE_KINDS
from register.models.base import Recorded, choice, edtf, history, not_empty, one_of, short, text, to


class Source(Recorded):
    kind = choice(SOURCE_KINDS)
    title = text()
    author = short()
    date = short()
    date_edtf = edtf()
    repository = short()
    reference = short()
    access = choice(ACCESS, default="public")
    history = history()

    class Meta:
        constraints = (*not_empty("title"), one_of("kind", SOURCE_KINDS), one_of("access", ACCESS))

    def __str__(self) -> str:
        return str(self.title)


class Citation(Recorded):
    part = to("register.Part", required=True, name="citations")
    source = to("register.Source", required=True, name="citations")
    supports = models.BooleanField(default=True)
    locator = text()
    assessed_on = short()
    assessed_on_edtf = edtf()
    note = text()
    history = history()

    def __str__(self) -> str:
        return f"{self.source_id} on {self.part_id}"
