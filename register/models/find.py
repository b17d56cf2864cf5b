"""Finds being written down: kept on the server as they grow, private to their author, and no part of the register."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from register.models.change_set import ChangeSet


class FindDraft(models.Model):
    """parts: keys of the parts that it is about, none where what was found fits nowhere yet. answers: {question:
    {field: text as typed}}. began_no: the change_no that its author saw. sent: what came of it, once it was sent in;
    sent_at is set then whatever came of it. follows: the find that this one is written anew from, since the officer
    returned it: ``sent`` is then what it is to take the place of, and the first one keeps what was typed at first."""

    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="finds")
    parts = models.JSONField(default=list)
    answers = models.JSONField(default=dict)
    began_no = models.PositiveBigIntegerField(default=0)
    changed_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)
    sent = models.ForeignKey(
        ChangeSet, null=True, blank=True, on_delete=models.SET_NULL, related_name="finds"
    )
    follows = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="written_anew"
    )
    token = models.CharField(max_length=64, null=True, blank=True, unique=True)

    class Meta:
        ordering = ("-changed_at",)

    def __str__(self) -> str:
        return f"find {self.pk}"

    @property
    def first_id(self) -> int:
        """Of the find as it was first written: what the ids that it brings are made of."""
        return int(self.follows_id or self.pk)
