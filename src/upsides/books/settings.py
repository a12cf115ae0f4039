"""Settings of the Django application. What differs between installations comes from the environment."""

import os
import secrets
from pathlib import Path

UPSIDES_LIBRARY = Path(os.environ.get("UPSIDES_LIBRARY", "var/demo"))
"""Folder of the library; the books stand in it."""

SECRET_FILE = UPSIDES_LIBRARY / "secret.key"


def _secret_key() -> str:
    """Return the key kept beside the books; without books one that lasts as long as this process."""
    return SECRET_FILE.read_text("ascii") if SECRET_FILE.is_file() else secrets.token_urlsafe(50)


SECRET_KEY = _secret_key()
DEBUG = False
ALLOWED_HOSTS = os.environ.get("UPSIDES_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
INSTALLED_APPS = [
    "django.contrib.staticfiles",
    "upsides.books",
    "upsides.web.shell",
    "upsides.web.string",
    "upsides.web.races",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "upsides.books.security.strict_pages",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]
ROOT_URLCONF = "upsides.web.urls"
WSGI_APPLICATION = "upsides.web.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {"context_processors": ["django.template.context_processors.request"]},
    }
]

DATABASES = {
    "default": {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": UPSIDES_LIBRARY / "books.sqlite3",
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
        },
    }
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

LANGUAGE_CODE = "en-gb"
USE_I18N = True
TIME_ZONE = "UTC"
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = UPSIDES_LIBRARY / "static"
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
    "upsides.web.shell.finders.ThemeFinder",
]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}

SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Strict"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "loggers": {"django": {"handlers": ["console"], "level": "ERROR", "propagate": False}},
}
