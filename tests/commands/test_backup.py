"""Back up while people work, put it back into an empty installation, and compare everything: both modes."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
import sys
import tarfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.servers import ROOT, Bucket, free_port, run_sql
from tests.stacks import Stack, house_names, plain_environment

pytestmark = pytest.mark.slow


def things(stack: Stack, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "tests.commands.kept_things", *words],
        cwd=ROOT, env=stack.environment, capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def dump(stack: Stack) -> dict:
    return json.loads(things(stack, "dump"))


def rewritten(backup: Path, target: Path, change) -> Path:
    """Write a backup anew with each member's (name, bytes) put through `change`; None leaves it out."""
    with tarfile.open(backup) as old, tarfile.open(target, "w") as new:
        for info in old.getmembers():
            data = change(info.name, old.extractfile(info).read())
            if data is not None:
                info.size = len(data)
                new.addfile(info, io.BytesIO(data))
    return target


def elsewhere(tmp_path: Path, name: str = "elsewhere") -> Stack:
    """An embedded installation that does not exist yet."""
    return Stack(plain_environment(ROUGHPROOF_DATA=str(tmp_path / name)), tmp_path / "log")


def data_of(stack: Stack) -> Path:
    return Path(stack.environment["ROUGHPROOF_DATA"])


@pytest.fixture(scope="module")
def filled_once(tmp_path_factory: pytest.TempPathFactory, prepared_folder: Path) -> Path:
    """Return a folder with a filled installation and a backup of it, made once: `data` and `b.tar`."""
    folder = tmp_path_factory.mktemp("filled")
    shutil.copytree(prepared_folder, folder / "data")
    stack = Stack(plain_environment(ROUGHPROOF_DATA=str(folder / "data")), folder / "log")
    things(stack, "begin")
    stack.manage("backup", str(folder / "b.tar"))
    return folder


@pytest.fixture
def filled(filled_once: Path, embedded: Stack) -> Stack:
    """Return a filled installation of its own, nothing running."""
    shutil.rmtree(data_of(embedded))
    shutil.copytree(filled_once / "data", data_of(embedded))
    return embedded


@pytest.fixture
def backup(filled_once: Path) -> Path:
    """Return a good backup, to be read only."""
    return filled_once / "b.tar"


def test_everything_of_the_embedded_mode_comes_back_as_it_was(filled, tmp_path):
    before = dump(filled)
    assert len(before["files"]) >= 13 and before["faults"] == before["lost"] == []
    said = filled.manage("backup", str(tmp_path / "b.tar"), "--data", str(data_of(filled))).stdout
    assert "the database and" in said and "secret key is in it" in said
    assert (tmp_path / "b.tar").stat().st_mode & 0o777 == 0o600

    other = elsewhere(tmp_path)
    said = other.manage("restore", str(tmp_path / "b.tar"), "--data", str(data_of(other))).stdout
    assert "are back" in said
    assert dump(other) == before
    assert (data_of(other) / "secret.key").read_bytes() == (data_of(filled) / "secret.key").read_bytes()
    assert (data_of(other) / "secret.key").stat().st_mode & 0o777 == 0o600
    mails = {path.name: path.read_bytes() for path in (data_of(filled) / "mail").iterdir()}
    assert mails and {path.name: path.read_bytes() for path in (data_of(other) / "mail").iterdir()} == mails
    assert "whole and in order" in other.manage("verify_ledger", "--files").stdout
    assert "3 originals" in other.manage("verify_pictures").stdout
    assert [path.name for path in data_of(other).iterdir() if path.name.startswith(".")] == [".gitignore"]
    # It serves, and works on: the sequences go on where they were.
    things(other, "go-on", "1")
    assert dump(other)["faults"] == []


