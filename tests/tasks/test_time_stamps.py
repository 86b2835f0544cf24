"""Time stamps: asked of a service that the test runs, with certificates that openssl makes here."""

from __future__ import annotations

import subprocess
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest

from reviews import jobs
from reviews.models import Job, TimeStamp
from reviews.pages.wording.jobs import error_sentence
from reviews.pages.wording.ledger_faults import fault_words
from reviews.queries.time_stamps import check_stamps
from reviews.rules.codes import STAMPED
from reviews.tasks.runner import run_job
from tests.cast import gather
from tests.letter_scene import a_round
from tests.makers import a_book
from tests.models.test_ledger import tamper, verify
from tests.servers import program

pytestmark = pytest.mark.django_db

CONFIG = """
[tsa]
default_tsa = one
[one]
serial = {folder}/serial
crypto_device = builtin
signer_cert = {folder}/tsa.pem
signer_key = {folder}/tsa.key
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256
accuracy = secs:1
ess_cert_id_alg = sha256
[ext]
extendedKeyUsage = critical,timeStamping
basicConstraints = CA:FALSE
keyUsage = critical,digitalSignature
"""


def openssl(*words: str | Path) -> None:
    binary = program("openssl", package="openssl")
    subprocess.run([binary, *map(str, words)], check=True, capture_output=True, timeout=60)


def authority(folder: Path) -> Path:
    """Make a root and a service's certificate signed by it; returns the folder."""
    folder.mkdir()
    (folder / "tsa.cnf").write_text(CONFIG.format(folder=folder))
    (folder / "serial").write_text("01\n")
    root, key = folder / "root.pem", folder / "root.key"
    openssl("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", key, "-out", root, "-days", "30",
            "-subj", "/CN=A root of this test")  # fmt: skip
    openssl("req", "-newkey", "rsa:2048", "-nodes", "-keyout", folder / "tsa.key", "-out", folder / "tsa.csr",
            "-subj", "/CN=A time of this test")  # fmt: skip
    openssl("x509", "-req", "-in", folder / "tsa.csr", "-CA", root, "-CAkey", key, "-set_serial", "2", "-days", "30",
            "-extfile", folder / "tsa.cnf", "-extensions", "ext", "-out", folder / "tsa.pem")  # fmt: skip
    return folder


@pytest.fixture(scope="session")
def authorities(tmp_path_factory) -> tuple[Path, Path]:
    base = tmp_path_factory.mktemp("authorities")
    return authority(base / "ours"), authority(base / "anothers")


