"""What a vehicle, or a main group of it, is worth in words: every version, the latest counts.

The grade of a position is fabric data and stands in the exchange tables, which have no place for these texts. Rows are only
ever added, as those of a policy.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models

from register.models.base import text


class SignificanceText(models.Model):
    """A version of what a vehicle (its key) is worth in words, or one of its main groups (position: the key of a top
    position, "" for the whole). rarity: of the whole alone."""

    vehicle = models.CharField(max_length=40, db_index=True)
    position = models.CharField(max_length=40, blank=True, default="")
    evidential = text()
    historical = text()
    aesthetic = text()
    communal = text()
    rarity = text()
    loss = text()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"Significance of {self.position or self.vehicle}"
