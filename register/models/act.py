"""Acts: every change of the register, numbered; and the small tables that keep its numbers."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models


class Act(models.Model):
    """One change of the register. ``change_no`` orders acts, never the clock; acts are never changed or deleted."""

    change_no = models.PositiveBigIntegerField(primary_key=True)
    at = models.DateTimeField()
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="acts"
    )
    kind = models.CharField(max_length=40)
    reason = models.TextField(blank=True, default="")
    token = models.CharField(max_length=64, null=True, blank=True, unique=True)

    class Meta:
        ordering = ("-change_no",)

    def __str__(self) -> str:
        return f"{self.change_no}, {self.kind}"


class RegisterState(models.Model):
    """The one row that says which register this is. Locked by every act, so that writers queue."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    register_id = models.UUIDField(default=uuid.uuid4)

    class Meta:
        constraints = (models.CheckConstraint(condition=models.Q(id=1), name="one_register_a_database"),)

    def __str__(self) -> str:
        return str(self.register_id)


class RowNumber(models.Model):
    """The last row number given out in a table: numbers are never given twice."""

    table = models.CharField(max_length=40, primary_key=True)
    last = models.PositiveBigIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.table}: {self.last}"


class RetiredId(models.Model):
    """An id that was struck out or merged. It is never used again."""

    table = models.CharField(max_length=40)
    key = models.CharField(max_length=250)
    code = models.CharField(max_length=250)
    merged_into = models.CharField(max_length=250, blank=True, default="")
    reason = models.TextField(blank=True, default="")
    act = models.ForeignKey(Act, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = (models.UniqueConstraint(fields=["table", "key"], name="retired_once"),)

    def __str__(self) -> str:
        return f"{self.table} {self.code}"
