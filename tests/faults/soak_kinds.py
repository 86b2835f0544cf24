"""The kinds of faults a soak run draws from: each a name, a mode, and what is done to a rig while a user works."""

import contextlib
import os
import random
import signal
import sqlite3
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import psycopg

from tests.faults.faulty_server import HTTP_500, SMTP_450
from tests.faults.soak_rig import Rig
from tests.servers import stop, wait_until

Fault = Callable[[Rig, random.Random], None]
KINDS: dict[str, tuple[str, Fault]] = {}


def kind(name: str, *modes: str) -> Callable[[Fault], Fault]:
    def keep(fault: Fault) -> Fault:
        for mode in modes:
            KINDS[f"{mode}: {name}"] = (mode, fault)
        return fault

    return keep


def children(pid: int) -> dict[int, str]:
    listing = subprocess.run(
        ["ps", "-ww", "-o", "pid=,args=", "--ppid", str(pid)], capture_output=True, text=True, check=False
    ).stdout
    return {int(line.split()[0]): line.split(maxsplit=1)[1] for line in listing.splitlines() if len(line.split()) > 1}


def end(rig: Rig, pid: int, how: int = signal.SIGKILL) -> None:
    """Signal one process, and count the fault as felt where it was there to be met."""
    with contextlib.suppress(ProcessLookupError):
        os.kill(pid, how)
        rig.felt += 1


def end_group(rig: Rig, name: str, how: int = signal.SIGKILL) -> None:
    os.killpg(rig.stack.processes[name].pid, how)
    rig.felt += 1


def of_supervisor(rig: Rig, word: str) -> int:
    """Wait for the supervisor's child of this name: it is begun a moment after the supervisor, or begun again."""

    def found() -> int | None:
        all_its = children(rig.stack.processes["serve"].pid)
        return next((pid for pid, words in all_its.items() if words.endswith(f" {word}") or f" {word} " in words), None)

    return int(str(wait_until(found, seconds=60, what=f"a process “{word}”: {rig.stack.log_text()[-2000:]}")))


def some_children(rig: Rig, pid: int) -> dict[int, str]:
    """Wait a little for a process to have children; it may have none."""
    with contextlib.suppress(AssertionError):
        wait_until(lambda: children(pid), seconds=3, what="children")
    return children(pid)


def a_while(chance: random.Random, low: float = 0.2, high: float = 1.5) -> None:
    time.sleep(chance.uniform(low, high))


def again_and_again(rig: Rig, chance: random.Random, word: str, times: int = 3) -> None:
    for _ in range(times):
        a_while(chance)
        end(rig, of_supervisor(rig, word))


