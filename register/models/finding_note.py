"""What an officer says of a finding: that it is in order, and why; or that it is not, after all."""

from __future__ import annotations

from django.conf import settings
from django.db import models

VERBS = ("explained", "opened again")
EXPLAINED, OPENED = VERBS


class FindingNote(models.Model):
    """``fingerprint`` is the finding's, with the facts it rests on: when they change, the note is of an older finding and
    the finding is open. The last note of a fingerprint holds. Only ever added to; place: ``parts/FR-001``, for the reader
    of a backup."""

    fingerprint = models.CharField(max_length=64, db_index=True)
    code = models.CharField(max_length=40)
    place = models.CharField(max_length=300)
    verb = models.CharField(max_length=20, choices=[(verb, verb) for verb in VERBS])
    reason = models.TextField()
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()
    token = models.CharField(max_length=64, null=True, blank=True, unique=True)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.code} {self.place}: {self.verb}"
