"""A browser that is lent again holds nothing of who had it before."""

from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from typing import Any

import pytest

pytestmark = pytest.mark.browser

PAGE = b"<!doctype html><link rel=icon href=data:,><img src=/kept.svg><p>Here.</p>"
DRAWING = b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>'


@pytest.fixture
def server() -> Iterator[Any]:
    """Yield a server whose picture may be kept for an hour: `server.asked` counts who came for it, with what cookie."""

    class Answer(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_GET(self) -> None:
            is_picture = self.path == "/kept.svg"
            if is_picture:
                self.server.asked.append(self.headers["Cookie"])
            self.send_response(200)
            self.send_header("Content-Type", "image/svg+xml" if is_picture else "text/html")
            self.send_header("Cache-Control", "private, max-age=3600" if is_picture else "no-store")
            body = DRAWING if is_picture else PAGE
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Answer) as server:
        server.daemon_threads, server.asked = True, []
        server.address = f"http://127.0.0.1:{server.server_address[1]}"
        thread = Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield server
        server.shutdown()
        thread.join()


LEFT = "() => { localStorage.words = 'mine'; sessionStorage.words = 'mine'; document.cookie = 'who=me'; }"
FOUND = "() => [localStorage.words ?? '', sessionStorage.words ?? '', document.cookie, navigator.onLine, innerWidth]"


def test_nothing_is_left_for_the_next(lending, server):
    first = lending.lend(server.address, viewport={"width": 820, "height": 700})
    first.goto(server.address)
    first.evaluate(LEFT)
    first.goto(server.address)
    assert first.evaluate(FOUND) == ["mine", "mine", "who=me", True, 820]
    assert server.asked == [None], "it kept the picture, as it may"
    first.context.new_page().goto(server.address)
    first.context.route("**/*", lambda route: route.abort())
    first.context.set_offline(True)
    lending.take_back(first.context)

    second = lending.lend(server.address)
    assert second.context is first.context, "the same browser, or nothing is shown here"
    second.goto(server.address)
    assert second.evaluate(FOUND) == ["", "", "", True, 1440]
    assert server.asked == [None, None], "what was fetched for one is fetched again for the next"
    lending.take_back(second.context)


def test_two_at_once_have_two_and_another_kind_has_its_own(lending, server):
    one, two = (lending.lend(server.address) for _ in range(2))
    touched = lending.lend(server.address, has_touch=True)
    assert len({page.context for page in (one, two, touched)}) == 3
    touched.goto(server.address)
    assert touched.evaluate("navigator.maxTouchPoints") > 0
    for page in (one, two, touched):
        lending.take_back(page.context)
