"""Whole stacks of our own processes for tests: embedded, the demo, the house.

They stand on the servers of tests/servers.py, each on a free port, and are stopped by process id.
"""

import fcntl
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.servers import ROOT, Bucket, MailCatcher, free_port, run_sql, stop, wait_until


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

    def rows(self, statement: str) -> list[tuple]:
        """Look into the stack's database from outside, without starting a process of ours for each look."""
        if url := self.environment.get("DATABASE_URL"):
            import psycopg

            with psycopg.connect(url, autocommit=True) as connection:
                return connection.execute(statement).fetchall()
        path = f"file:{self.environment['ROUGHPROOF_DATA']}/roughproof.sqlite3?mode=ro"
        with closing(sqlite3.connect(path, uri=True, timeout=30)) as connection:
            return connection.execute(statement).fetchall()

    def wait_for_web(self) -> None:
        wait_until(lambda: _answers(self.address), seconds=120, what=f"the web server; log:\n{self.log_text()}")

    def log_text(self) -> str:
        return self.log.read_text() if self.log.exists() else ""

    def stop(self) -> None:
        """Ask all to end, then wait for each: they need not take their leave one after the other."""
        for process in self.processes.values():
            if process.poll() is None:
                process.terminate()
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


def made_once(tmp_path_factory: pytest.TempPathFactory, name: str, command: str) -> Path:
    """Return the data folder that `command --no-serve` makes: by whichever process of the run asks first."""
    here = tmp_path_factory.getbasetemp()
    # Processes of one run have folders of their own in one that is theirs together.
    place = here.parent if "PYTEST_XDIST_WORKER" in os.environ else here
    folder, whole = place / f"{name}-data", place / f"{name}-is-whole"
    with (place / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not whole.exists():
            shutil.rmtree(folder, ignore_errors=True)
            stack = Stack(plain_environment(ROUGHPROOF_DATA=str(folder)), Path(os.devnull))
            stack.manage(command, "--no-serve", timeout=900)
            whole.touch()
    return folder


@pytest.fixture(scope="session")
def prepared_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a data folder as `serve --no-serve` leaves it, to be copied; one for all processes of a run."""
    return made_once(tmp_path_factory, "prepared", "serve")


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
    return made_once(tmp_path_factory, "demo", "demo")


@dataclass
class DemoStack(Stack):
    """The demo being served, with its one-click sign-in for each role."""

    links: dict[str, str] = field(default_factory=dict)


def sign_ins_of(stack: Stack, *, seconds: float = 60) -> dict[str, str]:
    """Wait for the demo's one-click sign-ins, and read them by role."""
    wait_until(lambda: "runs this Roughproof" in stack.log_text(), seconds=seconds, what="the demo's sign-ins")
    return dict(re.findall(r"^  (\S.*?)\s{2,}.*?(http://\S+)$", stack.log_text(), re.MULTILINE))


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
        stack.links = sign_ins_of(stack)
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
        ROUGHPROOF_SCRATCH=str(tmp_path / "scratch"),
    )  # fmt: skip
    stack = Stack(environment, tmp_path / "log", port=free_port())
    yield stack
    stack.stop()


def start_house_web(house: Stack) -> None:
    """Gather the static files and start gunicorn."""
    house.environment = {**house.environment, "PUBLIC_ADDRESS": house.address}
    house.manage("collectstatic", "--noinput", "--verbosity", "0")
    house.start(
        "web", sys.executable, "-m", "gunicorn", "portal.wsgi", "--bind", f"127.0.0.1:{house.port}",
        "--worker-class", "gthread", "--workers", "1", "--threads", "4",
    )  # fmt: skip


@pytest.fixture
def house_stack(house: Stack) -> Stack:
    """Return house mode with everything running: gunicorn, a Celery worker, the sweep."""
    start_house_web(house)
    house.start("worker", sys.executable, "-m", "celery", "-A", "portal", "worker", "--loglevel", "WARNING")
    house.start_manage("sweep", "sweep", "--every", "1")
    house.wait_for_web()
    return house


@pytest.fixture(scope="session")
def migrated_postgres(postgres_server: str, s3_endpoint: str) -> str:
    """Return the server, on which `roughproof` holds our empty tables to copy."""
    run_sql(postgres_server, "CREATE DATABASE roughproof")
    environment = house_names(f"{postgres_server}/roughproof", Bucket(s3_endpoint, "none"), MailCatcher(port=25))
    Stack(environment, Path(os.devnull)).manage("migrate", "--verbosity", "0")
    return postgres_server


@contextmanager
def own_database(server: str) -> Iterator[str]:
    """Yield the address of a copy of our empty tables, and drop it afterwards."""
    name = f"test_{os.getpid()}_{time.monotonic_ns()}"
    run_sql(server, f"CREATE DATABASE {name} TEMPLATE roughproof")
    yield f"{server}/{name}"
    run_sql(server, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def postgres_url(migrated_postgres: str) -> Iterator[str]:
    """Yield the address of a migrated, empty database of its own."""
    with own_database(migrated_postgres) as url:
        yield url
