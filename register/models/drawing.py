"""Drawings of vehicles whose regions are linked to positions: the register colours them by status."""

from __future__ import annotations

from django.db import models

from register.models.base import short, text


class Drawing(models.Model):
    """``svg`` is inlined in pages, so only ``services.drawings.load_drawing`` writes it, piece by piece from a short
    list of elements and attributes."""

    vehicle = models.ForeignKey("register.Vehicle", on_delete=models.CASCADE, related_name="drawings")
    name = models.CharField(max_length=40, unique=True)
    title = short()
    svg = text()
    regions = models.JSONField(default=dict)
    """Region to the keys of the positions it shows. A key that is no longer there shows nothing."""

    def __str__(self) -> str:
        return self.title or self.name
