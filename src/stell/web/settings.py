"""Django settings of the site: the store's, and what a site adds to be safe.

Two profiles. On the loopback (the usual one) the site is reached from this computer alone and over
plain HTTP, so cookies cannot be marked as HTTPS-only. ``STELL_SITE=https`` is for a practice's
server behind a certificate: it needs ``STELL_HOSTS`` (names joined by commas).
"""

from __future__ import annotations

import os
from datetime import date, timedelta
from pathlib import Path

from csp.constants import NONE, SELF

from stell.store.settings import base_settings
from stell.web.clock import machine_zone

_HERE = Path(__file__).parent
_FOLDER = os.environ.get("STELL_DATA", "")
_BASE = base_settings(Path(_FOLDER).expanduser().absolute() if _FOLDER else None)

OVER_HTTPS = os.environ.get("STELL_SITE", "loopback") == "https"
LOOPBACK = ["127.0.0.1", "localhost", "[::1]"]
ALLOWED_HOSTS = (
    [name.strip() for name in os.environ.get("STELL_HOSTS", "").split(",") if name.strip()]
    if OVER_HTTPS
    else LOOPBACK
)

DEBUG = False
# `open_store` sets the folder's own key and database; without a folder nothing can be signed.
SECRET_KEY = _BASE.get("SECRET_KEY", "")
DATABASES = _BASE["DATABASES"]
DEFAULT_AUTO_FIELD = _BASE["DEFAULT_AUTO_FIELD"]
ROOT_URLCONF = "stell.web.urls"
WSGI_APPLICATION = "stell.web.wsgi.application"

INSTALLED_APPS = [
    *_BASE["INSTALLED_APPS"],
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "axes",
    "csp",
    "stell.web",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "stell.web.headers.QuietHeaders",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "stell.web.idle.IdleEnds",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "stell.web.refusals.Refusals",
    "axes.middleware.AxesMiddleware",
]

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "stell.web.desk.frame.frame",
            ],
            "builtins": ["stell.web.templatetags.desk"],
        },
    }
]

# --- Who may come in -------------------------------------------------------------------------

AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
PASSWORD_HASHERS = _BASE["PASSWORD_HASHERS"]
_RULES = "django.contrib.auth.password_validation."
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"{_RULES}UserAttributeSimilarityValidator"},
    {"NAME": f"{_RULES}MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": f"{_RULES}CommonPasswordValidator"},
]
LOGIN_URL = "log_in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "log_in"

# One lockout mechanism, this one: five wrong passwords for a name from one place shut that pair
# out for a quarter of an hour; the right password does not help meanwhile.
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "desk/locked.html"
AXES_VERBOSE = False

# --- Cookies and transport -------------------------------------------------------------------

SESSION_COOKIE_AGE = 10 * 60 * 60  # from the log-in on: a long working day [s]
SESSION_IDLE_SECONDS = 2 * 60 * 60  # see `idle`; a visit to one farm and back [s]
SESSION_EXPIRE_AT_BROWSER_CLOSE = True
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = True
CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = OVER_HTTPS
CSRF_COOKIE_SECURE = OVER_HTTPS
# The prefix binds a cookie to one host; browsers accept it over HTTPS only.
SESSION_COOKIE_NAME = "__Host-stell-session" if OVER_HTTPS else "stell-session"
CSRF_COOKIE_NAME = "__Host-stell-csrf" if OVER_HTTPS else "stell-csrf"
SECURE_SSL_REDIRECT = OVER_HTTPS
SECURE_HSTS_SECONDS = 365 * 24 * 60 * 60 if OVER_HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = OVER_HTTPS
SECURE_HSTS_PRELOAD = OVER_HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if OVER_HTTPS else None
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

# Nothing is allowed but what the desk uses. There is no script, so none is allowed.
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "style-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "object-src": [NONE],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}

# --- Static files: served from the package itself, no collecting step --------------------------

STATIC_URL = "/static/"
STATICFILES_FINDERS = ["django.contrib.staticfiles.finders.AppDirectoriesFinder"]
WHITENOISE_USE_FINDERS = True
WHITENOISE_ALLOW_ALL_ORIGINS = False
WHITENOISE_MAX_AGE = 300  # [s]

# --- Language and time -----------------------------------------------------------------------

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English")]
LOCALE_PATHS = [str(_HERE / "locale")]
USE_I18N = True
USE_TZ = True
STELL_ZONE = machine_zone()
TIME_ZONE = getattr(STELL_ZONE, "key", None) or "UTC"
# The desk shows the farm as on this day instead of today; for tests and for pictures.
STELL_TODAY = (
    date.fromisoformat(os.environ["STELL_TODAY"]) if os.environ.get("STELL_TODAY") else None
)

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{levelname} {name}: {message}", "style": "{"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {
        # Django's own handlers would write to a console that is only there while debugging.
        "django": {"handlers": [], "level": "WARNING", "propagate": True},
    },
}
