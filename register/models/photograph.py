"""Photographs: the original is kept privately under its SHA-256; what is shown is a copy without metadata."""

from __future__ import annotations

from django.db import models

from register.fabric.vocabulary import ACCESS
from register.models.base import Recorded, choice, edtf, history, not_empty, one_of, short, text, to


class Photograph(Recorded):
    file = short()
    sha256 = models.CharField(max_length=64)
    vehicle = to("register.Vehicle", name="photographs")
    part = to("register.Part", name="photographs")
    source = to("register.Source", name="photographs")
    caption = text()
    credit = short()
    licence = short()
    taken = short()
    taken_edtf = edtf()
    access = choice(ACCESS, default="public")
    history = history()

    class Meta:
        constraints = (*not_empty("file", "sha256"), one_of("access", ACCESS))

    def __str__(self) -> str:
        return str(self.caption or self.file)
