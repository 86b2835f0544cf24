"""A small browser without pictures: keeps cookies, finds forms' tokens, sends long bodies without holding them."""

from __future__ import annotations

import http.client
import re
import ssl
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from urllib.parse import urlencode

BOUNDARY = "a-line-that-no-picture-has"


@dataclass
class Answer:
    status: int
    headers: http.client.HTTPMessage
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()


@dataclass
class WebClient:
    """One visitor of one server. `host` is the name asked for, whatever address is dialled."""

    port: int
    host: str = "127.0.0.1"
    tls: bool = False
    source: str = ""
    cookies: dict[str, str] = field(default_factory=dict)
    headers: dict[str, str] = field(default_factory=dict)

    @property
    def origin(self) -> str:
        return f"{'https' if self.tls else 'http'}://{self.host}:{self.port}"

    def ask(
        self, method: str, path: str, body: bytes | Iterable[bytes] | None = None, *, chunked: bool = False, **more: str
    ) -> Answer:
        """Send one request on a connection of its own and read the whole answer."""
        connection = self._connect()
        try:
            headers = {"Host": f"{self.host}:{self.port}", "Connection": "close", **self.headers}
            headers |= {name.replace("_", "-"): value for name, value in more.items()}
            if self.cookies:
                headers["Cookie"] = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
            connection.request(method, path, body=body, headers=headers, encode_chunked=chunked)
            answer = connection.getresponse()
            for cookie in answer.headers.get_all("Set-Cookie") or []:
                name, _, value = cookie.partition(";")[0].partition("=")
                self.cookies[name] = value
            return Answer(answer.status, answer.headers, answer.read())
        finally:
            connection.close()

    def get(self, path: str, **more: str) -> Answer:
        return self.ask("GET", path, **more)

    def post(self, path: str, form: dict[str, str], *, page: str = "", **more: str) -> Answer:
        """Fill in the form of a page (by default the address itself) and send it."""
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.get(page or path).text)
        body = urlencode({**form, "csrfmiddlewaretoken": token.group(1) if token else ""}).encode()
        kind = "application/x-www-form-urlencoded"
        return self.ask("POST", path, body, Content_Type=kind, Referer=self.origin + path, Origin=self.origin, **more)

    def upload(self, path: str, files: dict[str, Iterable[bytes]], n_bytes: int, **more: str) -> Answer:
        """Send files as one hand-in; `n_bytes` is the length of all of them together."""
        around = sum(len(_head(name)) + 2 for name in files) + len(_END)
        return self.ask(
            "POST", path, _parts(files), Content_Length=str(n_bytes + around),
            Content_Type=f"multipart/form-data; boundary={BOUNDARY}", X_CSRFToken=self._csrf,
            Referer=self.origin + path, Origin=self.origin, **more,
        )  # fmt: skip

    @property
    def _csrf(self) -> str:
        return next(value for name, value in self.cookies.items() if name.endswith("roughproof_csrf"))

    def _connect(self) -> http.client.HTTPConnection:
        source = (self.source, 0) if self.source else None
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120, source_address=source)
        if self.tls:
            connection.connect()
            anybody = ssl._create_unverified_context()
            connection.sock = anybody.wrap_socket(connection.sock, server_hostname=self.host)
        return connection


_END = f"--{BOUNDARY}--\r\n".encode()


def _head(name: str) -> bytes:
    return (
        f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n'
        "Content-Type: image/tiff\r\n\r\n"
    ).encode()


def _parts(files: dict[str, Iterable[bytes]]) -> Iterator[bytes]:
    for name, pieces in files.items():
        yield _head(name)
        yield from pieces
        yield b"\r\n"
    yield _END


def zeros(n_bytes: int, first: bytes = b"") -> Iterator[bytes]:
    """Give a long file of nothing, after its first few bytes, in pieces of a megabyte."""
    yield first
    left, piece = n_bytes - len(first), bytes(1024 * 1024)
    while left > 0:
        yield piece[:left]
        left -= len(piece)
