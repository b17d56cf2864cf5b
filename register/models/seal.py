"""Seals: what an act wrote into the history, as SHA-256s, so that a bit that changes there later is found and named."""

from __future__ import annotations

from django.db import models

from register.models.act import Act


class Seal(models.Model):
    """Of one act. ``content`` is canonical JSON: the act, the hash of the seal before it, and of every table how many rows
    of history the act wrote, the SHA-256 of all of them and eight digits of the SHA-256 of each, in the order of their
    keys. ``sha256`` is that of ``content``. Only ever added."""

    act = models.OneToOneField(Act, on_delete=models.PROTECT, primary_key=True, related_name="seal")
    content = models.TextField()
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.act_id}, {self.sha256[:12]}"
