"""Real servers for tests: PostgreSQL, Redis, an S3 endpoint, a mail catcher, Chromium, and whole stacks of us.

Each starts on a free port of this machine and is stopped by its process id. Where a program is missing the
test is skipped with what to install; with CI=true it fails instead, so that nothing is skipped unseen.
"""

import logging
import os
import pwd
import re
import shutil
import socket
import socketserver
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path

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


@pytest.fixture(scope="session")
def migrated_postgres(postgres_server: str, s3_endpoint: str) -> str:
    """Return the server, on which `roughproof` holds our empty tables to copy."""
    run_sql(postgres_server, "CREATE DATABASE roughproof")
    environment = house_names(f"{postgres_server}/roughproof", Bucket(s3_endpoint, "none"), MailCatcher(port=25))
    Stack(environment, Path(os.devnull)).manage("migrate", "--verbosity", "0")
    return postgres_server


@pytest.fixture
def postgres_url(migrated_postgres: str) -> Iterator[str]:
    """Yield the address of a migrated, empty database of its own."""
    name = f"test_{os.getpid()}_{time.monotonic_ns()}"
    run_sql(migrated_postgres, f"CREATE DATABASE {name} TEMPLATE roughproof")
    yield f"{migrated_postgres}/{name}"
    run_sql(migrated_postgres, f"DROP DATABASE {name} WITH (FORCE)")


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


# --- Whole stacks of ours --------------------------------------------------------------------------------


@dataclass
class Stack:
    """Our own processes under one environment."""

    environment: Mapping[str, str]
    log: Path
    processes: dict[str, subprocess.Popen] = field(default_factory=dict)
    port: int = 0

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def manage(self, *arguments: str, check: bool = True, timeout: float = 120) -> subprocess.CompletedProcess:
        """Run one command to its end and return it with its output as text."""
        done = subprocess.run(
            [sys.executable, "manage.py", *arguments], cwd=ROOT, env=self.environment,
            capture_output=True, text=True, timeout=timeout, check=False,
        )  # fmt: skip
        assert done.returncode == 0 or not check, f"{arguments}: {done.stdout}{done.stderr}"
        return done

    def start(self, name: str, *command: str) -> subprocess.Popen:
        """Start a process in a session of its own, its output going to the log."""
        with self.log.open("a") as log:
            process = subprocess.Popen(
                command, cwd=ROOT, env=self.environment, stdin=subprocess.DEVNULL,
                stdout=log, stderr=log, start_new_session=True,
            )  # fmt: skip
        self.processes[name] = process
        return process

    def start_manage(self, name: str, *arguments: str) -> subprocess.Popen:
        return self.start(name, sys.executable, "manage.py", *arguments)

    def wait_for_web(self) -> None:
        wait_until(lambda: _answers(self.address), seconds=30, what=f"the web server; log:\n{self.log_text()}")

    def log_text(self) -> str:
        return self.log.read_text() if self.log.exists() else ""

    def stop(self) -> None:
        for process in reversed(self.processes.values()):
            stop(process)


def _answers(address: str) -> bool:
    try:
        urllib.request.urlopen(address, timeout=5).close()
    except urllib.error.HTTPError as answer:
        answer.close()
        return True
    except OSError:
        return False
    return True


def plain_environment(**extra: str) -> dict[str, str]:
    """Return this process's environment without what tests/environment.py set, and with `extra`."""
    kept = {
        name: value for name, value in os.environ.items()
        # The last is set for this process while a browser runs in it, and is nobody else's affair.
        if name not in {"SECRET_KEY", "ALLOWED_HOSTS", "DJANGO_ALLOW_ASYNC_UNSAFE"}
        and not name.startswith("ROUGHPROOF_")
    }  # fmt: skip
    return {**kept, "DJANGO_SETTINGS_MODULE": "portal.settings", **extra}


