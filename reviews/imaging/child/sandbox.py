"""Run picture work in a child process that the kernel holds to its limits.

A decoder fed a hostile file may crash, hang or swallow memory; none of that may reach the worker. One quiet
*fork server* process per worker loads the picture library once; for each file it forks a child, so a picture costs some
milliseconds of start-up instead of the library's 0.2 s, and nothing of one picture survives into the next.
The child gets a clean environment (no secrets of the portal) and limits on memory, CPU, wall time and written bytes.
Standard library only.
"""

from __future__ import annotations

import atexit
import json
import logging
import os
import signal
import socket
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from reviews.imaging.limits import Limits
from reviews.imaging.results import Refusal

Event = dict[str, Any]
# Seconds beyond the child's own alarm before we end it ourselves; for a child whose alarm does not reach it.
GRACE_SECONDS = 15
_ROOT = Path(__file__).resolve().parents[3]
_PASSED_ON = ("PATH", "LANG", "LC_ALL", "TMPDIR", "LD_LIBRARY_PATH")

_TOO_SLOW = Refusal("took-too-long")
_TOO_HEAVY = Refusal("too-much-memory")
_BROKE_THE_READER = Refusal("damaged", {"how": "stops-the-reader"})
UNREADABLE = Refusal("unreadable")
_LOG = logging.getLogger(__name__)
_BY_SIGNAL = {signal.SIGALRM: _TOO_SLOW, signal.SIGXCPU: _TOO_SLOW, signal.SIGKILL: _TOO_HEAVY}


class _ForkServer:
    """The process that forks one child per picture; started at the first picture and again if it is gone."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._owner = 0
        self._control: socket.socket | None = None
        self._process: subprocess.Popen[bytes] | None = None

    def adopt(self, theirs: socket.socket) -> None:
        """Hand one end of a conversation to a new child."""
        with self._lock:
            if self._owner != os.getpid() or self._process is None or self._process.poll() is not None:
                self._start()
            try:
                self._send(theirs)
            except OSError:
                self._start()
                self._send(theirs)

    def _send(self, theirs: socket.socket) -> None:
        assert self._control is not None
        socket.send_fds(self._control, [b"."], [theirs.fileno()])

    def _start(self) -> None:
        self.close()
        ours, server_end = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        environment = {key: os.environ[key] for key in _PASSED_ON if key in os.environ}
        # Strips of megabytes come and go; by default each would be mapped from the kernel and given back, which cost
        # up to 0.4 s of system time per large picture.
        environment |= {"MALLOC_ARENA_MAX": "2", "MALLOC_MMAP_THRESHOLD_": "33554432"}
        environment["MALLOC_TRIM_THRESHOLD_"] = "67108864"
        environment["PYTHONPATH"] = str(_ROOT)
        environment["VIPS_CONCURRENCY"] = os.environ.get("VIPS_CONCURRENCY", "2")
        self._process = subprocess.Popen(
            [sys.executable, "-m", "reviews.imaging.child.fork_server"],
            stdin=server_end.fileno(),
            stdout=subprocess.DEVNULL,
            env=environment,
            cwd="/",
            start_new_session=True,
        )
        server_end.close()
        self._control, self._owner = ours, os.getpid()

    def close(self) -> None:
        """End the fork server: closing its line is enough, it leaves when nobody can ask any more."""
        if self._control is not None:
            self._control.close()
        if self._process is not None and self._owner == os.getpid():
            self._process.wait()
        self._control = self._process = None


_FORK_SERVER = _ForkServer()
atexit.register(_FORK_SERVER.close)


def run(
    task: str, request: dict[str, Any], limits: Limits, on_event: Callable[[Event], None] | None = None
) -> Event | Refusal:
    """Do a named task of `tasks.py` in a confined child and give its answer, or the refusal it ended in.

    The answer carries `cpu_seconds` and `peak_bytes` of the child, as the kernel counted them. A fault of our own
    on this file is logged and refuses it, since trying again would fail again. Raises RuntimeError when the machine
    hindered the work (no room on the disk, the process killed from outside): that is no verdict on the file.
    """
    ours, theirs = socket.socketpair()
    # The scratch space is ours, so that it is cleared even when the child is ended in the middle of its work.
    with tempfile.TemporaryDirectory(prefix=".pixels-", dir=request.get("folder")) as scratch, ours:
        request = request | {"scratch": scratch}
        with theirs:
            _FORK_SERVER.adopt(theirs)
        ours.settimeout(limits.wall_seconds + GRACE_SECONDS)
        ours.sendall(json.dumps({"task": task, "request": request, "limits": asdict(limits)}).encode() + b"\n")
        return _converse(ours, on_event)


def _converse(ours: socket.socket, on_event: Callable[[Event], None] | None) -> Event | Refusal:
    pid, answer, ended = 0, None, None
    try:
        with ours.makefile("r", encoding="utf-8") as lines:
            for line in lines:
                event = json.loads(line)
                match event["event"]:
                    case "began":
                        pid = event["pid"]
                    case "done" | "refused" | "failed" | "hindered":
                        answer = event
                    case "ended":
                        ended = event
                        break
                    case _ if on_event is not None:
                        on_event(event)
    except TimeoutError:
        if pid:
            os.kill(pid, signal.SIGKILL)
        return _TOO_SLOW
    return _verdict(answer, ended)


def _verdict(answer: Event | None, ended: Event | None) -> Event | Refusal:
    if ended is None:
        raise RuntimeError("The process that opens pictures could not be started, or was ended from outside.")
    if answer is None:
        # Without a signal the child left by itself, which it does only when it is refused memory.
        return _BY_SIGNAL.get(ended["signal"], _BROKE_THE_READER) if ended["signal"] else _TOO_HEAVY
    if answer["event"] == "refused":
        return Refusal(answer["code"], answer["values"])
    if answer["event"] == "failed":
        _LOG.error("The reader failed on a picture: %s", answer["trace"])
        return UNREADABLE
    if answer["event"] == "hindered":
        raise RuntimeError(f"The picture could not be worked on: {answer['trace']}")
    return answer | {"cpu_seconds": ended["cpu_seconds"], "peak_bytes": ended["peak_bytes"]}
