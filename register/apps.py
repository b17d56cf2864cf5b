"""The app: triggers are made again after every migration, since SQLite drops them when it rebuilds a table."""

from __future__ import annotations

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class RegisterConfig(AppConfig):
    name = "register"
    label = "register"
    verbose_name = "Fabric register"

    def ready(self) -> None:
        from register import checks  # noqa: F401  (registers the system checks)
        from register.models.triggers import make_triggers

        post_migrate.connect(make_triggers, sender=self, dispatch_uid="register-triggers")
