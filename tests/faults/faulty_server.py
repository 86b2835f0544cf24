"""A server in front of another that passes everything on, until it is told to fail in some way."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress

HTTP_500 = b"HTTP/1.1 500 Internal Server Error\r\nContent-Length: 0\r\nConnection: close\r\n\r\n"
SMTP_450 = b"450 4.7.1 Greylisted, try again later\r\n"


class FaultyServer:
    """`mode` is pass, refuse, silent, slow, or bytes that are said before the connection is closed."""

    def __init__(self, target: tuple[str, int]) -> None:
        self.target = target
        self.mode: str | bytes = "pass"
        self.listener = socket.create_server(("127.0.0.1", 0), backlog=64)
        self.port = self.listener.getsockname()[1]
        self.n_failed = 0
        threading.Thread(target=self._accept, daemon=True).start()

    @contextmanager
    def failing(self, mode: str | bytes) -> Iterator[None]:
        self.mode = mode
        try:
            yield
        finally:
            self.mode = "pass"

    def close(self) -> None:
        self.listener.shutdown(socket.SHUT_RDWR)
        self.listener.close()

    def _accept(self) -> None:
        while True:
            try:
                client, _ = self.listener.accept()
            except OSError:
                return
            threading.Thread(target=self._serve, args=(client,), daemon=True).start()

    def _serve(self, client: socket.socket) -> None:
        mode = self.mode
        with client:
            if mode != "pass":
                self.n_failed += 1
            if mode == "refuse":
                return
            if isinstance(mode, bytes):
                if mode.startswith(b"HTTP"):
                    client.recv(65536)
                client.sendall(mode)
                return
            while self.mode == "silent" == mode:
                time.sleep(0.1)
            if mode == "silent":
                return
            if mode == "slow":
                time.sleep(2.0)
            self._pass_on(client)

    def _pass_on(self, client: socket.socket) -> None:
        with socket.create_connection(self.target) as server:
            ways = [threading.Thread(target=self._copy, args=way, daemon=True)
                    for way in ((client, server), (server, client))]  # fmt: skip
            for way in ways:
                way.start()
            for way in ways:
                way.join()

    def _copy(self, source: socket.socket, target: socket.socket) -> None:
        try:
            while data := source.recv(65536):
                # What was open when the fault begins is cut: a pool's old connections are no way around it.
                if self.mode not in ("pass", "slow"):
                    break
                target.sendall(data)
        except OSError:
            pass
        for one in (source, target):
            with suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
