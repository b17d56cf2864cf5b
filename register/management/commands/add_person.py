"""Add a person who may sign in; prints a one-time link by which they choose a password."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from register.management.commands._sentences import SayingCommand
from register.policy import ROLES
from register.services.accounts import invite


class Command(SayingCommand):
    help = "Add a person who may sign in; prints a link that works once."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", metavar="NAME")
        parser.add_argument("role", metavar="ROLE", help=f"one of {', '.join(ROLES)}")

    def run(self, *, name: str, role: str, **_: Any) -> None:
        try:
            user, link = invite(name=name, role=role, by=None)
        except ValueError as error:
            self.fail(str(error))
            return
        self.stdout.write(f"{user} may sign in as {user.username} ({role}).")
        self.stdout.write(f"Give them this link; it works once, for three days: {link.address}")