@pytest.fixture
def service(authorities, settings):
    """Run the service on a free port; ``service.folder`` says whose, ``service.is_away`` that it does not answer."""

    class Answering(BaseHTTPRequestHandler):
        def do_POST(self):
            if server.is_away:
                self.send_error(503)
                return
            if server.sends_to:
                self.send_response(server.how)
                self.send_header("Location", server.sends_to)
                self.end_headers()
                return
            query = server.folder / "query.tsq"
            query.write_bytes(self.rfile.read(int(self.headers["Content-Length"])))
            openssl("ts", "-reply", "-config", server.folder / "tsa.cnf", "-section", "one", "-queryfile", query,
                    "-out", server.folder / "reply.tsr")  # fmt: skip
            self.send_response(200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.end_headers()
            self.wfile.write((server.folder / "reply.tsr").read_bytes())

        def do_GET(self):
            server.fetched.append(self.path)
            self.send_error(404)

        def log_message(self, *words):
            pass

    server = HTTPServer(("127.0.0.1", 0), Answering)
    server.folder, server.is_away, server.sends_to, server.fetched = authorities[0], False, "", []
    threading.Thread(target=server.serve_forever, daemon=True).start()
    settings.TIMESTAMP_URL = f"http://127.0.0.1:{server.server_port}/"
    settings.TIMESTAMP_ROOTS = str(authorities[0] / "root.pem")
    yield server
    server.shutdown()
    server.server_close()


@pytest.fixture
def cast(service):
    cast = gather(a_book())
    a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    return cast


def stamp_all() -> None:
    for job in Job.objects.filter(kind=jobs.TIME_STAMP):
        run_job(job.pk)


def test_what_may_have_to_be_proved_is_stamped_and_the_stamps_verify(cast):
    wanted = cast.book.entries.filter(deed__in=STAMPED)
    assert check_stamps(cast.book).n_waiting == wanted.count() == 2
    stamp_all()
    assert {stamp.entry.deed for stamp in TimeStamp.objects.all()} == {"hand-in", "send-letter"}
    check = check_stamps(cast.book)
    assert (check.n_checked, check.n_waiting, check.n_untold, check.faults) == (2, 0, 0, [])
    assert "Time stamps: 2 looked at, 0 lines still wait" in verify(str(cast.book.pk))[1]


def test_a_stamp_verifies_with_openssl_alone(cast, authorities, tmp_path):
    stamp_all()
    stamp = TimeStamp.objects.first()
    (tmp_path / "1.txt").write_text(stamp.entry.sha256)
    (tmp_path / "1.tsr").write_bytes(bytes(stamp.answer))
    words = ("ts", "-verify", "-data", tmp_path / "1.txt", "-in", tmp_path / "1.tsr", "-CAfile")
    openssl(*words, authorities[0] / "root.pem")
    with pytest.raises(subprocess.CalledProcessError):
        openssl(*words, authorities[1] / "root.pem")


def test_an_entry_written_anew_loses_its_stamp(cast):
    stamp_all()
    entry = TimeStamp.objects.last().entry
    tamper("UPDATE reviews_ledgerentry SET sha256 = %s WHERE id = %s", "ab" * 32, entry.pk)
    assert [fault_words(fault) for fault in check_stamps(cast.book).faults] == [
        f"The time stamp of entry {entry.seq} does not hold: Mismatch between messages."
    ]
    assert verify(str(cast.book.pk))[0] == 1


def test_a_stamp_that_no_trusted_root_vouches_for_is_not_kept(cast, service, authorities):
    service.folder = authorities[1]
    stamp_all()
    assert not TimeStamp.objects.exists()
    assert set(Job.objects.filter(kind=jobs.TIME_STAMP).values_list("state", flat=True)) == {"queued"}


def test_a_service_that_is_away_is_asked_again_and_holds_up_nothing(cast, service):
    service.is_away = True
    stamp_all()
    assert not TimeStamp.objects.exists()
    service.is_away = False
    Job.objects.filter(kind=jobs.TIME_STAMP).update(run_after="2026-01-01T00:00:00Z")
    stamp_all()
    assert TimeStamp.objects.count() == 2


@pytest.mark.parametrize("how", [301, 302, 303, 307, 308])
def test_a_service_that_sends_us_elsewhere_is_not_followed_and_not_asked_again(cast, service, settings, how):
    """An answer from outside may not choose which address this machine asks, on its own network least of all."""
    service.how, service.sends_to = how, f"{settings.TIMESTAMP_URL}inside"
    stamp_all()
    assert service.fetched == []
    assert not TimeStamp.objects.exists()
    given_up = Job.objects.filter(kind=jobs.TIME_STAMP)
    assert {job.state for job in given_up} == {"failed"}
    assert {error_sentence(job.error) for job in given_up} == {
        "The time stamp service sends its callers elsewhere; name the place itself as TIMESTAMP_URL."
    }


def test_without_roots_the_stamps_are_said_not_to_be_looked_at(cast, settings):
    stamp_all()
    settings.TIMESTAMP_URL = settings.TIMESTAMP_ROOTS = ""
    said = verify(str(cast.book.pk), "--files")[1]
    assert "Not looked at: 2 time stamps" in said and "whole and in order" not in said


@pytest.mark.parametrize("url", [""])
def test_where_no_service_is_configured_nothing_is_asked(settings, url):
    settings.TIMESTAMP_URL = url
    cast = gather(a_book())
    a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    assert not Job.objects.filter(kind=jobs.TIME_STAMP).exists()
