"""The embedded web server: waitress, with a door that nobody can stand in.

One loop receives for everybody, so a slow connection costs no thread; what it could cost is bounded here. A request
is refused by its announced length before its body is spooled, a body without a length as soon as it is too long,
and connections that do nothing, or next to nothing, are ended before they crowd others out.
"""

from __future__ import annotations

import resource
import tempfile
from collections.abc import Callable
from http import HTTPStatus
from importlib import import_module
from time import monotonic
from typing import Any

from django.conf import settings
from django.contrib.auth import get_user
from django.core.exceptions import SuspiciousOperation
from django.http import HttpRequest, JsonResponse, parse_cookie
from django.template.loader import render_to_string
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.server import TcpWSGIServer
from waitress.utilities import Error

from reviews.pages.wording.refusals import sentence_for
from reviews.uploads import TooMuch, no_room_for, spool_folder, too_much

# Measured with 1,000 connections that send nothing and 1,000 that send a byte a second: see tests/portal/test_crowd.py.
MOST_CONNECTIONS = 4000
#: A connection that carries nothing is ended after this long, and after the second where many wait.
IDLE_SECONDS, IDLE_SECONDS_IN_A_CROWD = 75, 5
#: Headers are there within this long, and a body comes at least at this pace once it has begun that long ago.
HEADER_SECONDS, SLOWEST_BYTES_A_SECOND = 20, 2048
#: A body that is refused is still received, to nowhere, up to this length: browsers show an answer only after it.
MOST_SWALLOWED_BYTES = 1024**3
#: How often the disk is looked at while a body arrives.
_ROOM_STEP_BYTES = 16 * 1024**2


class _Refusal(Error):
    """An answer made without asking the application."""

    def __init__(self, refused: TooMuch, *, as_json: bool) -> None:
        super().__init__(sentence_for(refused.why))
        self.code, self.reason = refused.status, HTTPStatus(refused.status).phrase
        self.as_json = as_json

    def to_response(self, ident: str | None = None) -> tuple[str, list[tuple[str, str]], bytes]:
        if self.as_json:
            kind, body = "application/json", JsonResponse({"sentence": self.body}).content
        else:
            kind, body = "text/html; charset=utf-8", render_to_string("413.html", {"sentence": self.body}).encode()
        headers = {"Content-Type": kind, "Cache-Control": "private, no-store", "X-Content-Type-Options": "nosniff"}
        return f"{self.code} {self.reason}", list(headers.items()), body


class _Nowhere:
    """Takes the rest of a refused body without keeping it."""

    error = None

    def __init__(self, remain: int) -> None:
        self.remain = remain
        self.completed = remain <= 0

    def received(self, data: bytes) -> int:
        taken = min(len(data), self.remain)
        self.remain -= taken
        self.completed = self.remain == 0
        return taken

    def getbuf(self) -> _Nowhere:
        return self

    def close(self) -> None:
        """Nothing was kept."""


class NarrowParser(HTTPRequestParser):
    """Reads one request, and refuses its body before it fills anything."""

    body_rcv: Any
    expect_continue: bool

    def __init__(self, adj: object) -> None:
        super().__init__(adj)
        self.began = monotonic()
        self.n_looked = 0

    def received(self, data: bytes) -> int:
        had_headers = self.headers_finished
        consumed = super().received(data)
        if self.headers_finished and not had_headers and self.error is None and self.content_length:
            self._refuse(too_much_of(self, self.content_length))
        elif had_headers and self.error is None and self.body_bytes_received - self.n_looked >= self._step:
            self.n_looked = self.body_bytes_received
            self._refuse(too_much_of(self, self.n_looked) if self.chunked else no_room_for(self.n_looked))
        return consumed

    @property
    def _step(self) -> int:
        # Without an announced length nothing was asked yet: ask as soon as it is more than a stranger may send.
        return settings.MAX_ANONYMOUS_BYTES if self.chunked else _ROOM_STEP_BYTES

    @property
    def is_too_slow(self) -> bool:
        """Say whether a connection only pretends to send."""
        seconds = monotonic() - self.began
        return seconds > HEADER_SECONDS and (
            not self.headers_finished or self.body_bytes_received < SLOWEST_BYTES_A_SECOND * (seconds - HEADER_SECONDS)
        )

    def _refuse(self, refused: TooMuch | None) -> None:
        if refused is None:
            return
        self.error = _Refusal(refused, as_json="application/json" in self.headers.get("ACCEPT", ""))
        rest = self.content_length - self.body_bytes_received
        if self.body_rcv is not None:
            self.body_rcv.getbuf().close()
        waits = not self.chunked and not self.expect_continue and 0 < rest <= MOST_SWALLOWED_BYTES
        # Asked “may I send?”, the answer is no, and nothing comes.
        self.expect_continue = False
        self.body_rcv = _Nowhere(rest if waits else 0)
        self.completed = not waits


def too_much_of(parser: NarrowParser, n_bytes: int) -> TooMuch | None:
    """Say why a request's body is not taken. Only who sends much is looked up: it is one query in the loop."""
    return too_much(parser.path, n_bytes, signed_in=n_bytes <= settings.MAX_ANONYMOUS_BYTES or _is_signed_in(parser))


def _is_signed_in(parser: NarrowParser) -> bool:
    key = parse_cookie(parser.headers.get("COOKIE", "")).get(settings.SESSION_COOKIE_NAME)
    if not key:
        return False
    request = HttpRequest()
    request.session = import_module(settings.SESSION_ENGINE).SessionStore(key)
    try:
        return get_user(request).is_authenticated
    except SuspiciousOperation:
        return False


class NarrowChannel(HTTPChannel):
    parser_class = NarrowParser


class NarrowServer(TcpWSGIServer):
    """Ends connections that hold a place and do nothing with it."""

    channel_class = NarrowChannel

    def maintenance(self, now: float) -> None:
        crowded = len(self.active_channels) > self.adj.connection_limit // 2
        cutoff = now - (IDLE_SECONDS_IN_A_CROWD if crowded else IDLE_SECONDS)
        for channel in self.active_channels.values():
            if channel.requests:
                continue  # it is being answered
            pretends = channel.request is not None and channel.request.is_too_slow
            if pretends or channel.last_activity < cutoff:
                channel.will_close = True


def web_server(application: Callable, *, host: str, port: int) -> NarrowServer:
    """Make the server, listening; bodies are spooled where uploads are gathered, not in the machine's folder."""
    tempfile.tempdir = spool_folder()
    return NarrowServer(
        application, host=host, port=port, threads=8, ident=None, backlog=1024,
        connection_limit=_room_for_connections(), asyncore_use_poll=True, cleanup_interval=3,
        # A hand-in of twenty files; what each address takes is asked for each request.
        max_request_body_size=10**15, max_request_header_size=32 * 1024,
        recv_bytes=256 * 1024, inbuf_overflow=64 * 1024,
        # ThroughProxy believes the proxies of the settings and takes the headers of all others off.
        clear_untrusted_proxy_headers=False,
    )  # fmt: skip


def _room_for_connections() -> int:
    """Raise the number of files this process may have open: a connection is one, and its body another."""
    _, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = 2 * MOST_CONNECTIONS + 200
    allowed = wanted if most == resource.RLIM_INFINITY else min(most, wanted)
    resource.setrlimit(resource.RLIMIT_NOFILE, (allowed, most))
    return max(50, (allowed - 200) // 2)
