"""Slow, idle and greedy visitors of the real `serve`: none of them keeps anybody else from the sign-in page."""

from __future__ import annotations

import resource
import shutil
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from tests.portal.test_proxy import MEGABYTE, PERSON, Front, front  # noqa: F401 - a fixture is used by its name
from tests.servers import ROOT, stop
from tests.stacks import Stack
from tests.web_client import WebClient, zeros

pytestmark = [pytest.mark.servers, pytest.mark.slow]
CROWD = 1000
#: A sign-in page takes about 0.05 s when nobody else is there; on a busy machine many times that.
PATIENCE_SECONDS = 3.0

NOTHING = b""
HALF_A_HEADER = b"GET /sign-in/ HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: "
HALF_A_BODY = (
    b"POST /sign-in/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-www-form-urlencoded\r\n"
    b"Content-Length: 900000\r\n\r\nusername="
)


@pytest.fixture
def served(embedded: Stack) -> Stack:
    embedded.start_manage("serve", "serve", "--port", str(embedded.port))
    embedded.wait_for_web()
    return embedded


@contextmanager
def crowd(port: int, says: bytes) -> Iterator[list[socket.socket]]:
    """Hold a thousand connections open, each having said so much and then a byte a second."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(hard, max(soft, CROWD + 500)), hard))
    held, over = [], threading.Event()

    def drip() -> None:
        while says and not over.wait(1):
            for each in held:
                with suppress(OSError):
                    each.send(b"x")

    dripping = threading.Thread(target=drip, daemon=True)
    try:
        for _ in range(CROWD):
            each = socket.create_connection(("127.0.0.1", port), timeout=10)
            if says:
                each.sendall(says)
            held.append(each)
        dripping.start()
        yield held
    finally:
        over.set()
        if dripping.ident:
            dripping.join()
        for each in held:
            each.close()
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))


@pytest.mark.parametrize("says", [NOTHING, HALF_A_HEADER, HALF_A_BODY], ids=["idle", "half-a-header", "half-a-body"])
def test_a_thousand_connections_keep_nobody_from_the_sign_in_page(served, says):
    taken = []
    with crowd(served.port, says) as held:
        assert len(held) == CROWD
        for _ in range(10):
            began = time.monotonic()
            assert WebClient(served.port).get("/first-account/").status == 200
            taken.append(time.monotonic() - began)
            time.sleep(0.3)
    print(f"{CROWD} connections: median {sorted(taken)[5]:.3f} s, longest {max(taken):.3f} s")
    assert max(taken) < PATIENCE_SECONDS, taken


@pytest.mark.parametrize("says", [NOTHING, b"\x16\x03\x01"], ids=["idle", "half-a-greeting"])
def test_behind_the_proxy_too_a_thousand_connections_keep_nobody_out(front, says):  # noqa: F811
    taken = []
    with crowd(front.https, says) as held:
        assert len(held) == CROWD
        for _ in range(5):
            began = time.monotonic()
            assert front.visitor().get("/first-account/").status == 200
            taken.append(time.monotonic() - began)
    print(f"{CROWD} connections to the proxy: longest {max(taken):.3f} s")
    assert max(taken) < PATIENCE_SECONDS, taken


def test_who_only_pretends_to_send_is_put_out(served):
    from reviews.management.web_server import HEADER_SECONDS

    slow = [socket.create_connection(("127.0.0.1", served.port), timeout=10) for _ in range(2)]
    slow[0].sendall(HALF_A_HEADER)
    slow[1].sendall(HALF_A_BODY)
    began, lasted = time.monotonic(), {}
    while len(lasted) < 2 and time.monotonic() - began < HEADER_SECONDS + 15:
        time.sleep(0.5)
        for each in slow:
            if each not in lasted and not _still_open(each):
                lasted[each] = time.monotonic() - began
    for each in slow:
        each.close()
    assert len(lasted) == 2
    assert min(lasted.values()) > HEADER_SECONDS - 1, "an honest slow line has this long"


def _still_open(connection: socket.socket) -> bool:
    """Send one more byte, and see whether the other end still listens."""
    connection.settimeout(0.1)
    try:
        connection.send(b"x")
        return connection.recv(1) != b""
    except TimeoutError:
        return True
    except OSError:
        return False


def spooled(stack: Stack) -> int:
    """Measure the room taken on the disk by bodies of the web server, named or not."""
    pid = int(next(p for p in Path("/proc").iterdir() if p.name.isdigit() and _is_web(p, stack)).name)
    total = 0
    for link in Path(f"/proc/{pid}/fd").iterdir():
        with suppress(OSError):
            if "sqlite3" not in str(link.readlink()) and link.stat().st_size and link.is_file():
                total += link.stat().st_size
    return total


def _is_web(process: Path, stack: Stack) -> bool:
    with suppress(OSError):
        words = (process / "cmdline").read_bytes().split(b"\0")
        return b"web" in words and str(stack.port).encode() in words
    return False


@pytest.mark.parametrize("chunked", [False, True], ids=["announced", "chunked"])
@pytest.mark.parametrize("path", ["/sign-in/", "/passages/1/draft/pictures/"])
def test_a_stranger_sends_a_megabyte_and_no_more(served, path, chunked):
    most, n_bytes = [0], 300 * MEGABYTE

    def body() -> Iterator[bytes]:
        for i, piece in enumerate(zeros(n_bytes)):
            if i % 20 == 0:
                most[0] = max(most[0], spooled(served))
            yield piece

    length = {} if chunked else {"Content_Length": str(n_bytes)}
    cookies = {"roughproof_session": "a" * 32}
    try:
        answer = WebClient(served.port, cookies=cookies).ask("POST", path, body(), chunked=chunked, **length)
        assert answer.status == 413
        assert "1 MB may be sent at once here from somebody who is not signed in" in answer.text
    except ConnectionError:
        assert chunked, "an announced body is refused in words that arrive"
    assert most[0] < 2 * MEGABYTE
    assert WebClient(served.port).get("/first-account/").status == 200


def test_asked_beforehand_the_answer_comes_at_once_as_json_where_a_script_asks(served):
    with socket.create_connection(("127.0.0.1", served.port), timeout=10) as connection:
        connection.sendall(
            b"POST /passages/1/draft/pictures/ HTTP/1.1\r\nHost: 127.0.0.1\r\nAccept: application/json\r\n"
            b"Content-Length: 12000000000\r\nExpect: 100-continue\r\n\r\n"
        )
        answer = b""
        while piece := connection.recv(65536):
            answer += piece
    assert answer.startswith(b"HTTP/1.1 413 ")
    assert b'{"sentence": "This is ' in answer


def test_an_upload_is_spooled_in_the_data_folder_and_refused_before_the_disk_is_full(embedded, tmp_path):
    embedded.start_manage("web", "web", "--port", str(embedded.port))
    embedded.wait_for_web()
    passage = Front(embedded, tmp_path, 0, 0)
    subprocess.run(
        [sys.executable, "-m", "tests.portal.house_deeds", "begin"], cwd=ROOT, env=embedded.environment, check=True
    )
    [number] = set(passage.ask_rows("Picture.objects.values_list('hand_in__passage_id', flat=True)"))
    path, n_bytes = f"/passages/{number}/draft/pictures/", 40 * MEGABYTE
    visitor = WebClient(embedded.port)
    assert visitor.post("/sign-in/", PERSON).status == 302
    seen: set[str] = set()

    def body() -> Iterator[bytes]:
        for piece in zeros(n_bytes, b"c"):
            seen.update(open_bodies(embedded))
            yield piece

    assert visitor.upload(path, {"c.tif": body()}, n_bytes).status == 302
    incoming = Path(embedded.environment["ROUGHPROOF_DATA"]) / "incoming"
    assert seen
    assert all(where.startswith(str(incoming)) for where in seen), seen

    stop(embedded.processes["web"])
    more_than_there_is = shutil.disk_usage(tmp_path).total // MEGABYTE + 1
    embedded.environment = {**embedded.environment, "ROUGHPROOF_KEEP_FREE_MB": str(more_than_there_is)}
    embedded.start_manage("web", "web", "--port", str(embedded.port))
    embedded.wait_for_web()
    refused = visitor.upload(path, {"d.tif": zeros(n_bytes, b"d")}, n_bytes)
    assert refused.status == 507
    assert "nearly full" in refused.text
    assert not passage.ask_rows("Picture.objects.filter(file_name='d.tif').values_list('pk', flat=True)")
    assert list(incoming.iterdir()) == []


def open_bodies(stack: Stack) -> set[str]:
    """Name the nameless files that the web server gathers bodies in."""
    found = set()
    for process in Path("/proc").iterdir():
        if process.name.isdigit() and _is_web(process, stack):
            for link in (process / "fd").iterdir():
                with suppress(OSError):
                    if "(deleted)" in str(link.readlink()):
                        found.add(str(link.readlink()))
    return found