def test_a_backup_made_while_people_work_is_of_one_moment(filled, tmp_path):
    busy = subprocess.Popen(
        [sys.executable, "-m", "tests.commands.kept_things", "go-on", "90"],
        cwd=ROOT, env=filled.environment, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert busy.stdout.readline() == "going on\n"
        filled.manage("backup", str(tmp_path / "b.tar"))
        assert busy.poll() is None, "the work was over before the backup, so this proved nothing"
    finally:
        busy.communicate(timeout=120)
    other = elsewhere(tmp_path)
    other.manage("restore", str(tmp_path / "b.tar"))
    found, now = dump(other), dump(filled)
    assert found["faults"] == found["lost"] == []
    n_found, n_now = len(found["rows"]["reviews_picture"]), len(now["rows"]["reviews_picture"])
    assert 3 <= n_found < n_now == 93
    assert found["rows"]["reviews_picture"][:n_found] == now["rows"]["reviews_picture"][:n_found]


def test_a_backup_is_put_back_into_an_empty_installation_only(filled, backup, tmp_path):
    before = dump(filled)
    refused = filled.manage("restore", str(backup), check=False)
    assert refused.returncode == 1 and "holds accounts or books already" in refused.stderr
    assert "Traceback" not in refused.stderr and dump(filled) == before
    with_files = elsewhere(tmp_path, "with files")
    (data_of(with_files) / "pictures" / "originals").mkdir(parents=True)
    (data_of(with_files) / "pictures" / "originals" / "mine.tif").write_bytes(b"mine")
    refused = with_files.manage("restore", str(backup), check=False)
    assert refused.returncode == 1 and "stored files here already (originals/mine.tif)" in refused.stderr
    again = filled.manage("backup", str(backup), check=False)
    assert again.returncode == 1 and "never replaces another" in again.stderr
    nothing = elsewhere(tmp_path, "nothing").manage("backup", str(tmp_path / "c.tar"), check=False)
    assert nothing.returncode == 1 and "holds no Roughproof" in nothing.stderr
    assert not (tmp_path / "nothing").exists()


def test_a_folder_that_is_being_served_takes_no_backup(backup, tmp_path):
    served = elsewhere(tmp_path, "served")
    served.port = free_port()
    served.start_manage("serve", "serve", "--port", str(served.port))
    try:
        served.wait_for_web()
        refused = served.manage("restore", str(backup), check=False)
        assert refused.returncode == 1 and "is in use. Stop Roughproof there" in refused.stderr
    finally:
        served.stop()


def flipped(wanted: str):
    """Change one byte of the first member whose name holds this."""
    done = []

    def change(name: str, data: bytes) -> bytes:
        if wanted in name and not done:
            done.append(name)
            return data[:-9] + bytes([data[-9] ^ 1]) + data[-8:]
        return data

    return change


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (flipped("originals/"), "is not what its name says"),
        (flipped("thumb.jpg"), "is not as it was when the backup was made"),
        (flipped("database.sqlite3"), "is not as it was when the backup was made"),
        (flipped("secret.key"), "is not as it was when the backup was made"),
        (lambda name, data: None if "papers/" in name else data, "is not as it was when the backup was made"),
        (lambda name, data: None if name == "contents.sha256" else data, "cut short"),
        (lambda name, data: None if name == "backup.json" else data, "does not begin as a backup"),
    ],
    ids=["original", "rendition", "database", "key", "left out", "end missing", "beginning missing"],
)
def test_a_backup_in_which_anything_changed_is_not_put_back(backup, tmp_path, change, words):
    bad = rewritten(backup, tmp_path / "bad.tar", change)
    other = elsewhere(tmp_path)
    refused = other.manage("restore", str(bad), check=False)
    assert refused.returncode == 1 and words in refused.stderr and "Traceback" not in refused.stderr
    assert [path for path in (data_of(other) / "pictures").rglob("*") if path.is_file()] == []
    assert not any((data_of(other) / "mail").iterdir())


def test_after_a_refusal_the_folder_is_as_empty_as_it_was_and_takes_a_good_one(backup, tmp_path):
    other = elsewhere(tmp_path)
    bad = rewritten(backup, tmp_path / "bad.tar", flipped("pyramid.zip"))
    assert other.manage("restore", str(bad), check=False).returncode == 1
    other.manage("restore", str(backup))
    assert dump(other)["faults"] == []


