"""Stored change sets: what waits for review, and what was said of it. Nothing here counts in any figure before it is
applied."""

from __future__ import annotations

from django.conf import settings
from django.db import models

STATES = ("waiting", "returned", "standing", "accepted", "superseded", "withdrawn", "settled")
WAITING, RETURNED, STANDING, ACCEPTED, SUPERSEDED, WITHDRAWN, SETTLED = STATES
OPEN = (WAITING, RETURNED, STANDING)
"""What is not decided yet, or stands beside what was."""


class ChangeSet(models.Model):
    """``changes`` is a list of exchange rows as typed: {"table", "action", "row_id", "values": {column: text}}, and
    "new": true where the author saw no such record yet.

    A draft assessment that came in a file, and a differing opinion, keep their ``row_id``; ``part`` and ``day`` tell
    the same draft again. kind: find, opinion, proposal and so on: what its author calls it. made_by: the act that
    brought it, of a file. base_no: the change_no that the author saw. token: of the form that was sent. about: every
    record that it names, as ``;parts:p1;vehicles:l1;``, to find it by.
    """

    title = models.CharField(max_length=300)
    reason = models.TextField(blank=True, default="")
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="change_sets"
    )
    changes = models.JSONField()
    state = models.CharField(
        max_length=20, choices=[(state, state) for state in STATES], default=WAITING, db_index=True
    )
    kind = models.CharField(max_length=40, blank=True, default="")
    row_id = models.CharField(max_length=40, null=True, blank=True, unique=True)
    code = models.CharField(max_length=40, blank=True, default="")
    part = models.CharField(max_length=40, blank=True, default="", db_index=True)
    day = models.CharField(max_length=10, blank=True, default="")
    about = models.TextField(blank=True, default="")
    base_no = models.PositiveBigIntegerField(null=True, blank=True)
    token = models.CharField(max_length=64, null=True, blank=True, unique=True)
    made_at = models.DateTimeField(null=True, blank=True)
    made_by = models.ForeignKey(
        "register.Act", null=True, blank=True, on_delete=models.PROTECT, related_name="made_change_sets"
    )
    decided_by = models.ForeignKey(
        "register.Act", null=True, blank=True, on_delete=models.PROTECT, related_name="decided_change_sets"
    )

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.title


class ReviewEntry(models.Model):
    """One thing that was done to a stored change set, or said of it: who, when, what. Never changed or deleted.

    changes: what the change set held until then, where its author wrote it anew.
    """

    change_set = models.ForeignKey(ChangeSet, on_delete=models.CASCADE, related_name="entries")
    at = models.DateTimeField()
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    verb = models.CharField(max_length=20)
    text = models.TextField(blank=True, default="")
    changes = models.JSONField(null=True, blank=True)
    token = models.CharField(max_length=64, null=True, blank=True, unique=True)

    class Meta:
        ordering = ("pk",)
        verbose_name_plural = "review entries"

    def __str__(self) -> str:
        return f"{self.change_set_id}: {self.verb}"
