"""A real proxy in front, under the example configuration: for `serve` and for gunicorn, as README.md says it."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.nginx import example, nginx
from tests.servers import ROOT, free_port
from tests.stacks import Stack
from tests.web_client import WebClient, zeros

pytestmark = [pytest.mark.servers, pytest.mark.slow]
MEGABYTE = 1024 * 1024
PERSON = {"username": "juniper@aldersea.example", "password": "a pail of moonlight"}


@dataclass
class Front:
    """A stack with nginx before it."""

    stack: Stack
    folder: Path
    http: int
    https: int

    def visitor(self, **more: str) -> WebClient:
        return WebClient(self.https, host="proofs.example", tls=True, **more)

    def signed_in(self) -> tuple[WebClient, int]:
        """Make a book with its illustrator, sign her in through the proxy, and name a passage that she draws."""
        done = subprocess.run(
            [sys.executable, "-m", "tests.portal.house_deeds", "begin"], cwd=ROOT, env=self.stack.environment,
            capture_output=True, text=True, timeout=120, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        visitor = self.visitor()
        answer = visitor.post("/sign-in/", PERSON)
        assert (answer.status, answer.headers["Location"]) == (302, "/"), answer.text[:2000]
        return visitor, self.ask_rows("Picture.objects.values_list('hand_in__passage_id', flat=True)")[0]

    def ask_rows(self, words: str) -> list:
        out = self.stack.manage(
            "shell", "-v", "0", "-c", f"import json; from reviews.models import *; print(json.dumps(list({words})))"
        ).stdout
        return json.loads(out)


def environment(https: int) -> dict[str, str]:
    return {
        "ALLOWED_HOSTS": "proofs.example", "PUBLIC_ADDRESS": f"https://proofs.example:{https}",
        "ROUGHPROOF_HTTPS": "1", "ROUGHPROOF_BEHIND_PROXY": "1",
    }  # fmt: skip


@pytest.fixture(params=["serve", "gunicorn"])
def front(request, tmp_path: Path) -> Iterator[Front]:
    """Yield each of the two servers behind nginx."""
    stack: Stack = request.getfixturevalue("embedded" if request.param == "serve" else "house")
    http, https = free_port(), free_port()
    stack.environment = {**stack.environment, **environment(https)}
    if request.param == "serve":
        stack.start_manage("serve", "serve", "--port", str(stack.port))
    else:
        stack.manage("collectstatic", "--noinput", "--verbosity", "0")
        stack.start(
            "web", sys.executable, "-m", "gunicorn", "portal.wsgi", "--bind", f"127.0.0.1:{stack.port}",
            "--worker-class", "gthread", "--workers", "1", "--threads", "4",
        )  # fmt: skip
    stack.wait_for_web()
    with nginx(tmp_path / "nginx", example(tmp_path / "nginx", behind=stack.port, http=http, https=https), https):
        yield Front(stack, tmp_path / "nginx", http, https)


def test_the_documented_line_lets_people_in_by_https_and_leads_nobody_in_a_circle(front):
    plain = WebClient(front.http, host="proofs.example").get("/sign-in/")
    assert plain.status == 301
    assert plain.headers["Location"] == "https://proofs.example/sign-in/"

    visitor, _ = front.signed_in()
    desk = visitor.get("/")
    assert desk.status == 200
    assert "Your desk" in desk.text
    assert "max-age" in desk.headers["Strict-Transport-Security"]

    stranger = front.visitor()
    page = stranger.get("/sign-in/")
    assert page.status == 200
    for cookie in page.headers.get_all("Set-Cookie"):
        assert cookie.startswith("__Host-roughproof_")
        assert all(word in cookie for word in ("Secure", "SameSite=Lax", "Path=/"))
        assert "Domain" not in cookie
    assert stranger.post("/sign-in/", PERSON).status == 302
    assert {"__Host-roughproof_session", "__Host-roughproof_place"} <= set(stranger.cookies)


def test_the_log_and_the_list_of_sessions_tell_the_visitors_own_address(front):
    """Dialled from another address of this machine, as the proxy sees it; what the visitor writes is thrown away."""
    visitor, _ = front.signed_in()
    other = front.visitor(source="127.0.0.9", headers={"X-Forwarded-For": "203.0.113.5", "X-Real-IP": "203.0.113.5"})
    assert other.post("/sign-in/", PERSON).status == 302
    page = visitor.get("/you/").text
    assert "From 127.0.0.9." in page
    assert "203.0.113.5" not in page
    stranger = front.visitor(source="127.0.0.8")
    assert stranger.post("/sign-in/", {**PERSON, "password": "guess"}).status == 200
    assert re.search(r"Wrong: sign-in of person \d+ from 127\.0\.0\.8\.", front.stack.log_text())


def test_six_hundred_megabytes_pass_and_a_stranger_sends_none(front):
    visitor, passage = front.signed_in()
    path, half = f"/passages/{passage}/draft/pictures/", 300 * MEGABYTE
    answer = visitor.upload(path, {"a.tif": zeros(half, b"a"), "b.tif": zeros(half, b"b")}, 2 * half)
    assert answer.status == 302, answer.text[:2000]
    assert answer.headers["Location"] == f"/passages/{passage}/draft/"
    names = "Picture.objects.filter(file_name__in=['a.tif', 'b.tif'])"
    assert front.ask_rows(f"{names}.values_list('n_bytes', flat=True)") == [half, half]

    stranger = front.visitor()
    stranger.get("/sign-in/")
    refused = stranger.ask("POST", path, zeros(3 * MEGABYTE), Content_Length=str(3 * MEGABYTE), Expect="100-continue")
    assert refused.status == 401


def test_a_proxy_that_is_not_named_is_told_in_words_and_makes_no_circle(embedded, tmp_path):
    http, https = free_port(), free_port()
    embedded.environment = {**embedded.environment, **environment(https), "ROUGHPROOF_TRUSTED_PROXY": "192.0.2.7"}
    embedded.start_manage("serve", "serve", "--port", str(embedded.port))
    embedded.wait_for_web()
    with nginx(tmp_path / "nginx", example(tmp_path / "nginx", behind=embedded.port, http=http, https=https), https):
        answer = WebClient(https, host="proofs.example", tls=True).get("/sign-in/")
    assert answer.status == 400
    assert "do not agree on their settings" in answer.text
    assert "127.0.0.1 passes requests on and is not named in ROUGHPROOF_TRUSTED_PROXY" in embedded.log_text()


# Proxies as people write them: with the usual headers, with one of them, and with none at all.
FORWARDS = {
    "the usual headers": "proxy_set_header X-Forwarded-For $remote_addr; proxy_set_header X-Forwarded-Proto http;",
    "x-real-ip": "proxy_set_header X-Real-IP $remote_addr; proxy_http_version 1.1;",
    "forwarded": 'proxy_set_header Forwarded "for=192.0.2.7"; proxy_http_version 1.1;',
    "via": 'proxy_set_header Via "1.1 front"; proxy_http_version 1.1;',
    "nothing": "",
}


def test_the_demos_sign_in_is_not_there_for_anything_that_came_through_a_proxy(tmp_path):
    from tests.portal.test_demo_command import links, serve_tiny_demo
    from tests.stacks import plain_environment

    stack = Stack(plain_environment(ROUGHPROOF_DATA=str(tmp_path / "data")), tmp_path / "log", port=free_port())
    try:
        serve_tiny_demo(stack)
        path = links(stack)["illustrator"].removeprefix(stack.address)
        assert WebClient(stack.port).get(path).status == 302, "it does sign in on this machine itself"
        for name, lines in FORWARDS.items():
            port = free_port()
            servers = f"server {{ listen 127.0.0.1:{port}; location / {{ {lines} proxy_pass {stack.address}; }} }}"
            with nginx(tmp_path / f"nginx-{port}", servers, port):
                answer = WebClient(port).get(path)
            assert answer.status == 404, name
            assert "roughproof_session" not in str(answer.headers), name
    finally:
        stack.stop()
