"""What a power cut would leave: every write, flush and rename is recorded, and what was not flushed is dropped."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile, TemporaryUploadedFile
from django.core.mail import EmailMessage
from django.test import override_settings

from portal.mail_files import EmailBackend
from reviews import storage
from reviews.durable import write_durably

DATA = bytes(range(256)) * 40
SHA256 = hashlib.sha256(DATA).hexdigest()


class Disk:
    """What is on the disk for certain: the bytes of files flushed by now, and the names in folders flushed by now.

    The harshest disk the standard allows: nothing is written down unless it was asked for. Files are followed by
    their number, so a rename carries the bytes along and only the name has to be flushed.
    """

    def __init__(self, root: Path) -> None:
        self.root = root
        self.bytes: dict[int, bytes] = {}
        self.names: dict[Path, dict[str, int]] = {root: {}}

    def flushed(self, path: Path) -> None:
        if path.is_dir():
            self.names[path] = {each.name: each.stat().st_ino for each in path.iterdir()}
        else:
            self.bytes[path.stat().st_ino] = path.read_bytes()

    def after_the_cut(self, path: Path) -> bytes | None:
        """Return the bytes found under a path once the power is back; none where the name is not there."""
        folder = self.root
        for name in path.relative_to(self.root).parts[:-1]:
            if name not in self.names.get(folder, {}):
                return None
            folder = folder / name
        number = self.names.get(folder, {}).get(path.name)
        return None if number is None else self.bytes.get(number, b"")


@pytest.fixture
def disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Disk]:
    root = tmp_path / "kept"
    root.mkdir()
    (root / "incoming").mkdir()
    disk = Disk(root)
    disk.flushed(root)
    real = os.fsync

    def fsync(descriptor: int) -> None:
        real(descriptor)
        disk.flushed(Path(f"/proc/self/fd/{descriptor}").readlink())

    monkeypatch.setattr(os, "fsync", fsync)
    backend = {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": root}}
    static = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    with override_settings(
        STORAGES={"default": backend, "staticfiles": static}, FILE_UPLOAD_TEMP_DIR=str(root / "incoming")
    ):
        yield disk


def an_upload() -> TemporaryUploadedFile:
    file = TemporaryUploadedFile("owl.tif", "image/tiff", len(DATA), None)
    file.write(DATA)
    file.flush()
    file.seek(0)
    return file


def test_the_disk_of_this_test_loses_what_was_not_flushed(disk: Disk) -> None:
    named, written = disk.root / "named", disk.root / "written"
    for path in (named, written):
        path.write_bytes(DATA)
    disk.flushed(disk.root)
    assert (disk.after_the_cut(named), disk.after_the_cut(disk.root / "other")) == (b"", None)
    disk.flushed(written)
    assert disk.after_the_cut(written) == DATA


@pytest.mark.parametrize("kind", ["moved", "copied", "in memory"])
def test_an_original_is_on_the_disk_when_it_is_kept(disk: Disk, tmp_path: Path, kind: str) -> None:
    own = tmp_path / "own.tif"
    own.write_bytes(DATA)
    file = {"moved": an_upload, "copied": lambda: own, "in memory": lambda: SimpleUploadedFile("a", DATA)}[kind]()
    name = storage.keep_original(file, SHA256)
    assert disk.after_the_cut(disk.root / name) == DATA
    if kind == "moved":
        file.close()


def test_an_original_that_another_process_just_named_is_flushed_before_it_is_trusted(disk: Disk) -> None:
    there = disk.root / storage.original_name(SHA256)
    there.parent.mkdir(parents=True)
    for folder in (disk.root, disk.root / "originals"):
        disk.flushed(folder)
    there.write_bytes(DATA)
    storage.keep_original(SimpleUploadedFile("a", DATA), SHA256)
    assert disk.after_the_cut(there) == DATA


def test_renditions_and_papers_are_on_the_disk_when_they_are_kept(disk: Disk, tmp_path: Path) -> None:
    made = disk.root / "incoming" / "made"
    made.mkdir()
    for each in storage.RENDITION_NAMES:
        (made / each).write_bytes(each.encode())
    for name in storage.keep_renditions(SHA256, made):
        assert disk.after_the_cut(disk.root / name) == Path(name).name.encode()
    assert disk.after_the_cut(disk.root / storage.keep_paper(b"%PDF- a letter")) == b"%PDF- a letter"


def test_a_mail_is_on_the_disk_before_its_row_says_that_it_was_sent(disk: Disk) -> None:
    folder = disk.root / "mail"
    folder.mkdir()
    disk.flushed(disk.root)
    message = EmailMessage("Letter 3", "Pages 4–5", "a@b.example", ["j@c.example"])
    EmailBackend(file_path=str(folder)).send_messages([message])
    [mail] = folder.iterdir()
    assert b"Letter 3" in (disk.after_the_cut(mail) or b"")


def test_a_small_file_written_durably_is_there_whole(disk: Disk) -> None:
    write_durably(disk.root / "secret.key", b"a key")
    assert disk.after_the_cut(disk.root / "secret.key") == b"a key"
    assert (disk.root / "secret.key").stat().st_mode & 0o777 == 0o600
    assert [each.name for each in disk.root.iterdir() if each.is_file()] == ["secret.key"]
