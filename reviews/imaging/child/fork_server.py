"""The process that loads the picture library once and forks a confined child for each picture.

Started by `sandbox.py` as `python -m reviews.imaging.child.fork_server`; its standard input is the line on which it is
handed one socket per picture. It runs no picture operation itself: the library's threads would not survive a fork.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import resource
import select
import signal
import socket
import sys
import traceback
from typing import Any

from reviews.imaging.child import tasks
from reviews.imaging.limits import Limits
from reviews.imaging.results import Refusal

# Errors that say nothing about the picture; the same file may be opened well at another time.
THE_MACHINES_FAULT = {
    errno.ENOSPC,
    errno.EDQUOT,
    errno.EIO,
    errno.EMFILE,
    errno.ENFILE,
    errno.ENOENT,
    errno.EACCES,
    errno.EROFS,
}


class EventLine:
    """The child's way to speak: one JSON object per line."""

    def __init__(self, line: socket.socket) -> None:
        self._line = line

    def __call__(self, event: str, **values: Any) -> None:
        self._line.sendall(json.dumps({"event": event, **values}).encode() + b"\n")


def confine(limits: Limits) -> None:
    """Give the kernel this child's limits; it ends a child that passes them."""
    resource.setrlimit(resource.RLIMIT_DATA, (limits.memory_bytes, limits.memory_bytes))
    resource.setrlimit(resource.RLIMIT_CPU, (limits.cpu_seconds, limits.cpu_seconds + 1))
    resource.setrlimit(resource.RLIMIT_FSIZE, (limits.written_bytes, limits.written_bytes))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    signal.alarm(limits.wall_seconds)


def quiet() -> None:
    """Send what the decoders print about broken files nowhere."""
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nowhere, stream)


def do_one(line: socket.socket) -> None:
    """Live as a child: read the request, work under its limits, answer, end."""
    send = EventLine(line)
    signal.set_wakeup_fd(-1)
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    quiet()
    send("began", pid=os.getpid())
    with line.makefile("r", encoding="utf-8") as incoming:
        asked = json.loads(incoming.readline())
    limits = Limits(**asked["limits"])
    confine(limits)
    try:
        answer = tasks.TASKS[asked["task"]](asked["request"], limits, send)
    except MemoryError:
        return  # The end without an answer is read together with its reason by the other side.
    except Exception as problem:
        hindered = isinstance(problem, OSError) and problem.errno in THE_MACHINES_FAULT
        send("hindered" if hindered else "failed", trace=traceback.format_exc())
        return
    if isinstance(answer, Refusal):
        send("refused", code=answer.code, values=answer.values)
    else:
        send("done", **answer)


def bury(children: dict[int, socket.socket]) -> None:
    """Tell the asker how each ended child ended, and what it used."""
    while children:
        try:
            pid, status, used = os.wait4(-1, os.WNOHANG)
        except ChildProcessError:
            return
        if pid == 0:
            return
        line = children.pop(pid)
        # Whoever asked may be gone; then nobody hears it.
        with contextlib.suppress(OSError):
            EventLine(line)(
                "ended",
                signal=os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0,
                cpu_seconds=used.ru_utime + used.ru_stime,
                peak_bytes=used.ru_maxrss * 1024,
            )
        line.close()


def main() -> None:
    """Fork a child for each socket that arrives, until the line is closed."""
    control = socket.socket(fileno=os.dup(0))
    waking, woken = os.pipe()
    for end in (waking, woken):
        os.set_blocking(end, False)
    signal.set_wakeup_fd(woken)
    signal.signal(signal.SIGCHLD, lambda *_: None)
    children: dict[int, socket.socket] = {}
    while True:
        ready, _, _ = select.select([control.fileno(), waking], [], [])
        if waking in ready:
            os.read(waking, 4096)
            bury(children)
        if control.fileno() in ready:
            _, handed, _, _ = socket.recv_fds(control, 16, 1)
            if not handed:
                sys.exit(0)
            line = socket.socket(fileno=handed[0])
            pid = os.fork()
            if pid == 0:
                try:
                    for other in (control, *children.values()):
                        other.close()
                    do_one(line)
                finally:
                    os._exit(0)
            children[pid] = line


if __name__ == "__main__":
    main()
