"""Workers are really killed (SIGKILL) in the middle of their work: nothing is lost, nothing is done twice."""

import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

from tests.servers import ROOT, stop, wait_until
from tests.stacks import Stack

N_JOBS = 20
N_KILLS = 6
SUBJECTS = list(range(1, N_JOBS + 1))


def deed(stack: Stack, *arguments: str) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "-m", "tests.faults.counting_deed", *arguments],
        cwd=ROOT, env=stack.environment, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip


def report(stack: Stack) -> dict:
    """Count the jobs by state, and list what was done, sorted."""
    return {
        "states": dict(stack.rows("SELECT state, count(*) FROM reviews_job WHERE kind = 'compare' GROUP BY state")),
        "effects": [subject for (subject,) in stack.rows("SELECT subject_id FROM counted_effects ORDER BY subject_id")],
    }


def kill(process: subprocess.Popen) -> None:
    """Kill a process and all it started, as a power cut would."""
    os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def begun(stack: Stack) -> Counter[int]:
    path = Path(stack.environment["COUNTING_BEGUN"])
    return Counter(map(int, path.read_text().split())) if path.exists() else Counter()


def counting_stack(stack: Stack, tmp_path, **extra: str) -> Stack:
    stack.environment = {
        **stack.environment, "COUNTING_BEGUN": str(tmp_path / "begun"), "ROUGHPROOF_JOB_ATTEMPTS": "50", **extra
    }  # fmt: skip
    assert deed(stack, "prepare").returncode == 0
    return stack


def kill_again_and_again(stack: Stack, start) -> None:
    """Start a worker, kill it once it is at work, and so on; the last one is left to finish."""
    chance = random.Random(20261)
    for _ in range(N_KILLS):
        before = begun(stack).total()
        worker = start()
        wait_until(lambda n=before: begun(stack).total() > n, seconds=60, what=f"work\n{stack.log_text()}")
        time.sleep(chance.uniform(0.0, 0.4))
        kill(worker)
    start()


def assert_all_done_once(stack: Stack, seconds: float) -> None:
    def all_done() -> bool:
        return report(stack)["states"] == {"done": N_JOBS}

    try:
        wait_until(all_done, seconds=seconds, what="all jobs done")
    finally:
        print(report(stack), stack.log_text()[-3000:])
    assert report(stack)["effects"] == SUBJECTS
    assert max(begun(stack).values()) > 1, "no kill hit a job in hand, so this run proved nothing"


@pytest.mark.slow
def test_embedded_worker_killed_again_and_again(embedded, tmp_path):
    stack = counting_stack(embedded, tmp_path)
    assert deed(stack, "ask", str(N_JOBS), "1").returncode == 0

    kill_again_and_again(stack, lambda: stack.start("worker", sys.executable, "-m", "tests.faults.counting_worker"))

    assert_all_done_once(stack, seconds=30)


@pytest.mark.slow
@pytest.mark.servers
def test_celery_worker_killed_again_and_again_and_the_broker_too(house, tmp_path, redis_server):
    stack = counting_stack(house, tmp_path, ROUGHPROOF_JOB_LEASE="3", ROUGHPROOF_JOB_RESEND="3")
    assert deed(stack, "ask", str(N_JOBS), "1").returncode == 0
    stack.start_manage("sweep", "sweep", "--every", "0.5")

    kill_again_and_again(
        stack,
        lambda: stack.start(
            "worker", sys.executable, "-m", "celery", "-A", "tests.faults.counting_celery", "worker",
            "--loglevel", "WARNING",
        ),
    )  # fmt: skip
    # The messages that sat in Redis are gone with it; only the rows know what is still to be done.
    redis_server.kill()
    time.sleep(1)
    redis_server.start()

    assert_all_done_once(stack, seconds=60)


