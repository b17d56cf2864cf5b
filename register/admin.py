"""Django's admin: people who may sign in, their groups, the sign-in log. The register's own tables are read only
here: they are changed by change sets alone."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.db import models
from django.http import HttpRequest

from register.models import Act, ChangeSet, RetiredId, ReviewEntry, User
from register.services.tables import MODELS


class ReadOnly(admin.ModelAdmin):
    list_per_page = 50

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class PeopleWhoSignIn(UserAdmin):
    """Made inactive, never deleted: history points to them."""

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


admin.site.register(User, PeopleWhoSignIn)
READ_ONLY: tuple[type[models.Model], ...] = (*MODELS.values(), Act, ChangeSet, RetiredId, ReviewEntry)
for model in READ_ONLY:
    admin.site.register(model, ReadOnly)
admin.site.site_header = admin.site.site_title = "Fabric register: people and records"
