"""Settings of the Django application. What differs between installations comes from the environment."""

import os
import secrets
from pathlib import Path
from typing import Any

import dj_database_url

UPSIDES_LIBRARY = Path(os.environ.get("UPSIDES_LIBRARY", "var/demo"))
"""Folder of the library; the books stand in it, unless `UPSIDES_DATABASE` names a PostgreSQL database."""

UPSIDES_TLS = os.environ.get("UPSIDES_TLS", "") == "1"
"""Whether people reach the pages by https: set by `upsides serve --cert`, or by hand behind a proxy."""

SECRET_FILE = UPSIDES_LIBRARY / "secret.key"


def _secret_key() -> str:
    """Return the key kept beside the books; without books one that lasts as long as this process."""
    return SECRET_FILE.read_text("ascii") if SECRET_FILE.is_file() else secrets.token_urlsafe(50)


PATIENCE_S = 20
"""How long one writer waits for another before it says that the books are busy."""


def _database() -> dict[str, Any]:
    """Return the books' database: SQLite in the library's folder, or what `UPSIDES_DATABASE` says."""
    address = os.environ.get("UPSIDES_DATABASE", "")
    if address:
        found: dict[str, Any] = dict(dj_database_url.parse(address, conn_max_age=60, conn_health_checks=True))
        found.setdefault("OPTIONS", {}).setdefault("options", f"-c lock_timeout={PATIENCE_S}s")
        return found
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": UPSIDES_LIBRARY / "books.sqlite3",
        "CONN_MAX_AGE": 60,
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": PATIENCE_S,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
        },
    }


SECRET_KEY = _secret_key()
DEBUG = False
ALLOWED_HOSTS = os.environ.get("UPSIDES_HOSTS", "localhost,127.0.0.1,[::1]").split(",")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if "*" not in host] if UPSIDES_TLS else []
INSTALLED_APPS = [
    "upsides.web.shell",  # before allauth, whose pages stand in our frame
    "upsides.web.signin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.humanize",
    "django.contrib.staticfiles",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "simple_history",
    "django_htmx",
    "django_tasks",
    "django_tasks_db",
    "upsides.books",
    "upsides.web.morning",
    "upsides.web.checks",
    "upsides.web.clock",
    "upsides.web.string",
    "upsides.web.horses",
    "upsides.web.races",
    "upsides.web.pedigree",
    "upsides.web.people",
    "upsides.web.staff",
    "upsides.web.barn",
    "upsides.web.diary",
    "upsides.web.medicine",
    "upsides.web.feeding",
    "upsides.web.shape",
    "upsides.web.legs",
    "upsides.web.pictures",
    "upsides.web.bloods",
    "upsides.web.trip",
    "upsides.web.recordings",
    "upsides.web.condition",
    "upsides.web.planning",
    "upsides.web.programme",
    "upsides.web.sales",
    "upsides.web.tables",
    "upsides.web.jobs",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "upsides.books.security.strict_pages",
    "upsides.web.signin.privacy.unkept_pages",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "upsides.web.shell.middleware.one_place",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "allauth.usersessions.middleware.UserSessionsMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "upsides.web.barn.device.known_device",
    "upsides.web.shell.middleware.known_visitor",
]
ROOT_URLCONF = "upsides.web.urls"
WSGI_APPLICATION = "upsides.web.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "upsides.web.shell.context.frame",
            ]
        },
    }
]

DATABASES = {"default": _database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.db.DatabaseCache",
        "LOCATION": "shared_cache",
        "OPTIONS": {"MAX_ENTRIES": 50_000},
    }
}
"""Shared by all processes, so that throttling counts every try; large enough that strangers cannot wipe the counts."""

TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default", "quick"]}}

