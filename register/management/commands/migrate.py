"""Django's ``migrate``, which alone makes a database of a file that is not there, and never in the place of one that is
lost."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandError
from django.core.management.commands import migrate
from django.db import connections

from register.services.data_folder import why_no_new_register


class Command(migrate.Command):
    def execute(self, *args: Any, **options: Any) -> Any:
        """The file has to be there before Django's checks, which ask the database."""
        if why := why_no_new_register():
            raise CommandError(why)
        connections[options["database"]].prepare_database()
        return super().execute(*args, **options)
