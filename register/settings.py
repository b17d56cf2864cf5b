"""Settings, read from the environment (docs/deploy.md lists every variable)."""

from __future__ import annotations

import os
import secrets
import sqlite3
from contextlib import suppress
from pathlib import Path
from urllib.parse import urlsplit

import environ

env = environ.Env()
BASE_DIR = Path(__file__).resolve().parent.parent
VERSION = "0.1.0"
DATA = Path(env.str("REGISTER_DATA", default=str(BASE_DIR / ".var"))).resolve()
DATA.mkdir(parents=True, exist_ok=True)
MEDIA_ROOT = DATA / "media"
BACKUPS = DATA / "backups"
STATEMENTS = DATA / "statements"
CHECKPOINT_FILE = env.str("CHECKPOINT_FILE", default="")
FIXTURES = BASE_DIR / "fixtures"

DEBUG = env.bool("DEBUG", default=False)
DEMO = env.bool("REGISTER_DEMO", default=False)
"""True only in a server that ``manage.py demo`` started: it offers sign-in as each role."""


def _kept_secret() -> str:
    """The key in the data folder, made on the first run so that sessions survive a restart. Written aside first: a disk
    that is full leaves no half of one."""
    path = DATA / "secret_key"
    if not path.exists():
        aside = DATA / f".part-secret_key-{os.getpid()}"
        try:
            with os.fdopen(os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
                file.write(secrets.token_urlsafe(64))
            with suppress(FileExistsError):  # another worker was first
                os.link(aside, path)
        finally:
            aside.unlink(missing_ok=True)
    return path.read_text().strip()


SECRET_KEY = env.str("SECRET_KEY", default="") or _kept_secret()
PUBLIC_BASE_URL = env.str("PUBLIC_BASE_URL", default="").rstrip("/")
_public = urlsplit(PUBLIC_BASE_URL)
ALLOWED_HOSTS = env.list(
    "ALLOWED_HOSTS", default=[_public.hostname] if _public.hostname else ["127.0.0.1", "localhost", "[::1]"]
)
SITE_NAME = env.str("SITE_NAME", default="Fabric register")

INSTALLED_APPS = [
    "register.apps.RegisterConfig",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "simple_history",
    "axes",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "register.web.security.ContentSecurityPolicyMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "register.web.security.OtherLettersAreRefusedMiddleware",
    "register.web.kept_text.KeepTextMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "register.web.security.PrivatePagesAreNotStoredMiddleware",
    "register.web.security.AddressesCanBeWrittenMiddleware",
    "register.web.withdrawn.StruckOutVehiclesMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "register.urls"
WSGI_APPLICATION = "register.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "register.web.context.site",
            ],
        },
    },
]

DATABASES = {"default": env.db("DATABASE_URL", default=f"sqlite:///{DATA / 'register.sqlite3'}")}
_db = DATABASES["default"]
OWN_DATABASE = _db["NAME"]
"""The register's, as it was named; tests have others."""
_options = _db.setdefault("OPTIONS", {})
_SQLITE = sqlite3.sqlite_version_info
SQLITE_WAL_IS_SAFE = (
    _SQLITE >= (3, 51, 3) or (3, 50, 7) <= _SQLITE < (3, 51) or (3, 44, 6) <= _SQLITE < (3, 45)
)
"""SQLite before these versions can corrupt a WAL database that several processes use (docs/decisions)."""
if _db["ENGINE"].endswith("sqlite3"):
    _db["ENGINE"] = "register.sqlite"  # never makes an empty database of a file that is gone
    _options |= {
        "transaction_mode": "IMMEDIATE",  # take the write lock at BEGIN: wait, instead of failing at the first write
        "timeout": 20,
        "init_command": f"PRAGMA journal_mode={'WAL' if SQLITE_WAL_IS_SAFE else 'DELETE'}; PRAGMA synchronous=FULL; "
        "PRAGMA recursive_triggers=ON;",  # or REPLACE would take a row away past the triggers
    }
    _db["TEST"] = {
        "NAME": str(DATA / f"test-{os.getpid()}.sqlite3")
    }  # a live server's threads need a file, not memory
else:
    _db |= {"CONN_MAX_AGE": 60, "CONN_HEALTH_CHECKS": True, "ATOMIC_REQUESTS": False}
    _options |= {
        "application_name": "register",
        "options": "-c statement_timeout=120000 -c lock_timeout=20000 -c idle_in_transaction_session_timeout=120000",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "register.User"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "register.web.backends.RoleBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "fleet"
LOGOUT_REDIRECT_URL = "sign-in"
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]  # one bad guest does not lock a site behind one proxy
AXES_RESET_ON_SUCCESS = True
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False  # whoever keeps trying does not keep the right person out
AXES_CLIENT_IP_CALLABLE = "register.web.security.client_address"
AXES_LOCKOUT_TEMPLATE = "registration/locked.html"
AXES_VERBOSE = False

LANGUAGE_CODE = "en-gb"
USE_I18N = False
USE_TZ = True
TIME_ZONE = env.str("TIME_ZONE", default="Europe/London")

STATIC_URL = "/static/"
STATIC_ROOT = None
WHITENOISE_USE_FINDERS = True  # serves the package's own files: nothing to collect, nothing to forget
STORAGES = {
    "default": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": str(MEDIA_ROOT)},
    },
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
JOBS_IN_BACKGROUND = True
"""Tests switch it off: a thread would not see what a test has not committed."""
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000  # of all the text of a form; files have limits of their own
DATA_UPLOAD_MAX_NUMBER_FILES = 100  # photographs in one lot
FILE_UPLOAD_PERMISSIONS = 0o640

_secure = _public.scheme == "https"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = _secure
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 14 * 24 * 3600
SECURE_SSL_REDIRECT = _secure
SECURE_HSTS_SECONDS = 31_536_000 if _secure else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = _secure
BEHIND_PROXY = env.bool("BEHIND_PROXY", default=False)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if BEHIND_PROXY else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CSRF_FAILURE_VIEW = "register.web.errors.csrf_failed"
CSRF_TRUSTED_ORIGINS = [PUBLIC_BASE_URL] if _public.scheme else []
SECURE_CSP = {
    "default-src": ["'self'"],
    "img-src": ["'self'", "data:"],
    "object-src": ["'none'"],
    "base-uri": ["'none'"],
    "form-action": ["'self'"],
    "frame-ancestors": ["'none'"],
}

SIMPLE_HISTORY_DATE_INDEX = False
SIMPLE_HISTORY_REVERT_DISABLED = True

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": env.str("LOG_LEVEL", default="WARNING")},
}
