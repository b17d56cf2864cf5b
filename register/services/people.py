"""People who may sign in: added with a one-time link, made inactive rather than deleted."""

from __future__ import annotations

import re
import unicodedata

from django.conf import settings
from django.contrib.auth.models import Group
from django.contrib.auth.tokens import default_token_generator
from django.db import transaction
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from register.models import User
from register.policy import ADMINISTRATOR, ROLES


def add_person(name: str, role: str) -> tuple[User, str]:
    """A new user in the role's group, and the link by which they choose a password. ValueError with a sentence."""
    name, role = " ".join(name.split()), role.strip().casefold()
    if not name or len(name) > 100:
        raise ValueError("A name of 1 to 100 letters is needed.")
    if role not in ROLES:
        raise ValueError(f'"{role}" is not a role; choose one of {", ".join(ROLES)}.')
    with transaction.atomic():
        group, _ = Group.objects.get_or_create(name=role)
        user = User(
            username=_free_username(name),
            last_name=name,
            is_staff=role == ADMINISTRATOR,
            is_superuser=role == ADMINISTRATOR,
        )
        user.set_unusable_password()
        user.save()
        user.groups.add(group)
    return user, invitation(user)


def invitation(user: User) -> str:
    """A link that works until it is used, for as long as PASSWORD_RESET_TIMEOUT says."""
    path = reverse(
        "choose-password",
        args=[urlsafe_base64_encode(force_bytes(user.pk)), default_token_generator.make_token(user)],
    )
    return f"{settings.PUBLIC_BASE_URL or 'http://127.0.0.1:8000'}{path}"


def _free_username(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", ".", plain).strip(".")[:40] or "person"
    names = set(User.objects.filter(username__startswith=stem).values_list("username", flat=True))
    return next(
        one for number in range(1, 10_000) if (one := stem if number == 1 else f"{stem}{number}") not in names
    )
