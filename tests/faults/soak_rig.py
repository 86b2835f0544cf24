"""One user working, who presses again what got no answer, and what is there afterwards."""

import http.client
import json
import re
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
import uuid
from collections import Counter
from dataclasses import dataclass, field

from tests.servers import ROOT
from tests.stacks import Stack

TOKEN = "soak" * 8
PATIENCE_SECONDS = 120
N_PICTURES, WORDS = 3, ("Let the tarn be wider.", "Fewer reeds.", "Turn the otter to the gutter.")
BOX = {"kind": "box", "points": [[0.1, 0.1], [0.4, 0.5]]}


class Stuck(Exception):
    """A step did not come through within a user's patience."""


@dataclass
class User:
    """Somebody at a browser; `loses` says how many answers get lost on their way."""

    address: str
    told: dict
    loses: int = 0
    saw: Counter = field(default_factory=Counter)
    longest: float = 0.0

    def ask(self, who: str, path: str, data: bytes | None = None, kind: str = "", key: str = "") -> bytes:
        """Ask once and give the body; count what a person would have seen instead."""
        headers = {
            "Cookie": f"roughproof_session={self.told[who]}; roughproof_csrf={TOKEN}",
            "X-CSRFToken": TOKEN, "Accept": "application/json" if data is not None else "text/html",
        }  # fmt: skip
        if data is not None:
            headers |= {"Content-Type": kind, "X-Press": key}
        request = urllib.request.Request(self.address + path, data=data, headers=headers)
        began = time.monotonic()
        try:
            with urllib.request.urlopen(request, timeout=40) as answer:
                body = answer.read()
            if data is not None and self.loses:
                self.loses -= 1
                raise ConnectionResetError("the answer was lost on its way")
            return body
        except urllib.error.HTTPError as refusal:
            with refusal:
                words = refusal.read().decode("utf-8", "replace")
            self.saw[f"{refusal.code} {'a trace!' if 'Traceback' in words else 'in words'}"] += 1
            if refusal.code < 500:
                raise AssertionError(f"{path}: {refusal.code} {words[:300]}") from None
            raise
        except (OSError, http.client.HTTPException) as problem:
            # An answer that breaks off after its first line (its process died) is no answer: the same to a person.
            self.saw["no answer" if "timed out" in str(problem) or data else "no connection"] += 1
            raise
        finally:
            self.longest = max(self.longest, time.monotonic() - began)

    def until_answered(self, *arguments, **more) -> bytes:
        """Ask again and again, the same press, as somebody does who was told that nothing arrived."""
        deadline = time.monotonic() + PATIENCE_SECONDS
        while time.monotonic() < deadline:
            try:
                return self.ask(*arguments, **more)
            except (OSError, http.client.HTTPException):  # also HTTPError, for what fails on the other side
                time.sleep(0.7)
        raise Stuck(str(arguments[1]))

    def press(self, who: str, path: str, **fields: str) -> dict:
        body = urllib.parse.urlencode(fields).encode()
        answer = self.until_answered(who, path, body, "application/x-www-form-urlencoded", uuid.uuid4().hex)
        return json.loads(answer) if answer.startswith(b"{") else {}

    def put_in(self, seed: int) -> dict:
        from tests.makers import a_jpeg  # needs Django, which the table of kinds does without

        edge = uuid.uuid4().hex
        head = f'--{edge}\r\nContent-Disposition: form-data; name="file"; filename="idea {seed}.jpg"\r\n'
        body = head.encode() + b"Content-Type: image/jpeg\r\n\r\n" + a_jpeg(seed) + f"\r\n--{edge}--\r\n".encode()
        path = f"/passages/{self.told['passage']}/draft/pictures/"
        kind = f"multipart/form-data; boundary={edge}"
        return json.loads(self.until_answered("illustrator", path, body, kind, uuid.uuid4().hex))

    def drafted(self) -> tuple[list[str], str]:
        """Read the pictures and the hand-in off the draft's page: a press that was kept, and whose process died
        before its answer was, is told on the second press that it arrived, and no more."""
        page = self.until_answered("illustrator", f"/passages/{self.told['passage']}/draft/").decode()
        [hand_in] = set(re.findall(r"/hand-ins/(\d+)/hand-in/", page))
        return re.findall(r'data-picture="(\d+)"', page), hand_in

    def wait_for_pictures(self, pictures: list[str]) -> None:
        deadline = time.monotonic() + PATIENCE_SECONDS
        waiting = pictures
        while waiting and time.monotonic() < deadline:
            states = {pk: json.loads(self.until_answered("illustrator", f"/pictures/{pk}/state/")) for pk in waiting}
            waiting = [pk for pk, said in states.items() if said["state"] == "received"]
            time.sleep(0.3)
        if waiting:
            raise Stuck(f"pictures {waiting} are still being processed")

    def play(self) -> None:
        """Hand three pictures in, have three notes pinned, and have one letter sent that asks for changes."""
        for seed in range(N_PICTURES):
            self.put_in(seed)
        pictures, hand_in = self.drafted()
        self.wait_for_pictures(pictures)
        passage = self.told["passage"]
        self.press("illustrator", f"/hand-ins/{hand_in}/hand-in/", cover_note="Three ideas.")
        for words in WORDS:
            given = {"picture": pictures[0], "region": json.dumps(BOX), "words": words, "cause": "direction"}
            self.press("art_director", f"/passages/{passage}/notes/", **given)
        self.press("art_director", f"/passages/{passage}/answer/", answer="ask")
        draft = self.until_answered("art_director", f"/books/{self.told['book']}/letter/").decode()
        [send] = set(re.findall(r"/letters/\d+/send/", draft))
        page = self.until_answered("art_director", send).decode()
        [looked_at] = re.findall(r'name="looked_at" value="([^"]+)"', page)
        self.press("art_director", send, looked_at=looked_at)


