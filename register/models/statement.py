"""Issued statements and the chain that they are entered in. Nothing here is ever changed or deleted: the database refuses."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from register.models.base import text

ISSUED, WITHDRAWN, PUBLISHED, UNPUBLISHED = KINDS = ("issued", "withdrawn", "published", "unpublished")


class Entry(models.Model):
    """One link of the chain. ``content`` is canonical JSON and holds seq, kind and at too; ``hash`` is
    SHA-256(0x00, ``previous`` in 64 hex digits, ``content`` in UTF-8); ``previous`` of the first is 64 zeros."""

    seq = models.PositiveBigIntegerField(primary_key=True)
    kind = models.CharField(max_length=20, choices=[(kind, kind) for kind in KINDS])
    number = models.CharField(max_length=20, db_index=True)
    content = models.TextField()
    previous = models.CharField(max_length=64)
    hash = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ("seq",)

    def __str__(self) -> str:
        return f"{self.seq}, {self.kind} {self.number}"


ASKED, TAKEN_BACK, SENT_BACK = REQUEST_KINDS = ("asked", "taken back", "sent back")


class IssueRequest(models.Model):
    """One officer has prepared a statement and asks a second one to issue it; or such a request was taken back by the one,
    or sent back by the other. Rows are only added; the latest of a vehicle (its key) counts, until a statement is issued.

    reasons: why findings are accepted, by code. after: the number of the vehicle's latest statement, "" for none.
    sha256: of what would have been issued, so that a second person agrees to nothing else. words: why it was sent back.
    """

    vehicle = models.CharField(max_length=40, db_index=True)
    kind = models.CharField(max_length=20, choices=[(kind, kind) for kind in REQUEST_KINDS])
    day = models.DateField(null=True, blank=True)
    reference = text()
    reasons = models.JSONField(default=dict)
    why = text()
    after = models.CharField(max_length=20, blank=True, default="")
    sha256 = models.CharField(max_length=64, blank=True, default="")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    words = text()
    token = models.CharField(max_length=64, null=True, blank=True, unique=True)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.vehicle}: {self.kind}"


class Statement(models.Model):
    """An issued statement. vehicle: the key, kept when the vehicle has long left the register. issue: which one of the
    vehicle's statements, from 1. issued_by: who wrote it; agreed_by: the second person, who then issued it. What it says is
    in its files and in its entry."""

    serial = models.PositiveBigIntegerField(primary_key=True)
    number = models.CharField(max_length=20, unique=True)
    vehicle = models.CharField(max_length=40, db_index=True)
    code = models.CharField(max_length=40)
    name = models.TextField()
    issue = models.PositiveIntegerField()
    day = models.DateField()
    reference = models.TextField()
    supersedes = models.CharField(max_length=20, blank=True, default="")
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="issued"
    )
    agreed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="agreed"
    )
    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="statement")
    token = models.CharField(max_length=64, null=True, blank=True, unique=True)

    class Meta:
        ordering = ("serial",)
        constraints = (
            models.UniqueConstraint(fields=["vehicle", "issue"], name="statement_issue_once"),
            models.CheckConstraint(condition=models.Q(serial__gte=1, issue__gte=1), name="statement_from_one"),
        )

    def __str__(self) -> str:
        return self.number


class StatementFile(models.Model):
    """A file of a statement, as bytes, with the SHA-256 that its entry holds too."""

    statement = models.ForeignKey(Statement, on_delete=models.PROTECT, related_name="files")
    name = models.CharField(max_length=40)
    sha256 = models.CharField(max_length=64, db_index=True)
    data = models.BinaryField()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["statement", "name"], name="statement_file_once"),)

    def __str__(self) -> str:
        return f"{self.statement_id}, {self.name}"
