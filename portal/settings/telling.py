"""Language, time and the log."""

from zoneinfo import available_timezones

from django.core.exceptions import ImproperlyConfigured

from portal.environment import flag, text
from portal.settings.mode import BASE_DIR, HOUSE

# One language so far. A second is a catalogue in LOCALE_PATHS and a line in LANGUAGES; until then nothing chooses
# between languages (no LocaleMiddleware), so that no visitor's browser can change what a page says.
LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English")]
LOCALE_PATHS = [BASE_DIR / "reviews" / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = text("ROUGHPROOF_TIME_ZONE", "UTC")
if TIME_ZONE not in available_timezones():
    raise ImproperlyConfigured(f"ROUGHPROOF_TIME_ZONE is “{TIME_ZONE}”; write a zone such as Europe/London.")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {
        "number": {"()": "portal.logs.WithNumber"},
        "secrets": {"()": "portal.logs.WithoutSecrets"},
        "outages": {"()": "portal.logs.OutagesInOneLine"},
    },
    "formatters": {
        "line": {
            "()": "portal.logs.UtcLine",
            "format": "{asctime}Z {levelname} {name} [{request_number}]: {message}",
            "style": "{",
        },
        "json": {"()": "portal.logs.AsJson"},
    },
    "handlers": {
        "stderr": {
            "class": "logging.StreamHandler",
            "formatter": text("ROUGHPROOF_LOG_FORMAT", "line", choices={"line", "json"}),
            "filters": ["number", "secrets", "outages"],
        }
    },
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {
        "reviews": {"level": text("ROUGHPROOF_LOG", "INFO", choices={"DEBUG", "INFO", "WARNING", "ERROR"})},
        # One line per request, without the secrets that stand in addresses.
        "portal.requests": {"level": "INFO" if flag("ROUGHPROOF_LOG_REQUESTS", HOUSE) else "WARNING"},
        "django": {"handlers": [], "level": "WARNING", "propagate": True},
        # Django names the whole address, which may hold an invitation's secret; reviews.views.responses says what was
        # refused to whom without it.
        "django.request": {"level": "ERROR"},
        "django.security.csrf": {"level": "ERROR"},
    },
}