def test_a_file_that_is_no_backup_or_only_half_of_one_is_refused_in_words(backup, tmp_path):
    whole = backup.read_bytes()
    other = elsewhere(tmp_path)
    for name, data in {"noise": b"not a tar at all" * 90, "empty": b"", "half": whole[: len(whole) // 2 + 100]}.items():
        (tmp_path / name).write_bytes(data)
        refused = other.manage("restore", str(tmp_path / name), check=False)
        assert refused.returncode == 1 and "was not put back" in refused.stderr and "Traceback" not in refused.stderr
    absent = other.manage("restore", str(tmp_path / "absent"), check=False)
    assert absent.returncode == 2 and "No such file" in absent.stderr


def test_a_name_that_leads_out_of_the_folder_is_refused(backup, tmp_path):
    with tarfile.open(backup) as old, tarfile.open(tmp_path / "bad.tar", "w") as new:
        new.addfile(old.getmember("backup.json"), old.extractfile("backup.json"))
        info = tarfile.TarInfo("pictures/../../out")
        info.size = 3
        new.addfile(info, io.BytesIO(b"out"))
    refused = elsewhere(tmp_path).manage("restore", str(tmp_path / "bad.tar"), check=False)
    assert refused.returncode == 1 and "which no backup has" in refused.stderr
    assert not (tmp_path / "out").exists()


def test_a_backup_of_a_newer_version_is_refused(backup, tmp_path):
    def newer(name: str, data: bytes) -> bytes:
        if name != "backup.json":
            return data
        head = json.loads(data)
        head["migrations"].append(["reviews", "9999_later"])
        return json.dumps(head).encode()

    bad = rewritten(backup, tmp_path / "bad.tar", newer)
    refused = elsewhere(tmp_path).manage("restore", str(bad), check=False)
    assert refused.returncode == 1 and "made by a newer Roughproof (9999_later)" in refused.stderr


def test_what_is_missing_or_wrong_in_the_store_is_said_when_the_backup_is_made(filled, tmp_path):
    originals = sorted((data_of(filled) / "pictures" / "originals").rglob("*/*"))
    originals[0].unlink()
    originals[1].write_bytes(b"FORGED")
    made = filled.manage("backup", str(tmp_path / "b.tar"), check=False)
    assert made.returncode == 1
    assert f"{originals[0].name} is missing, though a picture names it" in made.stderr
    assert f"{originals[1].name} is not what its name says" in made.stderr
    assert "The backup holds everything else" in made.stderr and (tmp_path / "b.tar").exists()


# --- House -----------------------------------------------------------------------------------------------


@pytest.fixture
def empty_house(tmp_path, postgres_server, s3_endpoint, mail_catcher) -> Iterator[Stack]:
    """A house with an empty bucket and a database without tables."""
    name = f"restored_{tmp_path.name}".lower().replace("-", "_")[:60]
    bucket = Bucket(s3_endpoint, f"restored-{abs(hash(tmp_path))}")
    bucket.client().create_bucket(Bucket=bucket.name)
    run_sql(postgres_server, f"CREATE DATABASE {name}")
    environment = house_names(
        f"{postgres_server}/{name}", bucket, mail_catcher, ROUGHPROOF_SCRATCH=str(tmp_path / "scratch")
    )
    yield Stack({**environment, "SECRET_KEY": "another-key-" + "0123456789" * 5}, tmp_path / "log-of-empty")
    run_sql(postgres_server, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.mark.servers
def test_everything_of_the_house_comes_back_as_it_was(house, empty_house, tmp_path):
    things(house, "begin")
    before = dump(house)
    assert len(before["files"]) >= 13 and before["faults"] == before["lost"] == []
    said = house.manage("backup", str(tmp_path / "b.tar")).stdout
    assert "SECRET_KEY is not in it" in said
    said = empty_house.manage("restore", str(tmp_path / "b.tar")).stdout
    assert "are back" in said and "SECRET_KEY is another" in said
    assert dump(empty_house) == before
    assert "3 originals" in empty_house.manage("verify_pictures").stdout
    things(empty_house, "go-on", "1")  # the sequences go on where they were
    assert dump(empty_house)["faults"] == []
    refused = empty_house.manage("restore", str(tmp_path / "b.tar"), check=False)
    assert refused.returncode == 1 and "holds accounts or books already" in refused.stderr


@pytest.mark.servers
def test_a_house_backup_made_while_people_work_is_of_one_moment(house, empty_house, tmp_path):
    things(house, "begin")
    busy = subprocess.Popen(
        [sys.executable, "-m", "tests.commands.kept_things", "go-on", "90"],
        cwd=ROOT, env=house.environment, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert busy.stdout.readline() == "going on\n"
        house.manage("backup", str(tmp_path / "b.tar"))
        assert busy.poll() is None, "the work was over before the backup, so this proved nothing"
    finally:
        busy.communicate(timeout=120)
    empty_house.manage("restore", str(tmp_path / "b.tar"))
    found = dump(empty_house)
    assert found["faults"] == found["lost"] == []
    assert 3 <= len(found["rows"]["reviews_picture"]) < 93


@pytest.mark.servers
def test_a_bad_backup_leaves_the_house_empty_and_another_mode_is_refused(house, empty_house, backup, tmp_path):
    things(house, "begin")
    house.manage("backup", str(tmp_path / "b.tar"))
    bad = rewritten(tmp_path / "b.tar", tmp_path / "bad.tar", flipped("thumb.jpg"))
    refused = empty_house.manage("restore", str(bad), check=False)
    assert refused.returncode == 1 and "is not as it was" in refused.stderr
    refused = empty_house.manage("restore", str(backup), check=False)
    assert refused.returncode == 1 and "goes back into the same mode" in refused.stderr
    empty_house.manage("restore", str(tmp_path / "b.tar"))
    assert dump(empty_house)["faults"] == []