@dataclass
class Rig:
    """What a fault can reach: the stack, and where it is a house its neighbours."""

    stack: Stack
    user: User
    start: object  # starts again, by name, what a fault has ended
    redis: object = None
    postgres_url: str = ""
    store: object = None
    mail_server: object = None
    # How often the fault met something: a process that was there, a connection that failed. 0 is a fault nobody felt.
    felt: int = 0

    def n_open(self) -> int:
        """Count the work still to be done, without a process of ours for each look."""
        return self.stack.rows("SELECT count(*) FROM reviews_job WHERE state IN ('queued', 'running')")[0][0]

    def deeds(self, verb: str) -> dict:
        done = subprocess.run(
            [sys.executable, "-m", "tests.faults.soak_deeds", verb],
            cwd=ROOT, env=self.stack.environment, capture_output=True, text=True, timeout=120, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)


def judged(rig: Rig, fault, kind: str) -> dict:
    """Play through one fault and say what became of everything, after it had time to settle."""
    stuck = ""

    def play() -> None:
        nonlocal stuck
        try:
            rig.user.play()
        except Exception as problem:  # whatever ended the play is the run's outcome, and is told with it
            stuck = f"{type(problem).__name__}: {problem}"

    playing = threading.Thread(target=play, daemon=True)
    playing.start()
    try:
        fault()
    except Exception as problem:  # a fault that could not be done proves nothing, and is told as a run that is stuck
        stuck = f"the fault itself: {type(problem).__name__}: {problem}"
    playing.join()
    began = time.monotonic()
    while rig.n_open() and time.monotonic() - began < PATIENCE_SECONDS:
        time.sleep(0.5)
    settled = time.monotonic() - began
    return outcome(rig, kind, rig.deeds("state"), stuck, settled)


def without_end(rig: Rig, kind: str, limit: int) -> dict:
    """Tell of a run that went on past its limit: stuck, and what is there at that moment."""
    return outcome(rig, kind, rig.deeds("state"), f"came to no end within {limit} s", limit)


def outcome(rig: Rig, kind: str, found: dict, stuck: str, settled: float) -> dict:
    n_pictures, n_letters = sum(found["pictures"].values()), found["letters"]
    n_notes_lost = sum(words not in found["notes"] for words in WORDS)
    n_twice = sum(n - 1 for n in found["notes"].values())
    unfinished = found["open"] + len(found["failed"]) + found["notices_unsent"] + found["pictures"].get("received", 0)
    return {
        "kind": kind,
        "lost": max(0, N_PICTURES - n_pictures) + found["without_bytes"] + n_notes_lost + (n_letters < 1),
        "double": max(0, n_pictures - N_PICTURES) + n_twice + (n_letters > 1),
        "stuck": unfinished + bool(stuck),
        "where": stuck or str(found["failed"] or ""),
        "ledger": found["ledger"],
        "felt": rig.felt,
        "saw": dict(rig.user.saw),
        "longest": round(rig.user.longest, 1),
        "settled": round(settled, 1),
    }
