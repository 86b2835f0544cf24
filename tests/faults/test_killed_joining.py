"""A worker is killed again and again while it joins sheets: one joined picture comes of it, whole, with one entry."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable

import pytest

from tests.servers import ROOT, wait_until
from tests.stacks import Stack

N_KILLS = 3


def say(stack: Stack, word: str) -> str:
    answer = subprocess.run(
        [sys.executable, "-m", "tests.faults.joining", word],
        cwd=ROOT, env=stack.environment, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert answer.returncode == 0, answer.stderr
    return answer.stdout


def report(stack: Stack) -> dict:
    return json.loads(say(stack, "report"))


def job(stack: Stack) -> tuple[str, int]:
    """Return where the joining stands, and how often it was begun."""
    [found] = stack.rows("SELECT state, attempts FROM reviews_job WHERE kind = 'derive'")
    return found


def kill_at_joining(stack: Stack, start: Callable[[], subprocess.Popen]) -> None:
    """Kill the worker each time it has begun the joining; the last one is left to finish."""
    chance = random.Random(20262)
    for n in range(N_KILLS):
        worker = start()
        wait_until(lambda n=n: job(stack)[1] > n, seconds=120, what=f"work\n{stack.log_text()}")
        time.sleep(chance.uniform(0.0, 0.7))  # from the first sheet's decoding well into the joining
        os.killpg(worker.pid, signal.SIGKILL)
        worker.wait()
    assert job(stack)[0] in {"queued", "running"}, "no kill hit the job in hand, so this run proved nothing"
    start()
    wait_until(lambda: job(stack)[0] == "done", seconds=120, what=f"the joining\n{stack.log_text()}")


def assert_joined_once(stack: Stack) -> None:
    told = report(stack)
    assert told["state"] == "made"
    assert told["attempts"] > N_KILLS
    assert (len(told["made"]), told["entries"]) == (1, 1)


@pytest.mark.slow
def test_sheets_are_joined_once_however_often_the_worker_is_killed(embedded):
    embedded.environment = {**embedded.environment, "ROUGHPROOF_JOB_ATTEMPTS": "50"}
    say(embedded, "prepare")

    kill_at_joining(embedded, lambda: embedded.start_manage("worker", "work"))

    assert_joined_once(embedded)


@pytest.mark.slow
@pytest.mark.servers
def test_in_the_house_too_with_the_scans_in_the_store(house):
    house.environment = {
        **house.environment, "ROUGHPROOF_JOB_ATTEMPTS": "50", "ROUGHPROOF_JOB_LEASE": "3", "ROUGHPROOF_JOB_RESEND": "3",
    }  # fmt: skip
    say(house, "prepare")
    house.start_manage("sweep", "sweep", "--every", "0.5")

    kill_at_joining(
        house,
        lambda: house.start(
            "worker", sys.executable, "-m", "celery", "-A", "portal", "worker", "--loglevel", "WARNING"
        ),
    )

    assert_joined_once(house)
