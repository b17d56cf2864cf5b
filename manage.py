#!/usr/bin/env python3
"""The command line of the register: ``manage.py help`` lists the commands, docs/exchange.md explains them."""

from __future__ import annotations

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "register.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit("Django is not installed for this Python. Run make setup, then .venv/bin/python manage.py …")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
