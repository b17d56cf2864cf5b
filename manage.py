#!/usr/bin/env python3
"""The command line of the register: ``manage.py help`` lists the commands, docs/commands.md explains them."""

from __future__ import annotations

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "register.settings")
    try:
        from django.core.management import execute_from_command_line

        from register.services.trouble import in_a_sentence, trouble_of
    except ImportError:
        sys.exit("Django is not installed for this Python. Run make setup, then .venv/bin/python manage.py …")
    try:
        execute_from_command_line(sys.argv)
    except Exception as error:  # of Django's own commands, and of the settings; the register's say it themselves
        trouble = trouble_of(error)
        if trouble is None:
            raise
        sys.exit(f"{error}\n{in_a_sentence(trouble)}")


if __name__ == "__main__":
    main()
