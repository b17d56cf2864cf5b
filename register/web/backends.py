"""Who is asking, with their roles: one query a request."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.db.models import Exists, OuterRef

from register.models import User
from register.policy import ROLES


class RoleBackend(ModelBackend):
    """Django's own backend; the person comes with ``is_<role>`` for each role, so that a role taken away is gone at the
    next request."""

    def get_user(self, user_id: Any) -> User | None:
        belongs = User.groups.through.objects.filter(user_id=OuterRef("pk"))
        marks = {f"is_{role}": Exists(belongs.filter(group__name=role)) for role in ROLES}
        user = User.objects.annotate(**marks).filter(pk=user_id).first()
        return user if user is not None and self.user_can_authenticate(user) else None
