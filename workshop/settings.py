"""All settings, read from the environment once. Importing this file starts no database."""

from __future__ import annotations

from pathlib import Path

from csp.constants import NONE, SELF

from workshop import env

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(env.text("COLATURE_VAR", str(BASE_DIR / "var")))

SECRET_KEY = env.secret("SECRET_KEY", VAR_DIR / "secret_key")
SECRET_KEY_FALLBACKS = [key for key in [env.from_file("OLD_SECRET_KEY")] if key]
PIN_PEPPER = env.secret("PIN_PEPPER", VAR_DIR / "pin_pepper")
DEBUG = env.flag("DEBUG", False)

# Two profiles. Loopback: plain HTTP on this machine only. TLS: everything else, with a certificate of our own
# (TLS_CERT, TLS_KEY) or behind a proxy that has one (TRUST_PROXY). workshop/checks.py refuses the rest.
HOST = env.text("HOST", "127.0.0.1")
PORT = env.number("PORT", 8000)
TLS = env.flag("TLS", False)
TLS_CERT = env.text("TLS_CERT")
TLS_KEY = env.text("TLS_KEY")
TRUST_PROXY = env.flag("TRUST_PROXY", False)
ALLOWED_HOSTS = env.words("ALLOWED_HOSTS", ["127.0.0.1", "localhost", "[::1]"])
CSRF_TRUSTED_ORIGINS = env.words("CSRF_TRUSTED_ORIGINS", [])

SECURE_SSL_REDIRECT = TLS
SECURE_REDIRECT_EXEMPT = [r"^health/$"]
SECURE_HSTS_SECONDS = 31_536_000 if TLS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = TLS
SECURE_HSTS_PRELOAD = TLS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if TRUST_PROXY else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# Browsers send cookies of one host to all of its ports: the port keeps two workshops on one machine apart.
SESSION_COOKIE_NAME = "__Host-session" if TLS else f"session-{PORT}"
SESSION_COOKIE_SECURE = TLS
SESSION_COOKIE_HTTPONLY = True
TABLET_COOKIE_NAME = "__Host-tablet" if TLS else f"tablet-{PORT}"
CSRF_COOKIE_NAME = "__Host-csrf" if TLS else f"csrf-{PORT}"
CSRF_COOKIE_SECURE = TLS
CSRF_COOKIE_HTTPONLY = True
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}

INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.postgres",
    "django.contrib.staticfiles",
    "django_htmx",
    "csp",
    "pgtrigger",
    "workshop",
    "workshop.people",
    "workshop.reminders",
    "workshop.offline",
    "inventory",
    "batches",
]
MIDDLEWARE = [
    "workshop.answers.HeadersMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",  # its random filler and masked tokens answer BREACH
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "workshop.people.tablets.TabletMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "workshop.people.guard.SignedInMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "workshop.web.SetupFirstMiddleware",
    "workshop.measures.MeasuresMiddleware",
    "workshop.drafts.DraftsMiddleware",
    "workshop.offline.middleware.OutboxMiddleware",
]
ROOT_URLCONF = "workshop.urls"
WSGI_APPLICATION = "workshop.wsgi.application"
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
                "workshop.frame.navigation",
                "workshop.offline.pages.context",
            ],
            "builtins": ["workshop.templatetags.figures"],
        },
    }
]

DATABASES = {"default": env.database("DATABASE_URL", VAR_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "people.Person"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "workshop.people.passwords.LongEnough"},
    {"NAME": "workshop.people.passwords.NotCommon"},
    {"NAME": "workshop.people.passwords.NotOurNames"},
]
PASSWORD_HASHERS = ["workshop.people.passwords.Hasher"]
SESSION_COOKIE_AGE = 12 * 3600  # from signing in, whatever happens in between (OWASP, NIST AAL2)
SESSION_IDLE_SECONDS = 30 * 60
TABLET_IDLE_SECONDS = 5 * 60  # on a shared tablet the name is given up sooner (OWASP: 2 to 5 minutes)
PASSWORD_GIVEN_SECONDS = 5 * 60  # how long a password, asked again at the bench, opens the rest
CSRF_FAILURE_VIEW = "workshop.strays.csrf_failure"
LOGIN_URL = "people:sign-in"
LOGIN_REDIRECT_URL = "/"

USE_I18N = False
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATICFILES_FINDERS = [
    "workshop.joined.JoinedFinder",
    "django.contrib.staticfiles.finders.FileSystemFinder",
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
]
STATIC_ROOT = VAR_DIR / "static"
MEDIA_ROOT = VAR_DIR / "media"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
FILE_UPLOAD_PERMISSIONS = 0o600

# Public keys (age1...) that backups are sealed for; the secret halves stay off this machine.
BACKUP_KEYS = env.words("BACKUP_KEYS", [])

EMAIL_HOST = env.text("EMAIL_HOST")
EMAIL_PORT = env.number("EMAIL_PORT", 587)
EMAIL_HOST_USER = env.text("EMAIL_USER")
EMAIL_HOST_PASSWORD = env.from_file("EMAIL_PASSWORD")
EMAIL_USE_TLS = env.flag("EMAIL_TLS", True)
EMAIL_TIMEOUT = 10
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'console'}.EmailBackend"
DEFAULT_FROM_EMAIL = env.text("EMAIL_FROM", "workshop@localhost")

# The broker carries no facts, only "look now"; the rows in the database are the jobs.
CELERY_BROKER_URL = env.text("CELERY_BROKER_URL", "filesystem://localhost//")
QUEUE_DIR = VAR_DIR / "queue"
CELERY_BROKER_TRANSPORT_OPTIONS = (
    {
        "data_folder_in": str(QUEUE_DIR / "messages"),
        "data_folder_out": str(QUEUE_DIR / "messages"),
        "control_folder": str(QUEUE_DIR / "control"),
        "store_processed": False,
        "polling_interval": 0.2,
    }
    if CELERY_BROKER_URL.startswith("filesystem:")
    else {
        "socket_connect_timeout": 1,
        "socket_timeout": 5,
        "socket_keepalive": True,
        "health_check_interval": 25,
    }
)
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_SERIALIZER = "json"
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_SOFT_TIME_LIMIT = 1800
CELERY_TASK_TIME_LIMIT = 1860
CELERY_TIMEZONE = "UTC"
CELERY_WORKER_ENABLE_REMOTE_CONTROL = False
CELERY_WORKER_MAX_TASKS_PER_CHILD = 500
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BEAT_SCHEDULER = "celery.beat:Scheduler"  # in memory: no file that could go bad

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "formatter": "plain"},
        "nowhere": {"class": "logging.NullHandler"},
    },
    # What the library says of a service may hold parts of its address; its words are kept with the message.
    "loggers": {"apprise": {"handlers": ["nowhere"], "propagate": False}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
