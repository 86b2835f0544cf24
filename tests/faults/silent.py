"""A server that accepts and says nothing, as a machine does whose disk or switch has died."""

import socket
import threading
from types import TracebackType


class Silent:
    """Listen on a free port of this machine, accept, and never answer."""

    def __init__(self) -> None:
        self.listener = socket.create_server(("127.0.0.1", 0), backlog=64)
        self.port = self.listener.getsockname()[1]
        self.held: list[socket.socket] = []
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self) -> None:
        while True:
            try:
                self.held.append(self.listener.accept()[0])
            except OSError:
                return

    def __enter__(self) -> "Silent":
        return self

    def __exit__(self, kind: type | None, problem: BaseException | None, trace: TracebackType | None) -> None:
        # Shutting down wakes the thread that waits in accept; closing alone would not.
        self.listener.shutdown(socket.SHUT_RDWR)
        self.listener.close()
        for one in self.held:
            one.close()
