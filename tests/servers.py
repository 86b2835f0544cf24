"""Real servers for tests: PostgreSQL, Redis, an S3 endpoint, a mail catcher and Chromium.

Each starts on a free port of this machine and is stopped by its process id. Where a program is missing the
test is skipped with what to install; with CI=true it fails instead, so that nothing is skipped unseen.
"""

import logging
import os
import pwd
import shutil
import socket
import socketserver
import subprocess
import tempfile
import threading
import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parent.parent
POSTGRES_FOLDERS = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
CHROMIUM_FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


def program(*names: str, package: str, also_in: Sequence[Path] = ()) -> str:
    """Return the path of the first of these programs that exists; else skip, or fail with CI=true."""
    path = os.pathsep.join([os.environ.get("PATH", ""), *map(str, also_in)])
    for name in names:
        if found := shutil.which(name, path=path):
            return found
    words = f"{names[0]} is not installed: apt-get install {package}"
    if os.environ.get("CI", "").lower() == "true":
        pytest.fail(words, pytrace=False)
    pytest.skip(words)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_until(true: Callable[[], object], *, seconds: float, what: str) -> object:
    """Return the first true answer; fail with `what` was waited for."""
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        if answer := true():
            return answer
        time.sleep(0.05)
    raise AssertionError(f"Not within {seconds:g} s: {what}")


