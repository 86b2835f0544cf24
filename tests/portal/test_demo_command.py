"""`manage.py demo` and `serve` as a person meets them."""

import re
import shutil
import signal
import socket
import subprocess
import sys
import urllib.request
from http.cookiejar import CookieJar
from pathlib import Path

import pytest
from django.urls import reverse

from reviews.management.processes import free_port as free_port_after
from tests.servers import ROOT, free_port, wait_until
from tests.stacks import Stack, plain_environment

pytestmark = pytest.mark.slow
FIRST_ACCOUNT = reverse("reviews:first-account")


@pytest.fixture
def stack(tmp_path: Path):
    stack = Stack(plain_environment(ROUGHPROOF_DATA=str(tmp_path / "data")), tmp_path / "log", port=free_port())
    yield stack
    stack.stop()


def tiny_demo(stack: Stack, *arguments: str) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "-m", "tests.portal.tiny_demo", "demo", *arguments],
        cwd=ROOT, env=stack.environment, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


def serve_tiny_demo(stack: Stack) -> subprocess.Popen:
    process = stack.start("demo", sys.executable, "-m", "tests.portal.tiny_demo", "demo", "--port", str(stack.port))
    wait_until(lambda: "art director" in stack.log_text() or process.poll() is not None, seconds=60, what="the links")
    assert process.poll() is None, stack.log_text()
    return process


def links(stack: Stack) -> dict[str, str]:
    return dict(re.findall(r"^  (\S.*?)\s{2,}.*?(http://\S+)$", stack.log_text(), re.MULTILINE))


def test_one_click_signs_each_role_in_and_ctrl_c_ends_it_all(stack):
    demo = serve_tiny_demo(stack)
    assert set(links(stack)) == {"illustrator", "art director"}

    for link in links(stack).values():
        browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
        with browser.open(link, timeout=20) as page:
            assert page.url == stack.address + "/"
            assert "Your desk" in page.read().decode()

    demo.send_signal(signal.SIGINT)
    assert demo.wait(30) == 0
    assert stack.log_text().rstrip().endswith("Stopped.")


def test_sign_in_of_a_demo_opens_nothing_when_the_folder_is_served_otherwise(stack):
    demo = serve_tiny_demo(stack)
    link = links(stack)["illustrator"]
    demo.terminate()
    demo.wait(30)
    stack.start_manage("web", "web", "--port", str(stack.port))
    stack.wait_for_web()

    with pytest.raises(urllib.error.HTTPError) as answer:
        urllib.request.urlopen(link, timeout=20)
    answer.value.close()
    assert answer.value.code == 404


def test_demo_and_own_books_keep_to_their_folders(stack, prepared_folder, tmp_path):
    shutil.copytree(prepared_folder, tmp_path / "own")
    refused = tiny_demo(stack, "--no-serve", "--data", str(tmp_path / "own"))
    assert refused.returncode == 1
    assert "holds books of your own. Name another folder with --data DIR." in refused.stderr
    refused = tiny_demo(stack, "--no-serve", "--fresh", "--data", str(tmp_path / "own"))
    assert refused.returncode == 1
    assert (tmp_path / "own" / "roughproof.sqlite3").exists()

    assert tiny_demo(stack, "--no-serve").returncode == 0
    refused = stack.manage("serve", "--no-serve", check=False)
    assert refused.returncode == 1
    assert "holds the demo. Name a folder for your own books with --data DIR." in refused.stderr


def test_second_run_keeps_the_book_and_fresh_makes_it_anew_and_spares_strange_files(stack, tmp_path):
    data = tmp_path / "data"
    assert "Drawn in" in tiny_demo(stack, "--no-serve").stdout
    assert "Drawn in" not in tiny_demo(stack, "--no-serve").stdout
    (data / "diary.txt").write_text("not ours")
    (data / "pictures" / "old").write_text("ours")
    key = (data / "secret.key").read_text()

    assert "Drawn in" in tiny_demo(stack, "--no-serve", "--fresh").stdout

    assert (data / "diary.txt").read_text() == "not ours"
    assert not (data / "pictures" / "old").exists()
    assert (data / "secret.key").read_text() == key


def test_demo_interrupted_while_drawing_begins_anew(stack, tmp_path):
    assert tiny_demo(stack, "--no-serve").returncode == 0
    (tmp_path / "data" / "this-is-the-demo").write_text("drawing")

    done = tiny_demo(stack, "--no-serve")

    assert done.returncode == 0, done.stderr
    assert "Drawn in" in done.stdout


def test_taken_port_is_refused_when_named_and_passed_over_when_not(stack):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", stack.port))
        taken.listen()
        named = tiny_demo(stack, "--port", str(stack.port))
        assert named.returncode == 1
        assert f"Port {stack.port} is taken." in named.stderr
        assert "Traceback" not in named.stderr
        assert free_port_after(stack.port, exactly=False) != stack.port


def test_folder_is_served_once_and_what_a_killed_server_left_half_received_goes(stack, tmp_path):
    left = tmp_path / "data" / "incoming" / "tmpabc.upload.tif"
    left.parent.mkdir(parents=True)
    left.write_bytes(b"half")
    serve_tiny_demo(stack)
    assert not left.exists()

    second = tiny_demo(stack)

    assert second.returncode == 1
    assert "is being served already." in second.stderr


def test_second_worker_is_refused_in_words(stack):
    serve_tiny_demo(stack)
    done = stack.manage("work", check=False)
    assert done.returncode == 1
    assert "one is enough" in done.stderr


def test_first_visit_of_serve_leads_to_the_first_account(stack):
    stack.start_manage("serve", "serve", "--port", str(stack.port))
    stack.wait_for_web()
    with urllib.request.urlopen(stack.address, timeout=20) as page:
        assert page.url == stack.address + FIRST_ACCOUNT