@pytest.fixture(scope="session")
def prepared_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a data folder as `serve --no-serve` leaves it, to be copied."""
    folder = tmp_path_factory.mktemp("prepared") / "data"
    stack = Stack(plain_environment(ROUGHPROOF_DATA=str(folder)), Path(os.devnull))
    stack.manage("serve", "--no-serve")
    return folder


@pytest.fixture
def embedded(tmp_path: Path, prepared_folder: Path) -> Iterator[Stack]:
    """Yield the embedded mode on a prepared folder of its own, nothing running yet."""
    shutil.copytree(prepared_folder, tmp_path / "data")
    stack = Stack(plain_environment(ROUGHPROOF_DATA=str(tmp_path / "data")), tmp_path / "log", port=free_port())
    yield stack
    stack.stop()


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the data folder of the whole demo, painted once per run and ready to be copied."""
    folder = tmp_path_factory.mktemp("demo") / "data"
    Stack(plain_environment(ROUGHPROOF_DATA=str(folder)), Path(os.devnull)).manage("demo", "--no-serve", timeout=900)
    return folder


@dataclass
class DemoStack(Stack):
    """The demo being served, with its one-click sign-in for each role."""

    links: dict[str, str] = field(default_factory=dict)


def copy_or_link(source: str, target: str) -> None:
    """Copy the database; share the pictures, which nobody ever writes again under the same name."""
    if "/pictures/" in source:
        os.link(source, target)
    else:
        shutil.copy2(source, target)


@pytest.fixture
def demo(tmp_path: Path, demo_folder: Path) -> Iterator[DemoStack]:
    """Yield the demo, served from a copy of its own: `demo.address`, `demo.links["illustrator"]`."""
    shutil.copytree(demo_folder, tmp_path / "data", copy_function=copy_or_link)
    environment = plain_environment(ROUGHPROOF_DATA=str(tmp_path / "data"))
    stack = DemoStack(environment, tmp_path / "log", port=free_port())
    stack.start_manage("demo", "demo", "--port", str(stack.port))
    try:
        wait_until(lambda: "guest of" in stack.log_text(), seconds=60, what="the demo's sign-ins")
        found = re.findall(r"^  (\S.*?)\s{2,}.*?(http://\S+)$", stack.log_text(), re.MULTILINE)
        stack.links = dict(found)
        yield stack
    finally:
        stack.stop()


def house_names(
    database_url: str, bucket: Bucket, mail: MailCatcher, redis_url: str = "redis://127.0.0.1:1/0", **more: str
) -> dict[str, str]:
    """Return an environment with all that house mode asks for, on this machine and without https."""
    return plain_environment(
        ROUGHPROOF_MODE="house", ROUGHPROOF_HTTPS="0", SECRET_KEY="only-for-tests-" + "9876543210" * 4,
        ALLOWED_HOSTS="127.0.0.1,localhost", PUBLIC_ADDRESS="http://127.0.0.1", DATABASE_URL=database_url,
        REDIS_URL=redis_url, MAIL_FROM="Roughproof <roughproof@house.example>",
        **bucket.environment, **mail.environment, **more,
    )  # fmt: skip


@pytest.fixture
def house(
    tmp_path: Path, postgres_url: str, redis_url: str, bucket: Bucket, mail_catcher: MailCatcher
) -> Iterator[Stack]:
    """Yield house mode with migrated tables, nothing running yet."""
    environment = house_names(
        postgres_url, bucket, mail_catcher, redis_url,
        STATIC_ROOT=str(tmp_path / "static"), ROUGHPROOF_DATA=str(tmp_path / "data"),
    )  # fmt: skip
    stack = Stack(environment, tmp_path / "log", port=free_port())
    yield stack
    stack.stop()


@pytest.fixture
def house_stack(house: Stack) -> Stack:
    """Return house mode with everything running: gunicorn, a Celery worker, the sweep."""
    house.environment = {**house.environment, "PUBLIC_ADDRESS": house.address}
    house.manage("collectstatic", "--noinput", "--verbosity", "0")
    house.start(
        "web", sys.executable, "-m", "gunicorn", "portal.wsgi", "--bind", f"127.0.0.1:{house.port}",
        "--worker-class", "gthread", "--workers", "1", "--threads", "4",
    )  # fmt: skip
    house.start("worker", sys.executable, "-m", "celery", "-A", "portal", "worker", "--loglevel", "WARNING")
    house.start_manage("sweep", "sweep", "--every", "1")
    house.wait_for_web()
    return house


# --- Chromium --------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def chromium() -> Iterator[object]:
    """Yield a running Chromium; open a context of your own for each person in a test."""
    from playwright.sync_api import sync_playwright

    binary = program("chromium", "chromium-browser", package="chromium")
    # Playwright keeps an event loop in this thread, which Django takes for asynchronous code.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=binary, args=CHROMIUM_FLAGS)
        yield browser
        browser.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]
