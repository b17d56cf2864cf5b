"""What was done to the accounts of those who sign in. The table only grows."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class AccountChange(models.Model):
    """by: who did it; None at the command line. token: of the form, so that a double tap makes one account."""

    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    account = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="account_changes")
    kind = models.CharField(max_length=40)
    detail = models.TextField(blank=True, default="")
    token = models.CharField(max_length=64, null=True, blank=True, unique=True)

    def __str__(self) -> str:
        return f"{self.account}: {self.kind}"
