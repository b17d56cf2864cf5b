"""Somebody in each role, signed in."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import Group

from register.policy import ROLES

BACKEND = "register.web.backends.RoleBackend"


@pytest.fixture
def sign_in(client, django_user_model):
    """sign_in("officer") gives a client signed in in that role; sign_in(None) one that is not."""

    def signed_in(role):
        client.logout()
        if role is not None:
            assert role in ROLES
            user, _ = django_user_model.objects.get_or_create(username=f"a-{role}", defaults={"last_name": f"A {role}", "is_staff": role == "administrator", "is_superuser": role == "administrator"})
            user.groups.set([Group.objects.get_or_create(name=role)[0]])
            client.force_login(user, backend=BACKEND)
        return client

    return signed_in


@pytest.fixture
def officer(sign_in):
    return sign_in("officer")
