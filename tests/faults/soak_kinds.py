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
from tests.servers import stop

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
        ["ps", "-o", "pid=,args=", "--ppid", str(pid)], capture_output=True, text=True, check=False
    ).stdout
    return {int(line.split()[0]): line.split(maxsplit=1)[1] for line in listing.splitlines() if len(line.split()) > 1}


def end(pid: int, how: int = signal.SIGKILL) -> None:
    with contextlib.suppress(ProcessLookupError):
        os.kill(pid, how)


def of_supervisor(rig: Rig, word: str) -> int | None:
    found = children(rig.stack.processes["serve"].pid)
    return next((pid for pid, words in found.items() if f" {word}" in words), None)


def a_while(chance: random.Random, low: float = 0.2, high: float = 1.5) -> None:
    time.sleep(chance.uniform(low, high))


def again_and_again(rig: Rig, chance: random.Random, word: str, times: int = 3) -> None:
    for _ in range(times):
        a_while(chance)
        if pid := of_supervisor(rig, word):
            end(pid)


@kind("kill -9 worker ×3", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    again_and_again(rig, chance, "work")


@kind("kill -9 worker and its decoders ×2", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(2):
        a_while(chance)
        if pid := of_supervisor(rig, "work"):
            for one in (*children(pid), pid):
                end(one)


@kind("kill -9 decoders ×4", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(4):
        a_while(chance, 0.1, 0.8)
        for one in children(of_supervisor(rig, "work") or 0):
            end(one)


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
    end(rig.stack.processes["serve"].pid)
    serve_again(rig)


@kind("kill -9 everything, start again", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    supervisor = rig.stack.processes["serve"].pid
    for one in (*children(supervisor), supervisor):
        end(one)
    serve_again(rig)


@kind("SIGTERM, start again", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    stop(rig.stack.processes["serve"], 40)
    rig.start("serve")


def lock(rig: Rig, seconds: float) -> None:
    path = Path(rig.stack.environment["ROUGHPROOF_DATA"]) / "roughproof.sqlite3"
    database = sqlite3.connect(path, isolation_level=None, timeout=30)
    database.execute("BEGIN IMMEDIATE")
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


def hold(pid: int, seconds: float) -> None:
    end(pid, signal.SIGSTOP)
    time.sleep(seconds)
    end(pid, signal.SIGCONT)


@kind("worker stopped 6 s", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    hold(of_supervisor(rig, "work") or 0, 6)


@kind("web stopped 6 s", "embedded")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    hold(of_supervisor(rig, "web") or 0, 6)


def folder_away(rig: Rig, name: str, seconds: float) -> None:
    folder = Path(rig.stack.environment["ROUGHPROOF_DATA"]) / name
    aside = folder.with_name(f"{name}-aside")
    folder.rename(aside)
    folder.write_text("a file stands in the way")
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
    rig.user.loses = 6


@kind("kill -9 Celery and children ×2", "house")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(2):
        a_while(chance)
        os.killpg(rig.stack.processes["worker"].pid, signal.SIGKILL)
        rig.stack.processes["worker"].wait()
        rig.start("worker")


@kind("kill -9 one Celery child ×3", "house")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(3):
        a_while(chance, 0.5, 2)
        for one in list(children(rig.stack.processes["worker"].pid))[:1]:
            end(one)


@kind("kill -9 gunicorn", "house")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    os.killpg(rig.stack.processes["web"].pid, signal.SIGKILL)
    rig.stack.processes["web"].wait()
    rig.start("web")


@kind("kill -9 gunicorn worker ×3", "house")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(3):
        a_while(chance, 0.5, 2)
        for one in children(rig.stack.processes["web"].pid):
            end(one)


@kind("kill -9 sweep, 2 s away", "house")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    end(rig.stack.processes["sweep"].pid)
    rig.stack.processes["sweep"].wait()
    time.sleep(2)
    rig.start("sweep")


def as_owner(rig: Rig, *statements: str) -> None:
    server, _, name = rig.postgres_url.rpartition("/")
    with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
        for statement in statements:
            connection.execute(statement.format(name=name).encode())


KILL_BACKENDS = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'"


@kind("kill PostgreSQL backends ×3", "house")
def _(rig: Rig, chance: random.Random) -> None:
    for _ in range(3):
        a_while(chance)
        as_owner(rig, KILL_BACKENDS)


@kind("PostgreSQL away 5–9 s", "house")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    as_owner(rig, "ALTER DATABASE {name} ALLOW_CONNECTIONS false", KILL_BACKENDS)
    time.sleep(chance.uniform(5, 9))
    as_owner(rig, "ALTER DATABASE {name} ALLOW_CONNECTIONS true")


@kind("redis FLUSHALL ×4", "house")
def _(rig: Rig, chance: random.Random) -> None:
    import redis

    for _ in range(4):
        a_while(chance)
        redis.Redis.from_url(rig.redis.url).flushall()


@kind("redis killed, empty, back after 3–8 s", "house")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    rig.redis.kill()
    time.sleep(chance.uniform(3, 8))
    rig.redis.start()


@kind("redis silent 8 s", "house")
def _(rig: Rig, chance: random.Random) -> None:
    a_while(chance)
    hold(rig.redis.process.pid, 8)


def neighbour(name: str, which: str, mode: str | bytes, low: float, high: float) -> None:
    @kind(name, "house")
    def _(rig: Rig, chance: random.Random) -> None:
        a_while(chance, 0, 1)
        with getattr(rig, which).failing(mode):
            time.sleep(chance.uniform(low, high))


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


@kind("each message delivered many times", "house")
def _(rig: Rig, chance: random.Random) -> None:
    words = (
        "from reviews.jobs import send\nfrom reviews.models import Job\nimport time\n"
        "for _ in range(20):\n    [send(j.pk, j.kind) for j in Job.objects.all()]\n    time.sleep(0.3)\n"
    )
    rig.stack.manage("shell", "-c", words)


@kind("two workers, one killed", "house")
def _(rig: Rig, chance: random.Random) -> None:
    rig.start("worker-2")
    a_while(chance, 1, 4)
    os.killpg(rig.stack.processes["worker-2"].pid, signal.SIGKILL)


@kind("worker stopped past its lease, wakes up", "house")
def _(rig: Rig, chance: random.Random) -> None:
    rig.start("worker-2")
    a_while(chance, 1, 3)
    group = rig.stack.processes["worker"].pid
    os.killpg(group, signal.SIGSTOP)
    time.sleep(9)
    os.killpg(group, signal.SIGCONT)
