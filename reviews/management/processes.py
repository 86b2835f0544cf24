"""The processes of the embedded mode: one supervisor, one web server, one worker.

The supervisor starts the other two in sessions of their own, so that Ctrl-C reaches only itself, and holds a
pipe to each: when the supervisor dies, however it dies, the pipe ends and they stop.
"""

import os
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from time import monotonic, sleep

MANAGE = Path(__file__).resolve().parent.parent.parent / "manage.py"
LOOPBACK = "127.0.0.1"
START_PATIENCE_SECONDS = 30.0
STOP_PATIENCE_SECONDS = 15.0
RESTART_PAUSE_SECONDS = 1.0


class CannotStart(Exception):
    """A process did not come up; the words say what to do."""


def stop_when_told(stop: Callable[[], None]) -> None:
    """Call `stop` on SIGTERM, on Ctrl-C, and when the supervisor at the other end of stdin is gone."""
    signal.signal(signal.SIGTERM, lambda *_: stop())
    signal.signal(signal.SIGINT, lambda *_: stop())
    if os.environ.get("ROUGHPROOF_SUPERVISED") == "1":
        threading.Thread(target=_wait_for_the_end_of_stdin, args=(stop,), daemon=True).start()


def _wait_for_the_end_of_stdin(stop: Callable[[], None]) -> None:
    while os.read(0, 64):
        pass
    stop()


def free_port(wanted: int, *, exactly: bool) -> int:
    """Return `wanted` where nobody listens there; else the next free port, or refuse if `exactly`."""
    for port in [wanted] if exactly else range(wanted, min(wanted + 50, 65536)):
        with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((LOOPBACK, port))
            except OSError:
                continue
            return port
    raise CannotStart(f"Port {wanted} is taken. Stop what listens there, or name another with --port.")


class Supervisor:
    """Keeps the web server and the worker running until told to stop."""

    def __init__(self, commands: Mapping[str, Sequence[str]], extra_environment: Mapping[str, str]) -> None:
        self.commands = commands
        self.environment = {**os.environ, **extra_environment, "ROUGHPROOF_SUPERVISED": "1"}
        self.children: dict[str, subprocess.Popen[bytes]] = {}
        self.stopping = threading.Event()

    def start(self) -> None:
        """Start every process."""
        signal.signal(signal.SIGTERM, lambda *_: self.stopping.set())
        signal.signal(signal.SIGINT, lambda *_: self.stopping.set())
        for name in self.commands:
            self._start_one(name)

    def wait_for_port(self, port: int) -> None:
        """Return once the web server answers on the port."""
        deadline = monotonic() + START_PATIENCE_SECONDS
        while monotonic() < deadline and not self.stopping.is_set():
            if self.children["web"].poll() is not None:
                raise CannotStart("The web server ended at once; the lines above say why.")
            with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
                if probe.connect_ex((LOOPBACK, port)) == 0:
                    return
            sleep(0.05)
        if not self.stopping.is_set():
            raise CannotStart(f"The web server did not answer within {START_PATIENCE_SECONDS:.0f} seconds.")

    def keep_running(self) -> None:
        """Start again whatever dies, until told to stop."""
        while not self.stopping.wait(RESTART_PAUSE_SECONDS):
            for name, child in list(self.children.items()):
                if child.poll() is not None:
                    print(f"The {name} process ended ({child.returncode}); starting it again.", file=sys.stderr)
                    self._start_one(name)

    def stop(self) -> None:
        """Ask every process to end, and end those that do not listen."""
        for child in self.children.values():
            child.terminate()
        deadline = monotonic() + STOP_PATIENCE_SECONDS
        for child in self.children.values():
            try:
                child.wait(max(0.1, deadline - monotonic()))
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()
            if child.stdin:
                child.stdin.close()

    def _start_one(self, name: str) -> None:
        self.children[name] = subprocess.Popen(
            [sys.executable, str(MANAGE), *self.commands[name]],
            env=self.environment,
            stdin=subprocess.PIPE,
            start_new_session=True,
        )
