"""Settings of the workshop: one file, steered by a few DECALJOBS_ environment variables."""

import hashlib
import os

from csp.constants import NONE, SELF
from django.contrib.messages import constants as message_levels

from workshop.database import database
from workshop.paths import CHECKOUT, data_folder
from workshop.secret import secret_key
from workshop.storages import media_storage

DATA = data_folder()
SECRET_KEY = secret_key(DATA)
DEBUG = os.environ.get("DECALJOBS_DEBUG") == "1"

# Behind a proxy that speaks HTTPS the cookies and redirects are tightened.
HTTPS = os.environ.get("DECALJOBS_HTTPS") == "1"
HOSTS = [host for host in os.environ.get("DECALJOBS_HOSTS", "").split(",") if host]
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]", *HOSTS]
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in HOSTS] if HTTPS else []

INSTALLED_APPS = [
    "decaljobs",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.humanize",
    "django.contrib.messages",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "django_htmx",
    "csp",
    "axes",
    "django_tasks",
    "django_tasks_db",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "decaljobs.middleware.packing.PackedPages",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "decaljobs.middleware.devices.note_devices",
    "decaljobs.middleware.deeds.note_deeds",
    "decaljobs.middleware.replanning.replan",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "decaljobs.middleware.reading.write_for_the_reader",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "axes.middleware.AxesMiddleware",
]

FORM_RENDERER = "decaljobs.forms.drawing.FieldsDrawn"
ROOT_URLCONF = "workshop.urls"
WSGI_APPLICATION = "workshop.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [CHECKOUT / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["decaljobs.templatetags.addresses"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]

DATABASES = {"default": database(DATA)}
# Work that takes longer than a page may is done by a worker, if there is one.
WORK_BEHIND = "worker" if os.environ.get("DECALJOBS_WORKER") == "1" else "thread"
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "decaljobs.Person"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "bench"
LOGOUT_REDIRECT_URL = "sign-in"
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_HTTP_RESPONSE_CODE = 429
AXES_LOCKOUT_TEMPLATE = "people/locked_out.html"
AXES_RESET_ON_SUCCESS = True

LANGUAGE_CODE = "en-gb"
USE_TZ = True
TIME_ZONE = os.environ.get("DECALJOBS_ZONE", "Europe/London")

# What the QR code of a job card written from a terminal begins with.
SITE_ADDRESS = os.environ.get("DECALJOBS_ADDRESS", "http://127.0.0.1:8000")

STATIC_URL = "/static/"
STATICFILES_DIRS = [CHECKOUT / "static"]
# Static files are served as they lie, so that starting needs no collecting.
WHITENOISE_USE_FINDERS = True
STORAGES = {
    "default": media_storage(os.environ.get("DECALJOBS_MEDIA_S3", "")),
    "staticfiles": {"BACKEND": "workshop.storages.StaticFiles"},
}
MEDIA_ROOT = DATA / "media"
BACKUP_FOLDER = DATA / "backups"

DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 1000
DATA_UPLOAD_MAX_NUMBER_FILES = 100
FILE_UPLOAD_PERMISSIONS = 0o600

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "base-uri": [NONE],
        "connect-src": [SELF],
        "font-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "img-src": [SELF],
        "manifest-src": [SELF],
        "script-src": [SELF],
        "style-src": [SELF],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
if HOSTS and not HTTPS:
    # In one's own network: without HTTPS browsers ignore this policy, and complain of it.
    SECURE_CROSS_ORIGIN_OPENER_POLICY = None
# A browser keeps cookies by host, not by port: two workshops on one machine would sign each
# other out.
OWN = hashlib.sha256(SECRET_KEY.encode()).hexdigest()[:8]
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = f"session_{OWN}", f"csrf_{OWN}"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 60 * 60 * 24 * 60
CSRF_COOKIE_HTTPONLY = True
if HTTPS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True

MESSAGE_TAGS = {message_levels.ERROR: "refused", message_levels.SUCCESS: "done"}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"dated": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler"},
        # What went wrong, beside the records; it never grows beyond a few MB.
        "file": {
            "class": "logging.handlers.RotatingFileHandler",
            "filename": DATA / "workshop.log",
            "maxBytes": 1024 * 1024,
            "backupCount": 3,
            "delay": True,
            "formatter": "dated",
        },
    },
    "root": {"handlers": ["console", "file"], "level": "WARNING"},
    # A full queue for a moment is a busy page, not news for the maker.
    "loggers": {"waitress.queue": {"level": "ERROR"}},
}
