"""What the railway has laid down for a vehicle: every version of it, the latest counts.

It is the railway's rule and no fabric data, so it is not in the exchange tables. Rows are only ever added: who changed what,
and when, is answered for good.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models

from register.models.base import short, text


class VehiclePolicy(models.Model):
    """A version of the policy of a vehicle (its key). never_lost: ids of positions whose original fabric is not to be lost,
    ``;`` between. loss_limit: how many percentage points by mass may be lost since the reference date; empty: no limit.
    panel, not_claimed: what may be said of the vehicle beside it, and what may not."""

    vehicle = models.CharField(max_length=40, db_index=True)
    principles = text()
    never_lost = text()
    loss_limit = models.PositiveSmallIntegerField(null=True, blank=True)
    second_person = models.BooleanField(default=False)
    repair = text()
    marking = text()
    donor_use = text()
    wear = text()
    refit = text()
    recording = text()
    panel = text()
    not_claimed = text()
    adopted = short()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("pk",)
        verbose_name_plural = "vehicle policies"
        constraints = (
            models.CheckConstraint(
                condition=models.Q(loss_limit__isnull=True) | models.Q(loss_limit__lte=100),
                name="a_loss_limit_is_at_most_a_hundred_points",
            ),
        )

    def __str__(self) -> str:
        return f"Policy of {self.vehicle}"