AUTH_USER_MODEL = "books.Person"
AUTHENTICATION_BACKENDS = ["upsides.web.signin.backend.YardPeople"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("login", "name", "email")},
    },
]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "morning"
ACCOUNT_ADAPTER = "upsides.web.signin.adapter.ClosedAccounts"
ACCOUNT_FORMS = {
    "login": "upsides.web.signin.forms.SignInForm",
    "change_password": "upsides.web.signin.forms.NewPasswordForm",
    "reset_password": "upsides.web.signin.forms.LostPasswordForm",
    "reset_password_from_key": "upsides.web.signin.forms.FirstPasswordForm",
    "reauthenticate": "upsides.web.signin.forms.PasswordAgainForm",
}
ACCOUNT_USER_MODEL_USERNAME_FIELD = "login"
ACCOUNT_USER_MODEL_EMAIL_FIELD = "email"
ACCOUNT_LOGIN_METHODS = {"username"}
ACCOUNT_SIGNUP_FIELDS = ["username*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_EMAIL_NOTIFICATIONS = True
ACCOUNT_EMAIL_UNKNOWN_ACCOUNTS = False
ACCOUNT_EMAIL_SUBJECT_PREFIX = ""
ACCOUNT_LOGIN_ON_PASSWORD_RESET = True
ACCOUNT_LOGIN_TIMEOUT = 10 * 60
ACCOUNT_LOGOUT_ON_PASSWORD_CHANGE = False
ACCOUNT_PASSWORD_RESET_TOKEN_GENERATOR = "upsides.web.signin.tokens.OneTimeTokens"  # noqa: S105 (the name of a class)
ACCOUNT_PRESERVE_USERNAME_CASING = False
ACCOUNT_RATE_LIMITS = {
    "login": "60/m/ip",  # a whole yard comes from one address at five in the morning
    "login_failed": "20/m/ip,10/10m/key",
    "reset_password": "20/m/ip,3/10m/key",
    "reset_password_from_key": "20/m/ip",
    "reauthenticate": "10/m/user",
    "change_password": "5/m/user",
}
ACCOUNT_REAUTHENTICATION_METHODS = ["password", "mfa"]
ACCOUNT_REAUTHENTICATION_TIMEOUT = 10 * 60
ACCOUNT_SESSION_REMEMBER = None
"""None asks: on a phone one stays signed in, on a computer that others use one need not."""

MFA_ADAPTER = "upsides.web.signin.second_factor.CodesFromAnApp"
MFA_FORMS = {
    "authenticate": "upsides.web.signin.forms.CodeForm",
    "reauthenticate": "upsides.web.signin.forms.CodeAgainForm",
    "activate_totp": "upsides.web.signin.forms.FirstCodeForm",
}
MFA_ALLOW_UNVERIFIED_EMAIL = True
"""Addresses are entered by the yard, which knows its people; nobody proves one here."""
MFA_SUPPORTED_TYPES = ["totp", "recovery_codes"]
MFA_TOTP_ISSUER = "Upsides"
MFA_TOTP_TOLERANCE = 1
"""A code counts half a minute before and after its time, because phones' clocks differ."""

EMAIL_BACKEND = os.environ.get("UPSIDES_EMAIL_BACKEND", "django.core.mail.backends.filebased.EmailBackend")
EMAIL_FILE_PATH = UPSIDES_LIBRARY / "letters"
"""Without a mail server letters are written here, and the trainer hands over what they say."""
EMAIL_HOST = os.environ.get("UPSIDES_EMAIL_HOST", "localhost")
EMAIL_PORT = int(os.environ.get("UPSIDES_EMAIL_PORT", "25"))
EMAIL_HOST_USER = os.environ.get("UPSIDES_EMAIL_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("UPSIDES_EMAIL_PASSWORD", "")
EMAIL_USE_TLS = os.environ.get("UPSIDES_EMAIL_TLS", "") == "1"
DEFAULT_FROM_EMAIL = os.environ.get("UPSIDES_EMAIL_FROM", "upsides@localhost")

SESSION_ENGINE = "django.contrib.sessions.backends.db"
SESSION_COOKIE_AGE = 14 * 24 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SECURE = UPSIDES_TLS
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Strict"
CSRF_COOKIE_SECURE = UPSIDES_TLS
DATA_UPLOAD_MAX_NUMBER_FILES = 500  # a morning of recordings is dropped at once
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SECURE_HSTS_SECONDS = int(os.environ.get("UPSIDES_HSTS") or 0)
BEHIND_PROXY = os.environ.get("UPSIDES_BEHIND_PROXY", "") == "1"
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if BEHIND_PROXY else None
ALLAUTH_TRUSTED_PROXY_COUNT = 1 if BEHIND_PROXY else 0
X_FRAME_OPTIONS = "DENY"
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

LANGUAGE_CODE = "en-gb"
USE_I18N = True
TIME_ZONE = "UTC"
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = UPSIDES_LIBRARY / "static"
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
    "upsides.web.shell.finders.MadeFinder",
]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "loggers": {"django": {"handlers": ["console"], "level": "ERROR", "propagate": False}},
}
