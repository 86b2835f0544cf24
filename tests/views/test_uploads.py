"""Files on their way in, through a real request parser."""

import hashlib
import io
import tracemalloc
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.handlers.wsgi import WSGIRequest
from django.test import RequestFactory

from reviews.pages.wording.refusals import sentence_for

BOUNDARY = "a-line-that-no-picture-has"


@pytest.fixture
def receive():
    """Let a request carry files, and return them as a view finds them."""
    requests = []

    def send(*files: SimpleUploadedFile) -> list:
        requests.append(RequestFactory().post("/", {"pictures": list(files)}))
        return requests[-1].FILES.getlist("pictures")

    yield send
    for request in requests:
        request.close()


def test_hash_and_bytes_are_those_of_the_file(receive):
    content = bytes(range(256)) * 1000
    [kept] = receive(SimpleUploadedFile("fox.png", content))
    assert kept.sha256 == hashlib.sha256(content).hexdigest()
    assert kept.size == len(content)
    assert Path(kept.temporary_file_path()).read_bytes() == content
    assert kept.refusal is None


def test_file_over_the_limit_is_refused_in_words_and_the_others_are_kept(receive, settings):
    settings.MAX_PICTURE_BYTES = 1024 * 1024
    small, big, last = receive(
        SimpleUploadedFile("a.png", b"a"),
        SimpleUploadedFile("huge.tif", b"x" * (3 * 1024 * 1024)),
        SimpleUploadedFile("b.png", b"b"),
    )
    assert (small.refusal, last.refusal) == (None, None)
    assert small.sha256 == hashlib.sha256(b"a").hexdigest()
    assert last.sha256 == hashlib.sha256(b"b").hexdigest()
    assert sentence_for(big.refusal).startswith("“huge.tif” is 3 MB; one file may have 1 MB here.")
    assert Path(big.temporary_file_path()).stat().st_size == 0


def test_file_of_just_the_limit_is_kept(receive, settings):
    settings.MAX_PICTURE_BYTES = 1024 * 1024
    [kept] = receive(SimpleUploadedFile("a.tif", b"x" * 1024 * 1024))
    assert kept.refusal is None


def test_empty_file_is_refused_in_words(receive):
    [empty] = receive(SimpleUploadedFile("empty.png", b""))
    assert sentence_for(empty.refusal).startswith("“empty.png” is empty.")


class _LongBody(io.RawIOBase):
    """A request body that is made while it is read."""

    def readable(self) -> bool:
        return True

    def __init__(self, n_bytes: int) -> None:
        self.head = (
            f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="pictures"; filename="big.tif"\r\n'
            "Content-Type: image/tiff\r\n\r\n"
        ).encode()
        self.tail = f"\r\n--{BOUNDARY}--\r\n".encode()
        self.n_left = n_bytes
        self.n_all = len(self.head) + n_bytes + len(self.tail)

    def read(self, n_wanted: int = -1) -> bytes:
        for part in ("head", "tail"):
            if part == "tail" and self.n_left:
                piece = b"\x00" * min(n_wanted, self.n_left, 65536)
                self.n_left -= len(piece)
                return piece
            if ready := getattr(self, part):
                setattr(self, part, ready[n_wanted:])
                return ready[:n_wanted]
        return b""


@pytest.mark.slow
def test_half_a_gigabyte_passes_without_being_held_in_memory():
    n_bytes = 500 * 1024 * 1024
    body = _LongBody(n_bytes)
    request = WSGIRequest(
        {
            "REQUEST_METHOD": "POST", "PATH_INFO": "/", "SERVER_NAME": "testserver", "SERVER_PORT": "80",
            "CONTENT_TYPE": f"multipart/form-data; boundary={BOUNDARY}", "CONTENT_LENGTH": str(body.n_all),
            "wsgi.input": body, "wsgi.url_scheme": "http",
        }
    )  # fmt: skip
    tracemalloc.start()
    try:
        kept = request.FILES["pictures"]
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert kept.size == n_bytes
    assert kept.refusal is None
    assert peak < 5 * 1024 * 1024
    request.close()
