"""Photographs: the original is kept privately under its SHA-256; what is shown is a copy without metadata."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from register.fabric.vocabulary import ACCESS
from register.models.base import Recorded, choice, edtf, history, not_empty, one_of, short, text, to


class Photograph(Recorded):
    """missing, is_shown: of its files, where a service has looked at them; not stored."""

    missing = ""
    is_shown = True
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


class RemovedPicture(models.Model):
    """An original that nobody accepted, and that was taken off the disk: which, how large, when, by whom (None: from a
    terminal), and why it might go. Only ever added to."""

    sha256 = models.CharField(max_length=64, db_index=True)
    size = models.PositiveBigIntegerField()
    reason = models.TextField()
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.sha256[:12]}, {self.at:%Y-%m-%d}"


class PictureLot(models.Model):
    """Pictures that somebody has sent and not recorded yet, and what is written of all of them: no record of the register.

    of: what they are of, as ``parts:fr-001``; "" where the names of the files say it. texts: {column: text as typed}.
    pictures: each with its name, sha256, ending and day. recorded: the token of the form by which it was recorded last.
    """

    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="picture_lots"
    )
    of = models.CharField(max_length=60, blank=True, default="")
    texts = models.JSONField(default=dict)
    pictures = models.JSONField(default=list)
    recorded = models.CharField(max_length=64, blank=True, default="")
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ("pk",)
        constraints = (models.UniqueConstraint(fields=["author", "of"], name="a_lot_once_a_person"),)

    def __str__(self) -> str:
        return f"{len(self.pictures)} pictures of {self.of or 'several things'}"
