"""What each mode refuses and says at start, in a process of its own, as settings are read once per process."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.servers import ROOT, Bucket, MailCatcher
from tests.stacks import Stack, house_names, plain_environment

pytestmark = pytest.mark.slow

HOUSE_NEEDS = [
    "SECRET_KEY", "ALLOWED_HOSTS", "PUBLIC_ADDRESS", "DATABASE_URL", "REDIS_URL",
    "S3_BUCKET", "S3_ENDPOINT", "S3_ACCESS_KEY", "S3_SECRET_KEY", "SMTP_HOST", "MAIL_FROM",
]  # fmt: skip


def house_environment(**changes: str) -> dict[str, str]:
    names = house_names("postgres://u@db/x", Bucket("https://s3.example", "pictures"), MailCatcher(port=25))
    del names["ROUGHPROOF_HTTPS"]
    return {**names, "PUBLIC_ADDRESS": "https://proofs.example", **changes}


def run(environment: dict[str, str], *arguments: str) -> subprocess.CompletedProcess:
    return Stack(environment, Path(os.devnull)).manage(*arguments, check=False)


def test_house_mode_passes_the_deployment_check_without_a_word():
    done = run(house_environment(), "check", "--deploy", "--fail-level", "DEBUG")
    assert done.returncode == 0, done.stderr
    assert "no issues (0 silenced)" in done.stdout


@pytest.mark.parametrize("name", HOUSE_NEEDS)
def test_house_mode_does_not_start_without(name):
    environment = house_environment()
    del environment[name]
    done = run(environment, "check")
    assert done.returncode == 1
    assert done.stderr.startswith(f"Roughproof cannot start: {name} is not set.")
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("ROUGHPROOF_MODE", "huose", "must be one of embedded, house"),
        ("ROUGHPROOF_DEMO", "1", "open doors"),
        ("ROUGHPROOF_DEBUG", "1", "open doors"),
        ("ALLOWED_HOSTS", "*", "list the host names"),
        ("DATABASE_URL", "sqlite:///x", "must name a PostgreSQL database"),
        ("REDIS_URL", "amqp://x", "must begin with redis://"),
        ("PUBLIC_ADDRESS", "proofs.example", "write it as https://host"),
        ("MAIL_FROM", "Roughproof", "must be a mail address"),
        ("ROUGHPROOF_TIME_ZONE", "Middle/Earth", "Europe/London"),
        ("ROUGHPROOF_HTTPS", "perhaps", "1 for yes or 0 for no"),
    ],
)
def test_house_mode_refuses_nonsense(name, value, words):
    done = run(house_environment(**{name: value}), "check")
    assert done.returncode == 1
    assert words in done.stderr
    assert "Traceback" not in done.stderr


def test_house_secrets_may_come_from_files(tmp_path):
    environment = house_environment()
    (tmp_path / "key").write_text(environment.pop("SECRET_KEY"))
    done = run({**environment, "SECRET_KEY_FILE": str(tmp_path / "key")}, "check")
    assert done.returncode == 0, done.stderr


def test_embedded_mode_needs_nothing_and_makes_its_key_once(tmp_path):
    environment = plain_environment(ROUGHPROOF_DATA=str(tmp_path / "elsewhere"))
    data = tmp_path / "data"

    assert run(environment, "check").returncode == 0
    assert not (tmp_path / "elsewhere").exists(), "only serve and demo make a folder"
    assert run(environment, "serve", "--no-serve", "--data", str(data)).returncode == 0
    key = (data / "secret.key").read_text()
    assert run(environment, "serve", "--no-serve", f"--data={data}").returncode == 0

    assert len(key) >= 50
    assert (data / "secret.key").read_text() == key
    assert (data / "secret.key").stat().st_mode & 0o077 == 0
    assert not (tmp_path / "elsewhere").exists()


def test_data_folder_that_cannot_be_made_is_refused_in_words(tmp_path):
    (tmp_path / "file").write_text("")
    done = run(plain_environment(), "serve", "--no-serve", "--data", str(tmp_path / "file" / "data"))
    assert done.returncode == 1
    assert "Name another with --data DIR" in done.stderr
    assert "Traceback" not in done.stderr


def test_demo_answers_to_this_machine_only(tmp_path):
    environment = plain_environment(ROUGHPROOF_DATA=str(tmp_path), ROUGHPROOF_DEMO="1", ALLOWED_HOSTS="proofs.example")
    done = run(environment, "check")
    assert done.returncode == 1
    assert "this machine only" in done.stderr


def test_https_without_a_proxy_in_front_of_serve_is_refused_in_words(tmp_path):
    done = run(plain_environment(ROUGHPROOF_DATA=str(tmp_path), ROUGHPROOF_HTTPS="1"), "check")
    assert done.returncode == 1
    assert "set ROUGHPROOF_BEHIND_PROXY=1 too" in done.stderr


def test_embedded_mode_never_loads_celery_or_pixels(tmp_path):
    done = subprocess.run(
        [sys.executable, "-c",
         "import sys, portal.wsgi; print([m for m in ('celery', 'cv2', 'pyvips', 'boto3') if m in sys.modules])"],
        env=plain_environment(ROUGHPROOF_DATA=str(tmp_path), SECRET_KEY="x" * 60), cwd=ROOT,
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stdout.strip() == "[]"
