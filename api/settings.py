"""Settings, all from the environment; with nothing set the service runs embedded.

Embedded: SQLite in WAL mode, jobs in the process that asked for them, no broker.
Server: DATABASE_URL (PostgreSQL), REDIS_URL, SECRET_KEY, ALLOWED_HOSTS, DEBUG=0.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import dj_database_url
import django_stubs_ext
from django.core.exceptions import ImproperlyConfigured
from xstatic.pkg import leaflet  # type: ignore[import-untyped]

django_stubs_ext.monkeypatch()

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(os.environ.get("MARLPIT_DATA_DIR", BASE_DIR / ".data"))
DATA_DIR.mkdir(parents=True, exist_ok=True)


def _flag(name: str, *, default: bool) -> bool:
    return os.environ.get(name, str(int(default))).lower() in {"1", "true", "yes", "on"}


DEBUG = _flag("DEBUG", default=True)
SECRET_KEY = os.environ.get("SECRET_KEY", "")
if not SECRET_KEY:
    if not DEBUG:
        raise ImproperlyConfigured("DEBUG is off: set SECRET_KEY in the environment.")
    SECRET_KEY = "embedded-" + "0" * 50
ALLOWED_HOSTS = os.environ.get(
    "ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]" if DEBUG else ""
).split(",")

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.humanize",
    "django.contrib.messages",
    "django.contrib.sessions",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "logistics",
    "matching",
    "api",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

ROOT_URLCONF = "api.urls"
WSGI_APPLICATION = "api.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ]
        },
    }
]

DATABASES = {
    "default": dj_database_url.parse(
        os.environ.get("DATABASE_URL", f"sqlite:///{DATA_DIR / 'marlpit.sqlite3'}"),
        conn_max_age=60,
        conn_health_checks=True,
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["CONN_MAX_AGE"] = 0
    DATABASES["default"]["OPTIONS"] = {
        # A writer takes its lock when it begins: two writers wait for each other
        # instead of one failing when it upgrades a read lock.
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": (
            "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;"
        ),
    }
    # A file, so that threads in tests meet the same locks that a deployment meets.
    DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
AUTH_USER_MODEL = "matching.Account"

LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = os.environ.get("TIME_ZONE", "Europe/Brussels")

STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [("leaflet", leaflet.BASE_DIR)]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}

# Tile servers refuse requests without a referrer; Django's default sends none.
SECURE_REFERRER_POLICY = "strict-origin-when-cross-origin"
if not DEBUG:
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = _flag("SECURE_COOKIES", default=True)
    CSRF_TRUSTED_ORIGINS = [
        origin for origin in os.environ.get("TRUSTED_ORIGINS", "").split(",") if origin
    ]

# One JSON document of some thousand offers is about 2 MB.
DATA_UPLOAD_MAX_MEMORY_SIZE = 8 * 1024 * 1024

REST_FRAMEWORK = {
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "rest_framework.authentication.SessionAuthentication"
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.AllowAny"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "api.rest.answers.exception_handler",
    "URL_FORMAT_OVERRIDE": None,  # ?format= is an unknown name like any other
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Marlpit",
    "DESCRIPTION": "Surplus subsoil, sand and straw for earthen builds: offers, needs, "
    "matches and haul plans.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "OAS_VERSION": "3.1.0",  # pydantic writes this dialect of JSON schema
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    # Several fields hold weekdays; left alone, the generator warns of two names.
    "ENUM_NAME_OVERRIDES": {
        "DayName": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"],
    },
}

REDIS_URL = os.environ.get("REDIS_URL", "")
CELERY_TASK_ALWAYS_EAGER = not REDIS_URL
CELERY_TASK_EAGER_PROPAGATES = False
CELERY_BROKER_URL = REDIS_URL or "memory://"
CELERY_RESULT_BACKEND = REDIS_URL or "cache+memory://"
CELERY_TASK_IGNORE_RESULT = True  # the job's row holds its state
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_TIME_LIMIT = 600
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# Needs a worker with -B: plan runs whose message or worker was lost are sent again.
CELERY_BEAT_SCHEDULE_FILENAME = str(DATA_DIR / "beat")
CELERY_BEAT_SCHEDULE = {
    "resend lost plan runs": {
        "task": "matching.tasks.resend_lost_runs_task",
        "schedule": 300.0,
    },
    "resend lost sharings": {
        "task": "matching.tasks.resend_lost_shares_task",
        "schedule": 300.0,
    },
}

# Without a broker, plans run in a thread of the server and the page shows their progress.
MARLPIT_JOB_THREAD = _flag("MARLPIT_JOB_THREAD", default=True)

# One currency for a deployment (ISO 4217), with the digits of its minor unit.
MARLPIT_CURRENCY = os.environ.get("MARLPIT_CURRENCY", "EUR")
MARLPIT_NETWORK_ROOT = DATA_DIR / "networks"
MARLPIT_NETWORK = os.environ.get("MARLPIT_NETWORK", "default")
# What turns a plan into the document that is stored: matching knows no documents.
MARLPIT_PLAN_RENDERER = "api.deployment.render_plan"
MARLPIT_REPLAN_RENDERER = "api.deployment.render_again"
# The same for sharing a plan's total, and what reads a stored plan back for it.
MARLPIT_PLAN_READER = "api.documents.share_answers.read_told"
MARLPIT_SHARES_RENDERER = "api.deployment.render_shares"
# A tile template such as https://tiles.example/{z}/{x}/{y}.png; empty draws vectors only.
MARLPIT_TILE_URL = os.environ.get("MARLPIT_TILE_URL", "")
MARLPIT_TILE_CREDIT = os.environ.get("MARLPIT_TILE_CREDIT", "")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler", "stream": sys.stderr}},
    "root": {"handlers": ["console"], "level": os.environ.get("LOG_LEVEL", "WARNING")},
}
