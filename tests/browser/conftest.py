"""A real browser against a real server. Run apart from the others: Playwright's event loop would hide their mistakes."""

from __future__ import annotations

import os
import shutil

import pytest

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    executable = os.environ.get("CHROMIUM") or shutil.which("chromium")
    if not executable and os.environ.get("CI") != "true":
        pytest.skip("BROWSER TESTS LEFT OUT: there is no Chromium here")
    quiet = ["--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"]
    return {**browser_type_launch_args, "executable_path": executable, "chromium_sandbox": False, "args": quiet}


@pytest.fixture
def site(live_server, settings):
    """The demo register behind a live server. Returns its address."""
    from register.services.demo import make_demo_people
    from tests.demo_register import plant_demo_register

    settings.ALLOWED_HOSTS = ["*"]
    settings.DEMO = True
    plant_demo_register()
    make_demo_people()
    return live_server.url


@pytest.fixture
def signed_in(site, context):
    """signed_in("officer") puts that person's session into the browser and returns the site's address."""
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore

    from register.services.demo import demo_user

    def sign_in(role):
        user = demo_user(role)
        session = SessionStore()
        session[SESSION_KEY] = str(user.pk)
        session[BACKEND_SESSION_KEY] = "register.web.backends.RoleBackend"
        session[HASH_SESSION_KEY] = user.get_session_auth_hash()
        session.save()
        context.add_cookies([{"name": "sessionid", "value": session.session_key, "url": site}])
        return site

    return sign_in


@pytest.fixture(autouse=True)
def the_console_stays_empty(page):
    """A broken content policy, a missing file or a script error is a failure, not a line nobody reads."""
    found: list[str] = []
    page.on("console", lambda message: found.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: found.append(str(error)))
    yield found
    expected = ("Failed to load resource: the server responded with a status of 4",)
    assert not [one for one in found if not one.startswith(expected)], found
