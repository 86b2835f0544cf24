"""The log: one line per event, each with its request's number; an everyday outage never as a traceback."""

import json
import logging
import secrets
import time
from collections.abc import Callable
from contextvars import ContextVar
from datetime import UTC, datetime
from time import monotonic

from django.http import HttpRequest, HttpResponse

request_number: ContextVar[str] = ContextVar("request_number", default="")
log = logging.getLogger("portal.requests")

# What stands in an address and must not stand in a log: whoever reads it could open the link.
SECRET_WORDS = {"secret", "token"}


class NumberRequests:
    """Outermost middleware: give each request a number, tell it in the answer, and log how it ended."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        number = secrets.token_hex(5)
        request.number = number  # type: ignore[attr-defined]  # for the page of a failure
        token, began = request_number.set(number), monotonic()
        try:
            response = self.get_response(request)
            response["X-Request-ID"] = number
            seconds = monotonic() - began
            log.info("%s %s %s in %.0f ms", request.method, _address(request), response.status_code, seconds * 1000)
            return response
        finally:
            request_number.reset(token)


def _address(request: HttpRequest) -> str:
    """Name what was asked for by its name and numbers: an address itself may hold the secret of a link."""
    match = getattr(request, "resolver_match", None)
    if match is None:
        return "no address of ours"
    words = [f"{name}={'…' if name in SECRET_WORDS else value}" for name, value in match.kwargs.items()]
    return " ".join([match.view_name or "unnamed", *words])


class WithNumber(logging.Filter):
    """Put the request's number beside each record."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.request_number = request_number.get() or "-"
        return True


class WithoutSecrets(logging.Filter):
    """Put the name of an address in place of the address, where Django logs a failed request."""

    def filter(self, record: logging.LogRecord) -> bool:
        request = getattr(record, "request", None)
        if isinstance(request, HttpRequest) and isinstance(record.args, tuple):
            record.args = tuple(_address(request) if words == request.path else words for words in record.args)
        return True


class OutagesInOneLine(logging.Filter):
    """Turn the traceback of something that is away for now into one line: it would drown what is news."""

    def filter(self, record: logging.LogRecord) -> bool:
        from reviews.queries.outages import what_is_away

        problem = record.exc_info[1] if isinstance(record.exc_info, tuple) else None
        away = what_is_away(problem) if problem is not None else None
        if away is not None:
            words = " ".join(str(problem).split())[:300]
            record.msg, record.args = f"{away.value} is away: {type(problem).__name__}: {words}", ()
            record.exc_info = record.exc_text = None
            record.levelno, record.levelname = logging.WARNING, "WARNING"
        return True


class UtcLine(logging.Formatter):
    """A line dated in UTC whatever the machine's own zone: Django's and our own alike."""

    converter = time.gmtime  # type: ignore[assignment]  # as the library's own manual does it


class AsJson(logging.Formatter):
    """One JSON object per line, for whoever gathers logs by machine."""

    def format(self, record: logging.LogRecord) -> str:
        told = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "request": getattr(record, "request_number", "-"),
            "message": record.getMessage(),
        }
        if record.exc_info:
            told["traceback"] = self.formatException(record.exc_info)
        return json.dumps(told, ensure_ascii=False)
