"""The data folder is its owner's alone, whatever it was before, and the house does not start with a short key."""

import os
import shutil
import stat
from pathlib import Path

import pytest

from tests.portal.test_modes import house_environment, run
from tests.servers import free_port
from tests.stacks import Stack, plain_environment


def modes(folder) -> dict[str, int]:
    """Give the mode of the folder and of everything in it, by path."""
    found = {".": stat.S_IMODE(folder.stat().st_mode)}
    for base, folders, files in os.walk(folder):
        for name in folders + files:
            path = Path(base, name)
            found[path.relative_to(folder).as_posix()] = stat.S_IMODE(path.lstat().st_mode)
    return found


def test_what_stood_open_is_shut_at_the_start(tmp_path, prepared_folder):
    data = tmp_path / "data"
    shutil.copytree(prepared_folder, data)
    picture = data / "pictures" / "originals" / "ab" / "abc"
    picture.parent.mkdir(parents=True)
    picture.write_bytes(b"picture")
    (data / "mail" / "letter.log").write_text("a link")
    (data / "diary.txt").write_text("not ours")
    (data / "mail" / "elsewhere").symlink_to(tmp_path / "outside")
    (tmp_path / "outside").write_text("not in the folder")
    for base, _, files in os.walk(data):
        Path(base).chmod(0o755)
        for name in set(files) - {"elsewhere"}:
            Path(base, name).chmod(0o644)
    (tmp_path / "outside").chmod(0o644)

    assert run(plain_environment(ROUGHPROOF_DATA=str(data)), "serve", "--no-serve").returncode == 0

    found = modes(data)
    assert found.pop("diary.txt") == 0o644
    found.pop("mail/elsewhere")
    assert stat.S_IMODE((tmp_path / "outside").stat().st_mode) == 0o644
    assert "roughproof.sqlite3" in found
    assert {path: oct(mode) for path, mode in found.items() if mode & 0o077} == {}
    assert found["pictures/originals/ab/abc"] == 0o600
    assert found["pictures/originals/ab"] == 0o700


@pytest.mark.slow
def test_what_is_written_later_is_shut_too_although_the_shell_would_leave_it_open(tmp_path):
    data = tmp_path / "data"
    data.mkdir(mode=0o755)
    stack = Stack(plain_environment(ROUGHPROOF_DATA=str(data)), tmp_path / "log", port=free_port())
    before = os.umask(0o022)
    try:
        stack.start_manage("serve", "serve", "--port", str(stack.port))
        stack.wait_for_web()
        found = modes(data)
    finally:
        os.umask(before)
        stack.stop()
    assert {"roughproof.sqlite3", "roughproof.sqlite3-wal", "serve.lock", "secret.key"} <= set(found)
    assert {path: oct(mode) for path, mode in found.items() if mode & 0o077} == {}


def test_a_folder_that_belongs_to_everybody_is_refused_in_words(tmp_path):
    shared = tmp_path / "shared"
    shared.mkdir()
    shared.chmod(0o1777)
    done = run(plain_environment(), "serve", "--no-serve", "--data", str(shared))
    assert done.returncode == 1
    assert "belongs to everybody on this machine" in done.stderr
    assert stat.S_IMODE(shared.stat().st_mode) == 0o1777


@pytest.mark.parametrize(("n", "starts"), [(1, False), (49, False), (50, True)])
def test_a_short_key_does_not_start_the_house(n, starts):
    done = run(house_environment(SECRET_KEY="k9" * 24 + "x" * (n - 48) if n >= 48 else "x"), "check")
    assert (done.returncode == 0) is starts, done.stderr
    if not starts:
        assert "it needs at least 50" in done.stderr
        assert "Traceback" not in done.stderr
