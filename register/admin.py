"""Django's admin, to look into the tables and the sign-in log. The register's own are changed by change sets alone, and
accounts on the pages for them: all are read only here."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.contrib.auth import admin as auth_admin  # noqa: F401  (registers groups, which are read only here)
from django.contrib.auth.models import Group
from django.db import models
from django.http import HttpRequest

from register.models import (
    AccountChange,
    Act,
    Alternative,
    ChangeSet,
    IssueRequest,
    ListMapping,
    Proposal,
    ProposalAct,
    RetiredId,
    ReviewEntry,
    SignificanceText,
    User,
    VehiclePolicy,
)
from register.services.tables import MODELS


class ReadOnly(admin.ModelAdmin):
    list_per_page = 50

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class Accounts(ReadOnly):
    """Looked at here; changed on the site's own pages, which keep the log and the last administrator."""

    exclude = ("password",)
    list_display = ("username", "last_name", "is_active", "last_login")


admin.site.register(User, Accounts)
admin.site.unregister(Group)
admin.site.register(Group, ReadOnly)
READ_ONLY: tuple[type[models.Model], ...] = (
    *MODELS.values(),
    AccountChange,
    Act,
    ChangeSet,
    RetiredId,
    ReviewEntry,
    IssueRequest,
    Proposal,
    Alternative,
    ProposalAct,
    SignificanceText,
    VehiclePolicy,
    ListMapping,
)
for model in READ_ONLY:
    admin.site.register(model, ReadOnly)
admin.site.site_header = admin.site.site_title = "Fabric register: accounts and records"
