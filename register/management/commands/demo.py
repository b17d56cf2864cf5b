"""The demo: an invented railway in a data folder of its own, a statement, and the site on this machine."""

from __future__ import annotations

import os
import subprocess
import sys
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

ADDRESS = "127.0.0.1:8000"


class Command(BaseCommand):
    help = "Load the demo register into its own data folder, write a statement, and serve the site on 127.0.0.1:8000."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="load and write only")

    def handle(self, *args: Any, no_serve: bool, **options: Any) -> None:
        """Settings are read once a process, so the demo runs in one of its own, with its own folder and database."""
        folder = settings.DATA / "demo"
        folder.mkdir(parents=True, exist_ok=True)
        environment = {
            name: value
            for name, value in os.environ.items()
            if name not in ("DATABASE_URL", "SECRET_KEY", "PUBLIC_BASE_URL", "ALLOWED_HOSTS", "DEBUG")
        }
        environment |= {
            "REGISTER_DATA": str(folder),
            "REGISTER_DEMO": "yes",
            "SITE_NAME": "Selmouth & Harrenby Railway",
        }
        manage = [sys.executable, str(settings.BASE_DIR / "manage.py")]
        loaded = subprocess.run([*manage, "load_demo"], env=environment, check=False)
        if loaded.returncode:
            raise SystemExit(loaded.returncode)
        if no_serve:
            return
        self.stdout.write(
            f"The site is at http://{ADDRESS}/ (Ctrl-C stops it). Sign in as any of the roles on the sign-in page."
        )
        self.stdout.flush()
        try:
            served = subprocess.run(
                [*manage, "runserver", "--noreload", "--insecure", ADDRESS], env=environment, check=False
            )
        except KeyboardInterrupt:
            return
        raise SystemExit(served.returncode)
