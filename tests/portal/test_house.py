"""House mode on real servers: PostgreSQL, Redis, an S3 endpoint and a mail server of this machine."""

import json
import re
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator

import pytest

from tests.servers import ROOT, Bucket, MailCatcher, free_port, wait_until
from tests.stacks import Stack, house_names, own_database, start_house_web

pytestmark = [pytest.mark.servers, pytest.mark.slow]


@pytest.fixture(scope="module")
def house_web(tmp_path_factory: pytest.TempPathFactory, migrated_postgres: str, s3_endpoint: str) -> Iterator[Stack]:
    """Yield the house's web server alone, started once for the tests that only read its pages."""
    folder = tmp_path_factory.mktemp("house-web")
    with own_database(migrated_postgres) as url:
        environment = house_names(
            url, Bucket(s3_endpoint, "none"), MailCatcher(port=25),
            STATIC_ROOT=str(folder / "static"), ROUGHPROOF_DATA=str(folder / "data"),
        )  # fmt: skip
        stack = Stack(environment, folder / "log", port=free_port())
        try:
            start_house_web(stack)
            stack.wait_for_web()
            yield stack
        finally:
            stack.stop()


def fetch(address: str) -> tuple[dict[str, str], str]:
    """Return headers and text of a page, also of the friendly page that says that nothing is there."""
    try:
        answer = urllib.request.urlopen(address, timeout=20)
    except urllib.error.HTTPError as problem:
        answer = problem
    with answer:
        return dict(answer.headers), answer.read().decode()


def test_pages_and_their_static_files_come_named_by_content(house_web):
    headers, page = fetch(house_web.address + "/nothing-here/")
    assert headers["Content-Security-Policy"].count("'unsafe") == 0

    sheets = re.findall(r'<link rel="stylesheet" href="([^"]+)"', page)
    assert sheets
    for sheet in sheets:
        assert re.search(r"\.[0-9a-f]{12}\.css$", sheet), sheet
        headers, _ = fetch(house_web.address + sheet)
        assert "immutable" in headers["Cache-Control"]


def test_modules_import_their_neighbours_by_hashed_name(house_web):
    _, page = fetch(house_web.address + "/nothing-here/")
    scripts = re.findall(r'<script type="module" src="([^"]+)"', page)
    assert scripts
    for script in scripts:
        assert re.search(r"\.[0-9a-f]{12}\.js$", script), script
        _, source = fetch(house_web.address + script)
        for neighbour in re.findall(r'^import .*?from "([^"]+)"', source, re.MULTILINE):
            assert re.search(r"\.[0-9a-f]{12}\.js$", neighbour), f"{script} imports {neighbour}"


def test_pictures_lie_in_the_bucket(house, bucket):
    house.manage(
        "shell", "-c",
        "from django.core.files.base import ContentFile; from django.core.files.storage import default_storage as s;"
        "s.save('ab/abc', ContentFile(b'bits')); assert s.open('ab/abc').read() == b'bits'",
    )  # fmt: skip
    listed = bucket.client().list_objects_v2(Bucket=bucket.name)
    assert [row["Key"] for row in listed["Contents"]] == ["ab/abc"]


def test_mail_goes_out_by_smtp(house, mail_catcher):
    house.manage(
        "shell", "-c",
        "from django.core.mail import send_mail; send_mail('Round two', 'A letter waits.', None, ['j@a.example'])",
    )  # fmt: skip
    [mail] = mail_catcher.mails
    assert (mail["Subject"], mail["To"]) == ("Round two", "j@a.example")
    assert mail["From"] == "Roughproof <roughproof@house.example>"
    assert mail.get_content().strip() == "A letter waits."


def test_sweep_runs_once_and_reports(house):
    assert house.manage("sweep").stdout.strip() == "0 put back, 0 sent."


def test_embedded_commands_say_where_to_go_instead(house):
    for command, words in (("work", "Celery"), ("serve", "docker-compose.yml"), ("demo", "docker-compose.yml")):
        done = house.manage(command, check=False)
        assert done.returncode == 1
        assert words in done.stderr
        assert "Traceback" not in done.stderr


def test_work_asked_for_by_deeds_is_done_once_by_celery(house_stack, bucket, mail_catcher):
    """Deeds on PostgreSQL, ids through Redis, pictures in the bucket, an invitation by SMTP."""
    deeds(house_stack, "begin")

    def all_done() -> dict | None:
        found = json.loads(deeds(house_stack, "state"))
        return found if all(state == "done" for _, state in found["jobs"]) else None

    found = wait_until(all_done, seconds=90, what=f"all jobs done\n{house_stack.log_text()}")

    # After two in the morning the sweep also asks for the night's share of looking at what is stored.
    asked = sorted(kind for kind, _ in found["jobs"] if kind != "store-check")
    assert asked == ["invitation", "renditions", "renditions"]
    assert found["pictures"] == [["ready", 506, 256]] * 2
    keys = [row["Key"] for row in bucket.client().list_objects_v2(Bucket=bucket.name)["Contents"]]
    for sha256 in found["sha256"]:
        assert len([key for key in keys if sha256 in key]) >= 3, "the original, a preview and a thumb at least"
    [mail] = mail_catcher.mails
    assert "corvin@thimblereed.example" in mail["To"]
    assert house_stack.address in mail.get_body(("plain",)).get_content()


def deeds(stack, verb: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "tests.portal.house_deeds", verb],
        cwd=ROOT, env=stack.environment, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout
