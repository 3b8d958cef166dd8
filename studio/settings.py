"""One settings file: what differs between machines comes from the environment."""

import os
import secrets
import sys
from pathlib import Path

import dj_database_url
from django.core.exceptions import ImproperlyConfigured

from studio import data_folder


def env_bool(name: str, default: bool = False) -> bool:
    """A yes/no environment variable; anything else is refused."""
    value = os.environ.get(name, "").strip().lower()
    if value in {"1", "true", "yes", "on"}:
        return True
    if value in {"0", "false", "no", "off"}:
        return False
    if value == "":
        return default
    raise ImproperlyConfigured(f"{name} is “{value}”: write yes or no.")


def env_list(name: str, default: list[str]) -> list[str]:
    """A comma-separated environment variable."""
    value = os.environ.get(name, "")
    return [part.strip() for part in value.split(",") if part.strip()] or default


# Arithmetic as small as ours only waits for itself on several threads: pictures are shared out
# instead, one to each. numpy reads this when it loads, which is after the settings.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = data_folder.location()
BACKUP_DIR = Path(os.environ.get("STILLCOUNT_BACKUPS") or DATA_DIR / "backups").expanduser()

DEBUG = env_bool("STILLCOUNT_DEBUG")
# Without a data folder (tests, `manage.py check`) a key of this process only; a check says so.
SECRET_KEY = data_folder.secret_key(DATA_DIR) or f"unsaved-{secrets.token_urlsafe(50)}"
ALLOWED_HOSTS = env_list("STILLCOUNT_HOSTS", ["localhost", "127.0.0.1", "[::1]"])

HTTPS = env_bool("STILLCOUNT_HTTPS")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if HTTPS and host != "*"]
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_SSL_REDIRECT = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SECURE_REDIRECT_EXEMPT = [r"^health/$"]  # asked from the same machine, without HTTPS
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
X_FRAME_OPTIONS = "DENY"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django.forms",  # lets our own field template win
    "django_htmx",
    "simple_history",
    "axes",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_tasks",
    "django_tasks_db",
    "studio.apps.StudioConfig",
    "shots.apps.ShotsConfig",
    "clients.apps.ClientsConfig",
]

MIDDLEWARE = [
    "studio.middleware.RequestLogMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "studio.middleware.ContentSecurityPolicyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "studio.middleware.RowKeyMiddleware",
    "studio.middleware.StudioMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "studio.urls"
WSGI_APPLICATION = "studio.wsgi.application"

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
                "studio.web.studio_context",
            ],
            "builtins": ["studio.templatetags.house"],
        },
    },
]

SQLITE = {
    "ENGINE": "django.db.backends.sqlite3",
    "NAME": DATA_DIR / "stillcount.sqlite3",
    "OPTIONS": {
        "timeout": 20,  # seconds a writer waits for another
        "transaction_mode": "IMMEDIATE",  # take the write lock at once: no deadlock on upgrade
        # FULL: what was confirmed is still there after a power cut.
        "init_command": (
            "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;"
        ),
    },
    # A file, so that the browser tests' server thread has a connection of its own.
    "TEST": {"NAME": BASE_DIR / "build" / "test.sqlite3"},
}
DATABASE_URL = os.environ.get("DATABASE_URL")
DATABASES = {
    "default": dj_database_url.parse(DATABASE_URL, conn_max_age=60) if DATABASE_URL else SQLITE
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "studio.Person"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
     "OPTIONS": {"user_attributes": ("sign_in_name", "name", "email")}},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
     "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]  # fmt: skip
SESSION_ENGINE = "studio.sessions"
OTP_TOTP_ISSUER = "Stillcount"
LOGIN_URL = "studio:sign_in"
LOGIN_REDIRECT_URL = "studio:today"
LOGOUT_REDIRECT_URL = "studio:sign_in"

# Five wrong passwords for one name from one address close the door for a quarter of an hour.
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_CALLABLE = "studio.views.sign_in.locked_out"
AXES_USERNAME_FORM_FIELD = "username"
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False

LANGUAGE_CODE = "en-gb"
TIME_ZONE = "UTC"  # each request turns to the studio's own zone
USE_I18N = True
USE_TZ = True

FORM_RENDERER = "studio.forms.HouseRenderer"

STATIC_URL = "static/"
MEDIA_ROOT = DATA_DIR / "files"
MEDIA_URL = "files/"
TESTING = "pytest" in sys.modules
# Collected at each start, beside the data of the studio they are served to.
STATIC_ROOT = BASE_DIR / "build" / "static" if TESTING else DATA_DIR / "static"
if TESTING:
    STATIC_ROOT.mkdir(parents=True, exist_ok=True)
STORAGES = {
    "default": {"BACKEND": "studio.storage.WholeFiles"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG or TESTING
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
S3_BUCKET = os.environ.get("STILLCOUNT_S3_BUCKET")
if S3_BUCKET:
    # Address, region and keys come from the environment (AWS_*), as every S3 program reads them.
    STORAGES["default"] = {
        "BACKEND": "studio.bucket.Bucket",
        "OPTIONS": {
            "bucket_name": S3_BUCKET,
            "endpoint_url": os.environ.get("AWS_ENDPOINT_URL"),
            "default_acl": None,  # the bucket's own: private
            "file_overwrite": False,
        },
    }
WHITENOISE_USE_FINDERS = DEBUG or TESTING
FILE_UPLOAD_PERMISSIONS = 0o600
DATA_UPLOAD_MAX_MEMORY_SIZE = 10 * 1024 * 1024  # bytes: a pasted shot list of 50,000 rows fits
DATA_UPLOAD_MAX_NUMBER_FIELDS = 20_000  # a quote of 4 options of 400 sequences fits
LARGEST_STORYBOARD_BYTES = 15 * 1024 * 1024
LARGEST_FILM_UPLOAD_BYTES = 1_000_000_000  # the server refuses requests over 1 GiB unheard
# Folders of this machine whose films may be checked, beside the data folder's own `deliveries/`.
DELIVERY_FOLDERS = [
    Path(part)
    for part in os.environ.get("STILLCOUNT_DELIVERY_FOLDERS", "").split(os.pathsep)
    if part.strip()
]

EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
if not os.environ.get("EMAIL_HOST"):
    EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"
EMAIL_HOST = os.environ.get("EMAIL_HOST", "")
EMAIL_USE_TLS = env_bool("EMAIL_USE_TLS", default=True)
EMAIL_PORT = int(os.environ.get("EMAIL_PORT") or (587 if EMAIL_USE_TLS else 25))
EMAIL_HOST_USER = os.environ.get("EMAIL_HOST_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("EMAIL_HOST_PASSWORD", "")
EMAIL_TIMEOUT = 15  # seconds a page waits for the mail server
DEFAULT_FROM_EMAIL = os.environ.get("EMAIL_FROM") or EMAIL_HOST_USER or "stillcount@localhost"

# Long work waits in the database; `manage.py start` brings the process that does it.
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}

MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
SIMPLE_HISTORY_REVERT_DISABLED = True

# Lines for people by default; STILLCOUNT_LOGS=json for a program that collects them.
LOG_FORM = "json" if os.environ.get("STILLCOUNT_LOGS") == "json" else "plain"
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"without_addresses": {"()": "studio.logs.WithoutAddresses"}},
    "formatters": {
        "plain": {"format": "{asctime} {levelname} {name} {message}", "style": "{"},
        "json": {
            "()": "pythonjsonlogger.json.JsonFormatter",
            "fmt": "{asctime}{levelname}{name}{message}",
            "style": "{",
        },
    },
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "formatter": LOG_FORM,
            "filters": ["without_addresses"],
        }
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        # Django's own way of writing to the terminal would go past the filter.
        "django": {"handlers": [], "level": "WARNING", "propagate": True},
        # Every answer, for who collects them; a terminal shows only what went wrong.
        "studio.middleware": {"level": "INFO" if LOG_FORM == "json" else "WARNING"},
        "studio.links": {"level": "INFO" if LOG_FORM == "json" else "WARNING"},
        # Answers that wait some milliseconds for a free thread are no news.
        "waitress.queue": {"level": "ERROR"},
    },
}