@kind("kill -9 worker ×3", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    again_and_again(rig, chance, "work")


@kind("kill -9 worker and its decoders ×2", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(2):
        a_while(chance)
        pid = of_supervisor(rig, "work")
        for one in (*some_children(rig, pid), pid):
            end(rig, one)


@kind("kill -9 decoders ×4", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(4):
        a_while(chance, 0.1, 0.8)
        for one in some_children(rig, of_supervisor(rig, "work")):
            end(rig, one)


@kind("kill -9 web ×3", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    again_and_again(rig, chance, "web")


def serve_again(rig: Rig) -> None:
    rig.stack.processes["serve"].wait(30)
    time.sleep(1.5)  # what it supervised ends by itself
    rig.start("serve")


@kind("kill -9 supervisor, start again", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    end(rig, rig.stack.processes["serve"].pid)
    serve_again(rig)


@kind("kill -9 everything, start again", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    supervisor = rig.stack.processes["serve"].pid
    for one in (*children(supervisor), supervisor):
        end(rig, one)
    serve_again(rig)


@kind("SIGTERM, start again", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    stop(rig.stack.processes["serve"], 40)
    rig.felt += 1
    rig.start("serve")


def lock(rig: Rig, seconds: float) -> None:
    path = Path(rig.stack.environment["ROUGHPROOF_DATA"]) / "roughproof.sqlite3"
    database = sqlite3.connect(path, isolation_level=None, timeout=30)
    database.execute("BEGIN IMMEDIATE")
    rig.felt += 1
    time.sleep(seconds)
    database.execute("ROLLBACK")
    database.close()


@kind("SQLite locked 8 s", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    lock(rig, 8)


@kind("SQLite locked 26 s", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    lock(rig, 26)


def hold(rig: Rig, pid: int, seconds: float) -> None:
    end(rig, pid, signal.SIGSTOP)
    time.sleep(seconds)
    os.kill(pid, signal.SIGCONT)


@kind("worker stopped 6 s", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    hold(rig, of_supervisor(rig, "work"), 6)


@kind("web stopped 6 s", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    hold(rig, of_supervisor(rig, "web"), 6)


def folder_away(rig: Rig, name: str, seconds: float) -> None:
    folder = Path(rig.stack.environment["ROUGHPROOF_DATA"]) / name
    aside = folder.with_name(f"{name}-aside")
    folder.rename(aside)
    folder.write_text("a file stands in the way")
    rig.felt += 1
    time.sleep(seconds)
    folder.unlink()
    aside.rename(folder)


@kind("folder of the pictures away 5 s", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    folder_away(rig, "pictures", 5)


@kind("folder of the mails away 5 s", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    folder_away(rig, "mail", 5)


@kind("six answers lost on their way", "embedded", "house")
def _(rig: Rig, chance: random.Random) -> None:
    rig.user.loses = rig.felt = 6


@kind("kill -9 Celery and children ×2", "house")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(2):
        a_while(chance)
        end_group(rig, "worker")
        rig.stack.processes["worker"].wait()
        rig.start("worker")


@kind("kill -9 one Celery child ×3", "house")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(3):
        a_while(chance, 0.5, 2)
        for one in list(some_children(rig, rig.stack.processes["worker"].pid))[:1]:
            end(rig, one)
        supervise(rig, "worker", "a Celery worker that loses a child while it starts ends itself")


def supervise(rig: Rig, name: str, why: str) -> None:
    """Start again what ended of itself, as the supervisor does that the README asks for; say that it had to."""
    process = rig.stack.processes[name]
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(5)
        rig.user.saw[f"started again: {why}"] += 1
        rig.start(name)


@kind("kill -9 gunicorn", "house")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    end_group(rig, "web")
    rig.stack.processes["web"].wait()
    rig.start("web")


@kind("kill -9 gunicorn worker ×3", "house")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(3):
        a_while(chance, 0.5, 2)
        for one in some_children(rig, rig.stack.processes["web"].pid):
            end(rig, one)


@kind("kill -9 sweep, 2 s away", "house")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    end(rig, rig.stack.processes["sweep"].pid)
    rig.stack.processes["sweep"].wait()
    time.sleep(2)
    rig.start("sweep")


def as_owner(rig: Rig, *statements: str) -> int:
    """Run statements as the server's owner, and say how many rows the last one gave."""
    server, _, name = rig.postgres_url.rpartition("/")
    with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
        n_rows = [connection.execute(statement.format(name=name).encode()).rowcount for statement in statements]
    return max(0, n_rows[-1])


KILL_BACKENDS = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'"


@kind("kill PostgreSQL backends ×3", "house")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(3):
        a_while(chance)
        rig.felt += as_owner(rig, KILL_BACKENDS)


@kind("PostgreSQL away 5–9 s", "house")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    as_owner(rig, "ALTER DATABASE {name} ALLOW_CONNECTIONS false", KILL_BACKENDS)
    rig.felt += 1
    time.sleep(chance.uniform(5, 9))
    as_owner(rig, "ALTER DATABASE {name} ALLOW_CONNECTIONS true")


@kind("redis FLUSHALL ×4", "house")
def _(rig: Rig, chance: random.Random) -> None:
    import redis

    for _ in range(4):
        a_while(chance)
        redis.Redis.from_url(rig.redis.url).flushall()
        rig.felt += 1


@kind("redis killed, empty, back after 3–8 s", "house")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    rig.redis.kill()
    rig.felt += 1
    time.sleep(chance.uniform(3, 8))
    rig.redis.start()


@kind("redis silent 8 s", "house")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    hold(rig, rig.redis.process.pid, 8)


def neighbour(name: str, which: str, mode: str | bytes, low: float, high: float) -> None:
    @kind(name, "house")
    def _(rig: Rig, chance: random.Random) -> None:
        a_while(chance, 0, 1)
        server = getattr(rig, which)
        with server.failing(mode):
            time.sleep(chance.uniform(low, high))
        rig.felt += server.n_failed


neighbour("S3 refuses 3–9 s", "store", "refuse", 3, 9)
neighbour("S3 2 s late for 8 s", "store", "slow", 8, 8)
neighbour("S3 answers 500 for 3–9 s", "store", HTTP_500, 3, 9)
neighbour("S3 silent 6–12 s", "store", "silent", 6, 12)
neighbour("SMTP closes 5–12 s", "mail_server", "refuse", 5, 12)
neighbour("SMTP 2 s late for 8 s", "mail_server", "slow", 8, 8)
neighbour("SMTP says 450 for 5–12 s", "mail_server", SMTP_450, 5, 12)
neighbour("SMTP silent 6–12 s", "mail_server", "silent", 6, 12)


@kind("three sweeps at once", "house")
def _(rig: Rig, chance: random.Random) -> None:
    for name in ("sweep-2", "sweep-3"):
        rig.start(name)
        rig.felt += 1


@kind("each message delivered many times", "house")
def _(rig: Rig, chance: random.Random) -> None:
    words = (
        "from reviews.jobs import send\nfrom reviews.models import Job\nimport time\n"
        "for _ in range(20):\n    [send(j.pk, j.kind) for j in Job.objects.all()]\n    time.sleep(0.3)\n"
    )
    rig.stack.manage("shell", "-c", words)
    rig.felt += 1


@kind("two workers, one killed", "house")
def _(rig: Rig, chance: random.Random) -> None:
    rig.start("worker-2")
    a_while(chance, 1, 4)
    end_group(rig, "worker-2")


@kind("worker stopped past its lease, wakes up", "house")
def _(rig: Rig, chance: random.Random) -> None:
    rig.start("worker-2")
    a_while(chance, 1, 3)
    end_group(rig, "worker", signal.SIGSTOP)
    time.sleep(9)
    os.killpg(rig.stack.processes["worker"].pid, signal.SIGCONT)
