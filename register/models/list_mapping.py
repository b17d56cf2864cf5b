"""What was chosen for a kind of list, and what the last import of such a list of a vehicle amounted to."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class ListMapping(models.Model):
    """fingerprint: of the headings, by which the list is known again. vehicle: key of the vehicle it was a
    list of.

    choices: which column is what and which word means what, as ``ListChoices.as_json`` writes it. prefix:
    what its ids begin with, if not the id of the vehicle. day: of the list. ids: what tells a line again, to
    the end of its ids. rows: {key: {table, values}} as last accepted, so that the next import changes only
    what the list itself changed. questions: those that its last import left. answers: to the others, by the
    key of the question. change_no: of the register when
    it was last accepted. No fabric data: that is written by change sets alone.
    """

    fingerprint = models.CharField(max_length=64)
    vehicle = models.CharField(max_length=40)
    name = models.CharField(max_length=300, blank=True, default="")
    choices = models.JSONField()
    prefix = models.CharField(max_length=40, blank=True, default="")
    day = models.DateField(null=True, blank=True)
    ids = models.JSONField(default=dict)
    rows = models.JSONField(default=dict)
    questions = models.JSONField(default=list)
    answers = models.JSONField(default=dict)
    change_no = models.PositiveBigIntegerField(default=0)
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(fields=["fingerprint", "vehicle"], name="a_kind_of_list_once_a_vehicle"),
        )

    def __str__(self) -> str:
        return f"{self.name or 'list'}, {self.vehicle}"