def listens(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


def stop(process: subprocess.Popen, seconds: float = 15) -> None:
    """End a process we started, politely first."""
    if process.poll() is None:
        process.terminate()
        try:
            process.wait(seconds)
        except subprocess.TimeoutExpired:
            process.kill()
    process.wait()
    for pipe in (process.stdin, process.stdout, process.stderr):
        if pipe:
            pipe.close()


# --- PostgreSQL, Redis -----------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """Yield `postgres://user@host:port` of a fresh cluster without password, on this machine only."""
    initdb = program("initdb", package="postgresql", also_in=POSTGRES_FOLDERS)
    postgres = program("postgres", package="postgresql", also_in=POSTGRES_FOLDERS)
    folder = Path(tempfile.mkdtemp(prefix="roughproof-postgres-"))
    # PostgreSQL refuses to run as root; its Debian package brings a user of that name.
    user: dict[str, object] = {}
    if os.geteuid() == 0:
        user = {"user": "postgres", "group": pwd.getpwnam("postgres").pw_gid, "extra_groups": []}
        shutil.chown(folder, "postgres")
    quiet = {"stdout": subprocess.DEVNULL, "cwd": folder, **user}
    subprocess.run(
        [initdb, "-D", folder / "data", "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-sync"],
        check=True, stderr=subprocess.PIPE, **quiet,
    )  # fmt: skip
    port = free_port()
    server = subprocess.Popen(
        [postgres, "-D", folder / "data", "-p", str(port), "-k", folder, "-h", "127.0.0.1", "-F"],
        stderr=subprocess.DEVNULL, **quiet,
    )  # fmt: skip
    try:
        wait_until(lambda: listens(port), seconds=20, what="PostgreSQL to listen")
        yield f"postgres://postgres@127.0.0.1:{port}"
    finally:
        stop(server)
        shutil.rmtree(folder, ignore_errors=True)


def run_sql(server: str, statement: str) -> None:
    import psycopg

    # The first connection can find the server still starting up.
    def attempt() -> bool:
        try:
            with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
                connection.execute(statement)
        except psycopg.OperationalError:
            return False
        return True

    wait_until(attempt, seconds=20, what="PostgreSQL to answer")


class RedisServer:
    """A Redis that keeps nothing on disk: killed and started again, it has lost every message."""

    def __init__(self) -> None:
        self.binary = program("redis-server", package="redis-server")
        self.port = free_port()
        self.url = f"redis://127.0.0.1:{self.port}/0"

    def start(self) -> None:
        self.process = subprocess.Popen(
            [self.binary, "--port", str(self.port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no"],
            stdout=subprocess.DEVNULL,
        )
        wait_until(lambda: listens(self.port), seconds=10, what="Redis to listen")

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()


@pytest.fixture
def redis_server() -> Iterator[RedisServer]:
    """Yield an empty Redis of its own: it starts in 0.06 s, so each test may have one."""
    server = RedisServer()
    server.start()
    yield server
    stop(server.process)


@pytest.fixture
def redis_url(redis_server: RedisServer) -> str:
    return redis_server.url


# --- S3, mail --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Bucket:
    """An S3 bucket on this machine, and what the environment must say to reach it."""

    endpoint: str
    name: str
    access_key: str = "test-access"
    secret_key: str = "test-secret"

    @property
    def environment(self) -> dict[str, str]:
        return {
            "S3_BUCKET": self.name, "S3_ENDPOINT": self.endpoint,
            "S3_ACCESS_KEY": self.access_key, "S3_SECRET_KEY": self.secret_key,
        }  # fmt: skip

    def client(self):
        import boto3

        return boto3.client(
            "s3", endpoint_url=self.endpoint, region_name="us-east-1",
            aws_access_key_id=self.access_key, aws_secret_access_key=self.secret_key,
        )  # fmt: skip


@pytest.fixture(scope="session")
def s3_endpoint() -> Iterator[str]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from moto.server import ThreadedMotoServer

        logging.getLogger("werkzeug").setLevel(logging.ERROR)
        server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
        server.start()
    host, port = server.get_host_and_port()
    yield f"http://{host}:{port}"
    server.stop()


@pytest.fixture
def bucket(s3_endpoint: str) -> Bucket:
    """Return an empty bucket of its own."""
    bucket = Bucket(s3_endpoint, f"pictures-{os.getpid()}-{time.monotonic_ns()}")
    bucket.client().create_bucket(Bucket=bucket.name)
    return bucket


class _MailHandler(socketserver.StreamRequestHandler):
    """Enough of SMTP (RFC 5321) to take a message from a client that behaves."""

    def handle(self) -> None:
        self.say("220 ready")
        while line := self.rfile.readline():
            verb = line[:4].upper()
            if verb == b"DATA":
                self.say("354 go on")
                self.server.catcher.take(self.message())
                self.say("250 kept")
            elif verb == b"QUIT":
                self.say("221 bye")
                return
            else:
                self.say("250 ok")

    def message(self) -> bytes:
        lines = []
        while (line := self.rfile.readline()) not in (b".\r\n", b""):
            lines.append(line.removeprefix(b".") if line.startswith(b"..") else line)
        return b"".join(lines)

    def say(self, words: str) -> None:
        self.wfile.write(words.encode() + b"\r\n")


@dataclass
class MailCatcher:
    """Takes mail by SMTP and keeps it."""

    port: int = 0
    mails: list[EmailMessage] = field(default_factory=list)

    def take(self, raw: bytes) -> None:
        self.mails.append(message_from_bytes(raw, policy=policy.default))

    @property
    def environment(self) -> dict[str, str]:
        return {"SMTP_HOST": "127.0.0.1", "SMTP_PORT": str(self.port), "SMTP_SECURITY": "none"}


@pytest.fixture
def mail_catcher() -> Iterator[MailCatcher]:
    catcher = MailCatcher()
    with socketserver.ThreadingTCPServer(("127.0.0.1", 0), _MailHandler) as server:
        server.daemon_threads = True
        server.catcher = catcher
        catcher.port = server.server_address[1]
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield catcher
        server.shutdown()
        thread.join()


# --- Chromium --------------------------------------------------------------------------------------------


def launched(playwright: Any) -> Any:
    """Start Chromium: its engine without the windows' machinery, which takes half the processor's time of it all."""
    binary = program("chromium-headless-shell", "chromium", "chromium-browser", package="chromium")
    return playwright.chromium.launch(executable_path=binary, args=CHROMIUM_FLAGS)


@pytest.fixture(scope="session")
def chromium() -> Iterator[object]:
    """Yield a running Chromium; open a context of your own for each person in a test."""
    from playwright.sync_api import sync_playwright

    # Playwright keeps an event loop in this thread, which Django takes for asynchronous code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        browser = launched(playwright)
        yield browser
        browser.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]
