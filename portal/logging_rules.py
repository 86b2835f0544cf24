"""What is logged, how, and by whom: `portal/logs.py` names the parts. Read by settings, so this imports no Django."""

from typing import Any


def logging_as(*, formatter: str, level: str, is_each_request: bool) -> dict[str, Any]:
    """Return the rules of the log: `formatter` is line or json, `level` that of our own events."""
    return {
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
                "formatter": formatter,
                "filters": ["number", "secrets", "outages"],
            }
        },
        "root": {"handlers": ["stderr"], "level": "WARNING"},
        "loggers": {
            "reviews": {"level": level},
            # One line per request, without the secrets that stand in addresses.
            "portal.requests": {"level": "INFO" if is_each_request else "WARNING"},
            "django": {"handlers": [], "level": "WARNING", "propagate": True},
            # Django names the whole address, which may hold an invitation's secret; reviews.views.responses says what
            # was refused to whom without it.
            "django.request": {"level": "ERROR"},
            "django.security.csrf": {"level": "ERROR"},
        },
    }
