"""Random faults while a user works: nothing lost, nothing twice, nothing stuck, never a trace.

The suite runs a tiny sample; `python -m tests.bench.soak --runs N` runs as many as one likes and prints the table.
"""

import json
import os
import random
import signal
import socket
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.faults.faulty_server import FaultyServer
from tests.faults.soak_kinds import KINDS
from tests.faults.soak_rig import Rig, User, judged, without_end
from tests.stacks import Stack

SAMPLE = "embedded: kill -9 everything, start again|1\nembedded: six answers lost on their way|2"
RUNS = [tuple(run.rsplit("|", 1)) for run in os.environ.get("SOAK_RUNS", SAMPLE).split("\n")]
OUT = os.environ.get("SOAK_OUT")
# What plays may ask for two minutes' patience at several steps, and two more to settle; then the run is ended.
LIMIT_SECONDS = int(os.environ.get("SOAK_LIMIT", "600"))


class NoEnd(Exception):
    """A run went on past its limit."""


@contextmanager
def within(seconds: int) -> Iterator[None]:
    """Raise NoEnd inside after so many seconds; in the main thread only, where signals arrive."""

    def over(*_) -> None:
        raise NoEnd

    before = signal.signal(signal.SIGALRM, over)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def one_run(rig: Rig, fault, kind: str) -> dict:
    try:
        with within(LIMIT_SECONDS):
            return judged(rig, fault, kind)
    except NoEnd:
        return without_end(rig, kind, LIMIT_SECONDS)


@pytest.fixture
def rig_of(request) -> Iterator:
    begun = []

    def make(mode: str) -> Rig:
        rig = embedded_rig(request) if mode == "embedded" else house_rig(request, begun)
        begun.append(rig.stack)
        return rig

    yield make
    for one in reversed(begun):
        one.stop() if isinstance(one, Stack) else one.close()


def embedded_rig(request) -> Rig:
    stack = request.getfixturevalue("embedded")
    rig = Rig(stack, User(stack.address, {}), lambda name: stack.start_manage(name, name, "--port", str(stack.port)))
    rig.user.told = rig.deeds("begin")
    rig.start("serve")
    stack.wait_for_web()
    return rig


def house_rig(request, begun: list) -> Rig:
    stack = request.getfixturevalue("house")
    here = urlsplit(stack.environment["S3_ENDPOINT"])
    store = FaultyServer((here.hostname, here.port))
    mail_server = FaultyServer(("127.0.0.1", int(stack.environment["SMTP_PORT"])))
    begun += [store, mail_server]
    stack.environment = {
        **stack.environment, "S3_ENDPOINT": f"http://127.0.0.1:{store.port}", "SMTP_PORT": str(mail_server.port),
        "PUBLIC_ADDRESS": stack.address, "ROUGHPROOF_JOB_LEASE": "6", "ROUGHPROOF_JOB_RESEND": "3",
    }  # fmt: skip
    static = request.getfixturevalue("tmp_path_factory").getbasetemp() / "soak-static"
    stack.environment["STATIC_ROOT"] = str(static)
    if not static.exists():  # gathered once: no fault reaches it
        stack.manage("collectstatic", "--noinput", "--verbosity", "0")
    celery = (sys.executable, "-m", "celery", "-A", "portal", "worker", "--loglevel", "WARNING")
    sweep = (sys.executable, "manage.py", "sweep", "--every", "1")
    commands = {
        "web": (sys.executable, "-m", "gunicorn", "portal.wsgi", "--bind", f"127.0.0.1:{stack.port}",
                "--worker-class", "gthread", "--workers", "2", "--threads", "8"),
        "worker": celery, "worker-2": (*celery, "--hostname", "second@%h"),
        "sweep": sweep, "sweep-2": sweep, "sweep-3": sweep,
    }  # fmt: skip
    rig = Rig(
        stack, User(stack.address, {}), lambda name: stack.start(name, *commands[name]),
        redis=request.getfixturevalue("redis_server"), postgres_url=stack.environment["DATABASE_URL"],
        store=store, mail_server=mail_server,
    )  # fmt: skip
    rig.user.told = rig.deeds("begin")
    for name in ("web", "worker", "sweep"):
        rig.start(name)
    stack.wait_for_web()
    return rig


@pytest.mark.slow
@pytest.mark.servers
@pytest.mark.parametrize(("kind", "seed"), RUNS)
def test_nothing_is_lost_double_or_stuck_whatever_fails(rig_of, kind, seed):
    mode, fault = KINDS[kind]
    rig = rig_of(mode)
    chance = random.Random(int(seed))
    told = one_run(rig, lambda: fault(rig, chance), kind) | {"seed": seed}
    if OUT:
        with Path(OUT).open("a") as out:
            out.write(json.dumps(told) + "\n")
    print(json.dumps(told))
    wrong = {name: told[name] for name in ("lost", "double", "stuck", "ledger") if told[name]}
    assert not wrong, f"{told}\n{rig.stack.log_text()[-4000:]}"
    assert not any("trace" in words for words in told["saw"])


def test_a_run_past_its_limit_is_told_as_stuck(embedded):
    rig = Rig(embedded, User("http://127.0.0.1:9", {}), lambda name: None)
    with pytest.raises(NoEnd), within(1):
        time.sleep(30)
    told = without_end(rig, "embedded: none", 1)
    assert (told["stuck"], told["where"]) == (1, "came to no end within 1 s")


def test_an_answer_that_breaks_off_is_asked_for_again():
    head = b"HTTP/1.1 200 OK\r\nContent-Length: 5\r\nConnection: close\r\n\r\n"
    with socket.create_server(("127.0.0.1", 0)) as door:

        def answer() -> None:
            for body in (b"", b"whole"):
                with door.accept()[0] as line:
                    line.recv(65536)
                    line.sendall(head + body)

        answering = threading.Thread(target=answer, daemon=True)
        answering.start()
        user = User(f"http://127.0.0.1:{door.getsockname()[1]}", {"reader": ""})
        assert user.until_answered("reader", "/") == b"whole"
        answering.join()
    assert user.saw == {"no connection": 1}


def test_there_are_thirty_kinds_of_both_modes():
    assert len(KINDS) >= 30
    assert {mode for mode, _ in KINDS.values()} == {"embedded", "house"}
