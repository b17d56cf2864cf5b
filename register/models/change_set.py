"""Stored change sets: what waits for review. Nothing here counts in any figure before it is applied."""

from __future__ import annotations

from django.conf import settings
from django.db import models

WAITING, ACCEPTED, RETURNED, SUPERSEDED = STATES = ("waiting", "accepted", "returned", "superseded")


class ChangeSet(models.Model):
    """``changes`` is a list of exchange rows as typed: {"table", "action", "row_id", "values": {column: text}}.

    A draft assessment that came in a file keeps its ``row_id``; ``part`` and ``day`` tell the same draft again.
    """

    title = models.CharField(max_length=300)
    reason = models.TextField(blank=True, default="")
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="change_sets"
    )
    changes = models.JSONField()
    state = models.CharField(max_length=20, choices=[(state, state) for state in STATES], default=WAITING)
    row_id = models.CharField(max_length=40, null=True, blank=True, unique=True)
    code = models.CharField(max_length=40, blank=True, default="")
    part = models.CharField(max_length=40, blank=True, default="", db_index=True)
    day = models.CharField(max_length=10, blank=True, default="")
    made_by = models.ForeignKey("register.Act", on_delete=models.PROTECT, related_name="made_change_sets")
    decided_by = models.ForeignKey(
        "register.Act", null=True, blank=True, on_delete=models.PROTECT, related_name="decided_change_sets"
    )

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.title
