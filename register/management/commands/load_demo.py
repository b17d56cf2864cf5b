"""What ``demo`` runs in its own data folder: migrate, load the demo register unless it is there, write a statement."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management import call_command

from register.management.commands._sentences import SayingCommand, day_from
from register.models import Vehicle
from register.policy import ENGINEER, OFFICER
from register.services.demo import demo_user, make_demo_people
from register.services.demo_cases import load_cases
from register.services.demo_texts import load_texts
from register.services.drawings import load_drawings
from register.services.import_register import import_register
from register.services.photographs import write_aside
from register.services.statements import draft_statement

SHOWN = "HAR"


class Command(SayingCommand):
    help = "Load the demo register into this data folder (run by demo, which gives it a folder of its own)."

    def run(self, **_: Any) -> None:
        if not settings.DEMO:
            self.fail(
                "This loads invented records into the data folder in use. Run manage.py demo, which has a folder of its own."
            )
        call_command("migrate", interactive=False, verbosity=0)
        if Vehicle.objects.exists():
            self.stdout.write(f"The demo register is in {settings.DATA} already.")
        else:
            report = import_register(settings.FIXTURES / "demo", kind="demo", reason="the demo register")
            made = ", ".join(
                f"{count} {name.replace('_', ' ')}" for name, count in report.created.items() if count
            )
            self.stdout.write(f"Loaded the demo register into {settings.DATA}: {made}.")
            load_drawings(settings.FIXTURES / "drawings")
        make_demo_people()
        author, officer = demo_user(ENGINEER), demo_user(OFFICER)
        if author and officer:
            cases = load_cases(settings.FIXTURES / "demo_cases.json", author=author, officer=officer)
            self.stdout.write(f"Wrote up {cases} proposals." if cases else "The proposals are there already.")
            load_texts(settings.FIXTURES / "demo_texts.json", officer=officer)
        path = settings.STATEMENTS / f"{SHOWN}-draft.pdf"
        write_aside(path, draft_statement(SHOWN, day=day_from(None)))
        self.stdout.write(f"Wrote a conservation statement (draft): {path}")
