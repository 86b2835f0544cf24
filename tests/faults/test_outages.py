"""What other machines do to us: silent stores and brokers, a broker that goes while work is in hand."""

import json
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request

import pytest

from tests.faults.silent import Silent
from tests.faults.test_killed_workers import begun, counting_stack, deed, report
from tests.makers import a_jpeg
from tests.servers import ROOT, wait_until
from tests.stacks import Stack

pytestmark = [pytest.mark.slow, pytest.mark.servers]


def ask(address: str, session: str = "", **headers: str) -> tuple[int, bytes, float]:
    """Fetch a page and say its status, its body and its seconds."""
    request = urllib.request.Request(address, headers={"Cookie": f"roughproof_session={session}", **headers})
    since = time.monotonic()
    try:
        answer = urllib.request.urlopen(request, timeout=60)
    except urllib.error.HTTPError as problem:
        answer = problem
    with answer:
        return answer.status, answer.read(), time.monotonic() - since


def begin(stack: Stack) -> dict:
    done = subprocess.run(
        [sys.executable, "-m", "tests.faults.outage_deeds"],
        cwd=ROOT, env=stack.environment, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def start_web(stack: Stack) -> None:
    stack.manage("collectstatic", "--noinput", "--verbosity", "0")
    stack.start(
        "web", sys.executable, "-m", "gunicorn", "portal.wsgi", "--bind", f"127.0.0.1:{stack.port}",
        "--worker-class", "gthread", "--workers", "1", "--threads", "16",
    )  # fmt: skip
    stack.wait_for_web()


def test_a_silent_store_holds_no_page_that_needs_none_of_it(house):
    told = begin(house)
    with Silent() as store:
        house.environment = {**house.environment, "S3_ENDPOINT": f"http://127.0.0.1:{store.port}"}
        start_web(house)
        statuses: list[tuple[int, bytes, float]] = []
        thumbs = [f"{house.address}/pictures/{told['pictures'][n % 2]}/thumb.jpg" for n in range(24)]
        threads = [
            threading.Thread(target=lambda url=url: statuses.append(ask(url, told["session"]))) for url in thumbs
        ]
        for thread in threads:
            thread.start()
        time.sleep(0.5)
        pages = sorted(ask(f"{house.address}/", told["session"])[2] for _ in range(10))
        ready = ask(f"{house.address}/ready/", Host="10.1.2.3")
        alive = ask(f"{house.address}/health/", Host="10.1.2.3")
        for thread in threads:
            thread.join()
        print(pages, sorted(seconds for _, _, seconds in statuses))
        assert store.held, "no thumbnail reached the store, so this proved nothing"
        # The first page also waits while twelve threads load the store's library; a question to the store takes 24 s.
        assert pages[5] < 1 and pages[-1] < 8
        assert {status for status, _, _ in statuses} == {503}
        assert b"does not answer now" in statuses[0][1] and b"Traceback" not in statuses[0][1]
        assert max(seconds for _, _, seconds in statuses) < 30
        assert (alive[0], ready[0]) == (200, 503)
        assert b'"store": "silent"' in ready[1] and ready[2] < 10
    assert "Traceback" not in house.log_text(), "an everyday outage is one line"


def upload(address: str, told: dict, seed: int) -> tuple[int, bytes, float]:
    """Put a picture into the draft and say the status, the answer and its seconds."""
    edge, token = "a-line-that-no-picture-has", "outage" * 5 + "ab"
    head = f'--{edge}\r\nContent-Disposition: form-data; name="file"; filename="idea {seed}.jpg"\r\n'
    body = head.encode() + b"Content-Type: image/jpeg\r\n\r\n" + a_jpeg(seed) + f"\r\n--{edge}--\r\n".encode()
    request = urllib.request.Request(
        f"{address}/passages/{told['passage']}/draft/pictures/", data=body,
        headers={
            "Cookie": f"roughproof_session={told['session']}; roughproof_csrf={token}", "X-CSRFToken": token,
            "Accept": "application/json", "X-Press": f"press-{seed}",
            "Content-Type": f"multipart/form-data; boundary={edge}",
        },
    )  # fmt: skip
    since = time.monotonic()
    try:
        answer = urllib.request.urlopen(request, timeout=60)
    except urllib.error.HTTPError as problem:
        answer = problem
    with answer:
        return answer.status, answer.read(), time.monotonic() - since


def test_many_uploads_to_a_silent_store_hold_no_page_and_the_rest_are_told_at_once(house):
    """Connect 3 s, an answer 10 s, two tries: an upload's one question may hold a thread for 20 s and a pause."""
    told = begin(house)
    with Silent() as store:
        house.environment = {**house.environment, "S3_ENDPOINT": f"http://127.0.0.1:{store.port}"}
        start_web(house)
        answers: list[tuple[int, bytes, float]] = []
        threads = [
            threading.Thread(target=lambda seed=seed: answers.append(upload(house.address, told, seed)))
            for seed in range(30)
        ]
        for thread in threads:
            thread.start()
        time.sleep(0.5)
        pages = sorted(ask(f"{house.address}/", told["session"])[2] for _ in range(10))
        for thread in threads:
            thread.join()
        seconds = sorted(each for _, _, each in answers)
        print(pages, seconds)
        assert store.held, "no upload reached the store, so this proved nothing"
        assert len(answers) == 30 and {status for status, _, _ in answers} == {503}
        assert all(b"does not answer now" in body and b"Traceback" not in body for _, body, _ in answers)
        assert pages[5] < 1 and pages[-1] < 8
        assert sum(each > 10 for each in seconds) <= 8, "no more hold a thread than may bring files at a time"
        assert seconds[-1] < 30
    assert "Traceback" not in house.log_text(), "an everyday outage is one line"


def test_a_silent_broker_delays_a_deed_by_seconds_and_the_job_is_not_called_sent(house, tmp_path):
    with Silent() as broker:
        stack = counting_stack(house, tmp_path, REDIS_URL=f"redis://127.0.0.1:{broker.port}/0")
        asked = deed(stack, "ask", "20", "1")
        assert asked.returncode == 0, asked.stderr
        assert broker.held
        print(asked.stdout)
        assert float(asked.stdout) < 5
    assert stack.manage("shell", "-c", "from reviews.models import Job; print(Job.objects.filter(sent_at=None).count())"
                        ).stdout.split()[-1] == "20"  # fmt: skip


def test_a_worker_whose_broker_goes_away_with_work_in_hand_stays_and_finishes_it(house, tmp_path, redis_server):
    stack = counting_stack(house, tmp_path, ROUGHPROOF_JOB_RESEND="1", COUNTING_STEP_SECONDS="1")
    worker = stack.start(
        "worker", sys.executable, "-m", "celery", "-A", "tests.faults.counting_celery", "worker",
        "--loglevel", "WARNING",
    )  # fmt: skip
    stack.start_manage("sweep", "sweep", "--every", "0.5")
    for first in (1, 2):
        assert deed(stack, "ask", "1", str(first)).returncode == 0
        wait_until(lambda n=first: begun(stack)[n], seconds=60, what=f"work\n{stack.log_text()}")
        redis_server.kill()
        time.sleep(6)
        redis_server.start()
        wait_until(
            lambda n=first: report(stack)["effects"] == list(range(1, n + 1)), seconds=60, what=stack.log_text()[-3000:]
        )
        assert worker.poll() is None, stack.log_text()[-3000:]
