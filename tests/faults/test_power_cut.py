"""The power is cut while people work through the real `serve`: what was answered is there when it is back."""

import hashlib
import http.client
import json
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.faults.cut_disk import CutDisk, a_disk
from tests.makers import a_jpeg
from tests.servers import ROOT, free_port, wait_until
from tests.stacks import Stack, plain_environment

SECONDS_BEFORE_EACH_CUT = (3.0, 8.0, 6.5)
CSRF = "a" * 32
BOUNDARY = "a-line-that-no-picture-has"


@pytest.fixture
def cut_disk(tmp_path: Path) -> Iterator[CutDisk]:
    with a_disk(tmp_path) as disk:
        yield disk


def at_work(stack: Stack, verb: str) -> dict:
    done = subprocess.run(
        [sys.executable, "-m", "tests.faults.at_work", verb],
        cwd=ROOT, env=stack.environment, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@dataclass
class Answered:
    """What the portal said yes to, each with the moment at which its answer was read."""

    pictures: list[tuple[float, str, str]] = field(default_factory=list)
    notes: list[tuple[float, str]] = field(default_factory=list)

    def until(self, moment: float) -> "Answered":
        return Answered(*([row for row in rows if row[0] < moment] for rows in vars(self).values()))


class User:
    """Somebody at work: one act after another, each waited for, until nothing answers any more."""

    def __init__(self, stack: Stack, scene: dict, answered: Answered) -> None:
        self.stack, self.scene, self.answered = stack, scene, answered
        self.trouble: Exception | None = None

    def post(self, who: str, path: str, body: bytes, kind: str) -> dict:
        request = urllib.request.Request(
            self.stack.address + path, data=body,
            headers={
                "Cookie": f"roughproof_session={self.scene[who]}; roughproof_csrf={CSRF}", "X-CSRFToken": CSRF,
                "Accept": "application/json", "Content-Type": kind, "Origin": self.stack.address,
            },
        )  # fmt: skip
        with urllib.request.urlopen(request, timeout=20) as answer:
            return json.loads(answer.read())

    def put_picture(self, number: int) -> None:
        data = a_jpeg(number, (900 + number % 50, 600))
        name = f"sketch {number}.jpg"
        head = f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n'
        body = head.encode() + data + f"\r\n--{BOUNDARY}--\r\n".encode()
        draft = self.scene["drafts"][number % len(self.scene["drafts"])]
        kind = f"multipart/form-data; boundary={BOUNDARY}"
        self.post("illustrator", f"/passages/{draft}/draft/pictures/", body, kind)
        self.answered.pictures.append((time.monotonic(), name, hashlib.sha256(data).hexdigest()))

    def pin_note(self, number: int) -> None:
        words = f"Note {number}: the owl looks the other way."
        region = json.dumps({"kind": "box", "points": [[0.1, 0.1], [0.3, 0.3]]})
        fields = {"picture": str(self.scene["picture"]), "region": region, "words": words, "cause": "direction"}
        body = urllib.parse.urlencode(fields).encode()
        self.post("art_director", f"/passages/{self.scene['marked']}/notes/", body, "application/x-www-form-urlencoded")
        self.answered.notes.append((time.monotonic(), words))

    def work(self, first: int) -> None:
        """Go on from picture number `first` until an act gets no yes; keep what it was that stopped us."""
        number = first
        while self.trouble is None:
            number += 1
            try:
                self.put_picture(number)
                self.pin_note(number)
                time.sleep(0.1)  # on a quick machine the drafts would be full before the power goes
            except (OSError, ValueError, http.client.HTTPException) as problem:
                if isinstance(problem, urllib.error.HTTPError):
                    problem.close()
                self.trouble = problem


def cut_while_working(stack: Stack, disk: CutDisk, user: User, first: int, seconds: float) -> Answered:
    """Serve, let the user work for so long, cut the power, end what runs; gives what was answered before the cut."""
    server = stack.start_manage("serve", "serve", "--port", str(stack.port))
    stack.wait_for_web()
    worker = threading.Thread(target=user.work, args=(first,))
    worker.start()
    enough = len(user.answered.notes) + 4
    time.sleep(seconds)
    # A busy machine is given longer: a cut proves nothing where nobody did anything.
    wait_until(lambda: user.trouble or len(user.answered.notes) >= enough, seconds=60, what="answers")
    assert user.trouble is None, f"The user was stopped before the cut: {user.trouble}\n{stack.log_text()}"
    moment = disk.cut()
    for pid in [server.pid, *_children_of(server.pid)]:
        os.killpg(pid, signal.SIGKILL)
    server.wait()
    worker.join()
    disk.power_back()
    return user.answered.until(moment)


def _children_of(pid: int) -> list[int]:
    listed = subprocess.run(["ps", "-o", "pid=", "--ppid", str(pid)], capture_output=True, text=True, check=False)
    return [int(word) for word in listed.stdout.split()]


@pytest.mark.slow
def test_every_act_that_was_answered_before_a_power_cut_is_there_after_it(cut_disk: CutDisk, prepared_folder, tmp_path):
    shutil.copytree(prepared_folder, cut_disk.place / "data")
    os.sync()
    environment = plain_environment(ROUGHPROOF_DATA=str(cut_disk.place / "data"))
    stack = Stack(environment, tmp_path / "log", port=free_port())
    scene = at_work(stack, "prepare")
    answered = Answered()
    try:
        for turn, seconds in enumerate(SECONDS_BEFORE_EACH_CUT):
            user = User(stack, scene, answered)
            answered = cut_while_working(stack, cut_disk, user, 1000 * turn, seconds)
            lost = what_was_lost(answered, at_work(stack, "report"))
            print(turn, seconds, len(answered.pictures), len(answered.notes), lost)
            assert lost == {}
    finally:
        stack.stop()
    assert len(answered.notes) >= 4 * len(SECONDS_BEFORE_EACH_CUT)


def what_was_lost(answered: Answered, found: dict) -> dict:
    """Name every answered act that is not there, every name without its bytes, and whatever else is broken."""
    rows = {picture["name"]: picture["sha256"] for picture in found["pictures"]}
    troubles = {
        "pictures without a row": [name for _, name, sha256 in answered.pictures if rows.get(name) != sha256],
        "rows without their bytes": [p["name"] for p in found["pictures"] if p["found"] != p["sha256"]],
        "ready, but not all to be shown": [p["name"] for p in found["pictures"] if not p["is_shown"]],
        "notes": [words for _, words in answered.notes if found["notes"].count(words) != 1],
        "ledger": found["ledger"],
        "database": [] if found["integrity"] == "ok" else [found["integrity"]],
    }
    return {what: lost for what, lost in troubles.items() if lost}
