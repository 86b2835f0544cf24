"""What is wrong with a folder or a database is said at the start, in a sentence, by every process."""

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from tests.servers import ROOT
from tests.stacks import Stack

NEWER = "INSERT INTO django_migrations (app, name, applied) VALUES ('reviews', '9999_from_the_future', '2026-01-01')"
NEWEST_NOT_APPLIED = (
    "DELETE FROM django_migrations WHERE app = 'reviews' AND name = "
    "(SELECT MAX(name) FROM django_migrations WHERE app = 'reviews')"
)


def refused(stack: Stack, *arguments: str, words: str) -> None:
    done = stack.manage(*arguments, check=False, timeout=60)
    assert done.returncode == 1, done.stdout
    assert words in done.stderr
    assert "Traceback" not in done.stderr


def sqlite(stack: Stack, statement: str) -> None:
    database = sqlite3.connect(Path(stack.environment["ROUGHPROOF_DATA"]) / "roughproof.sqlite3")
    database.execute(statement)
    database.commit()
    database.close()


@pytest.mark.parametrize("arguments", [("serve", "--no-serve"), ("work", "--until-idle"), ("web", "--port", "0")])
def test_an_older_version_refuses_a_newer_database(embedded, arguments):
    sqlite(embedded, NEWER)
    refused(embedded, *arguments, words="written by a newer Roughproof: it has reviews.9999_from_the_future")


@pytest.mark.parametrize("arguments", [("work", "--until-idle"), ("web", "--port", "0")])
def test_missing_tables_are_refused(embedded, arguments):
    sqlite(embedded, NEWEST_NOT_APPLIED)
    refused(embedded, *arguments, words="still to be applied")


@pytest.mark.parametrize("arguments", [("serve", "--no-serve"), ("work", "--until-idle"), ("web", "--port", "0")])
def test_a_damaged_database_is_refused(embedded, arguments):
    path = Path(embedded.environment["ROUGHPROOF_DATA"]) / "roughproof.sqlite3"
    size = path.stat().st_size
    with path.open("r+b") as database:
        database.seek(size // 4)
        database.write(os.urandom(size // 2))
    refused(embedded, *arguments, words="is damaged")


@pytest.mark.parametrize("arguments", [("serve", "--no-serve"), ("work", "--until-idle")])
def test_what_is_no_database_is_refused(embedded, arguments):
    path = Path(embedded.environment["ROUGHPROOF_DATA"]) / "roughproof.sqlite3"
    path.write_bytes(b"this is a letter, not a database" * 200)
    refused(embedded, *arguments, words="is damaged")


def test_a_worker_without_a_folder_is_told_how_to_make_one(embedded, tmp_path):
    embedded.environment = {**embedded.environment, "ROUGHPROOF_DATA": str(tmp_path / "nowhere")}
    refused(embedded, "work", "--until-idle", words="There is no data folder")


def test_a_folder_that_cannot_be_written_is_refused_in_a_sentence(embedded):
    """Run by somebody without rights where the tests run as root, who has them all."""
    folder = Path(embedded.environment["ROUGHPROOF_DATA"])
    if os.geteuid() == 0:
        shown = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"]
        # The way to the folder is opened to everybody, the folder itself to nobody.
        for each in (folder, *folder.parents[:-1]):
            each.chmod(0o755)
    else:
        shown = []
        folder.chmod(0o555)
    for command in (["serve", "--no-serve"], ["work", "--until-idle"]):
        done = subprocess.run(
            [*shown, sys.executable, "manage.py", *command], cwd=ROOT, capture_output=True, text=True, timeout=60,
            env={**embedded.environment, "ROUGHPROOF_DATA": str(folder), "SECRET_KEY": "x" * 60,
                 "PYTHONDONTWRITEBYTECODE": "1"}, check=False,
        )  # fmt: skip
        assert done.returncode == 1, done.stdout
        assert "cannot" in done.stderr and "Traceback" not in done.stderr, done.stderr


def test_the_version_is_pyprojects(embedded):
    import tomllib

    told = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"]
    assert embedded.manage("version").stdout.strip() == told


@pytest.mark.servers
@pytest.mark.slow
def test_the_houses_processes_refuse_newer_tables_and_wait_for_missing_ones(house, postgres_url):
    house.environment = {**house.environment, "ROUGHPROOF_START_PATIENCE": "0"}
    import psycopg

    def sql(statement: str) -> None:
        with psycopg.connect(postgres_url, autocommit=True) as connection:
            connection.execute(statement)

    gunicorn = [sys.executable, "-m", "gunicorn", "portal.wsgi", "--bind", f"127.0.0.1:{house.port}"]
    celery = [sys.executable, "-m", "celery", "-A", "portal", "worker", "--pool", "solo"]
    sql(NEWEST_NOT_APPLIED)
    assert "still to be applied" in house.manage("sweep", check=False).stderr
    sql(NEWER)
    assert "newer Roughproof" in house.manage("sweep", check=False).stderr
    for command in (gunicorn, celery):
        done = subprocess.run(
            command, cwd=ROOT, env=house.environment, capture_output=True, text=True, timeout=60, check=False
        )
        assert done.returncode != 0
        assert "newer Roughproof" in done.stderr + done.stdout
