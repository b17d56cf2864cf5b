"""The entry point of a WSGI server."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "register.settings")
_django = get_wsgi_application()

from register.web.security import text_is_utf_8  # noqa: E402  it reads the settings

application = text_is_utf_8(_django)
