"""Who may sign in. Persons named in the register are a table apart (``Person``)."""

from __future__ import annotations

from django.contrib.auth.models import AbstractUser
from django.db import models


class User(AbstractUser):
    """Never deleted, only made inactive: history points here."""

    person = models.ForeignKey(
        "register.Person", null=True, blank=True, on_delete=models.SET_NULL, related_name="users"
    )
    link_no = models.PositiveIntegerField(default=0)
    """How many links to choose a password were made void: only the latest works."""

    def __str__(self) -> str:
        return self.get_full_name() or self.username