@pytest.mark.slow
@pytest.mark.parametrize("moment", ["die-before-commit", "die-after-commit"])
def test_deed_killed_around_its_commit_takes_its_jobs_with_it_or_leaves_them(embedded, tmp_path, moment):
    stack = counting_stack(embedded, tmp_path)

    assert deed(stack, "ask", "3", "1", moment).returncode == -signal.SIGKILL

    expected = {} if moment == "die-before-commit" else {"queued": 3}
    assert report(stack)["states"] == expected


@pytest.mark.slow
@pytest.mark.servers
def test_job_whose_message_was_never_sent_is_found_by_the_sweep(house, tmp_path):
    stack = counting_stack(house, tmp_path, ROUGHPROOF_JOB_RESEND="1")
    assert deed(stack, "ask", "3", "1", "die-after-commit").returncode == -signal.SIGKILL
    stack.start(
        "worker", sys.executable, "-m", "celery", "-A", "tests.faults.counting_celery", "worker",
        "--loglevel", "WARNING",
    )  # fmt: skip
    stack.start_manage("sweep", "sweep", "--every", "0.5")

    wait_until(lambda: report(stack)["states"] == {"done": 3}, seconds=40, what=f"work\n{stack.log_text()}")

    assert report(stack)["effects"] == [1, 2, 3]


@pytest.mark.slow
@pytest.mark.servers
def test_deed_holds_while_redis_is_away(house, tmp_path):
    stack = counting_stack(house, tmp_path, REDIS_URL="redis://127.0.0.1:1/0")

    asked = deed(stack, "ask", "20", "1")

    assert asked.returncode == 0, asked.stderr
    assert report(stack)["states"] == {"queued": 20}
    assert float(asked.stdout) < 5, "seconds: one refused connection, not twenty"


@pytest.mark.slow
def test_supervisor_starts_a_killed_worker_again_and_takes_all_with_it_when_killed(embedded):
    stack = embedded
    supervisor = stack.start_manage("serve", "serve", "--port", str(stack.port))
    stack.wait_for_web()
    children = _children_of(supervisor.pid)
    assert len(children) == 2
    worker = next(pid for pid, words in children.items() if words.endswith(" work"))

    os.kill(worker, signal.SIGKILL)
    wait_until(
        lambda: any(w.endswith(" work") and p != worker for p, w in _children_of(supervisor.pid).items()),
        seconds=15, what="a new worker",
    )  # fmt: skip

    children = _children_of(supervisor.pid)
    os.kill(supervisor.pid, signal.SIGKILL)
    supervisor.wait()
    wait_until(lambda: not any(map(_is_alive, children)), seconds=20, what="web and worker to end")


@pytest.mark.slow
def test_second_start_is_quick_and_ctrl_c_stops_everything(embedded):
    stack = embedded
    began = time.monotonic()
    supervisor = stack.start_manage("serve", "serve", "--port", str(stack.port))
    stack.wait_for_web()
    seconds = time.monotonic() - began
    children = _children_of(supervisor.pid)
    # On a busy machine only the work is ours to answer for, not the waiting.
    assert sum(map(_cpu_seconds, [supervisor.pid, *children])) < 5
    assert seconds < 5 or os.getloadavg()[0] > 2

    supervisor.send_signal(signal.SIGINT)

    assert supervisor.wait(30) == 0
    assert not any(map(_is_alive, children))
    assert "Traceback" not in stack.log_text()
    stop(supervisor)


def _cpu_seconds(pid: int) -> float:
    """Return the processor time a process has used (proc(5): fields 14 and 15 of its stat)."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _children_of(pid: int) -> dict[int, str]:
    """Return the command line of each child process, by id."""
    listing = subprocess.run(
        ["ps", "-ww", "-o", "pid=,args=", "--ppid", str(pid)], capture_output=True, text=True, check=False
    ).stdout
    return {int(line.split()[0]): line.split(maxsplit=1)[1] for line in listing.splitlines() if line.strip()}


def _is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True
