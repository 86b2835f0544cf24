"""The file of a backup: one plain tar, written and read from front to back, a block at a time.

First a member that says what the backup is of, then everything, last a list of every member before it with its size and
SHA-256. A reader makes the same list as it goes and holds the two against each other at the end: a file that was cut
short, or in which anything changed, is never taken for whole. Memory does not grow with the number of members.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import tarfile
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from reviews.durable import name_files

HEAD = "backup.json"
CONTENTS = "contents.sha256"
BLOCK = 1 << 20


class BadArchive(Exception):
    """The file is no whole backup; the words say why."""


class _Hashing:
    """Reads through to a file and keeps the hash of what went by."""

    def __init__(self, file: IO[bytes]) -> None:
        self.file, self.digest, self.n_bytes = file, hashlib.sha256(), 0

    def read(self, size: int = -1) -> bytes:
        block = self.file.read(size)
        self.digest.update(block)
        self.n_bytes += len(block)
        return block


class ArchiveWriter:
    """Adds members to a backup under way."""

    def __init__(self, tar: tarfile.TarFile, contents: IO[bytes], head: dict[str, Any]) -> None:
        self._tar, self._contents = tar, contents
        raw = json.dumps(head, indent=1, sort_keys=True).encode()
        self.add(HEAD, io.BytesIO(raw), len(raw))

    def add(self, name: str, file: IO[bytes], n_bytes: int) -> str:
        """Add a member of exactly so many bytes and give its SHA-256."""
        info = tarfile.TarInfo(name)
        info.size, info.mode = n_bytes, 0o600
        hashing = _Hashing(file)
        self._tar.addfile(info, hashing)
        self._tar.members = []  # type: ignore[attr-defined]  # or the list of members would grow in memory
        found = hashing.digest.hexdigest()
        self._contents.write(_line(found, n_bytes, name))
        return found

    def add_path(self, name: str, path: Path) -> str:
        """Add a file of this machine."""
        with path.open("rb") as file:
            return self.add(name, file, os.fstat(file.fileno()).st_size)


@contextmanager
def new_archive(path: Path, head: dict[str, Any]) -> Iterator[ArchiveWriter]:
    """Write a backup: it has its name only once it is whole and on the disk; otherwise nothing is left."""
    fresh = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with (
            os.fdopen(descriptor, "wb") as out,
            tempfile.TemporaryFile(dir=path.parent) as contents,
            tarfile.open(fileobj=out, mode="w|", format=tarfile.PAX_FORMAT) as tar,
        ):
            yield ArchiveWriter(tar, contents, head)
            info = tarfile.TarInfo(CONTENTS)
            info.size, info.mode = contents.tell(), 0o600
            contents.seek(0)
            tar.addfile(info, contents)
        name_files([(fresh, path)])
    finally:
        fresh.unlink(missing_ok=True)


class ArchiveReader:
    """Goes through a backup once."""

    def __init__(self, tar: tarfile.TarFile, contents: IO[bytes]) -> None:
        self._tar, self._contents = tar, contents
        first = self._next()
        if first is None or first.name != HEAD or first.size > BLOCK:
            raise BadArchive("it does not begin as a backup of Roughproof does")
        try:
            self.head: dict[str, Any] = json.loads(self._read(first))
        except ValueError as problem:
            raise BadArchive("its first part cannot be read") from problem

    def members(self) -> Iterator[tuple[str, MemberFile]]:
        """Give each member's name and a file to read it from, to its end; raises BadArchive where it is not whole."""
        while (info := self._next()) is not None:
            if info.name == CONTENTS:
                self._check_contents(info)
                return
            if not info.isreg():
                raise BadArchive(f"it holds {info.name}, which is no file")
            file = MemberFile(self._open(info))
            yield info.name, file
            while file.read(BLOCK):
                pass  # what was not wanted is hashed all the same
            self._contents.write(_line(file.sha256, file.n_bytes, info.name))
        raise BadArchive("it was cut short: its end is missing")

    def _next(self) -> tarfile.TarInfo | None:
        try:
            found = self._tar.next()
        except (tarfile.TarError, EOFError) as problem:
            raise BadArchive(f"it cannot be read on ({problem})") from problem
        self._tar.members = []  # type: ignore[attr-defined]  # as above
        return found

    def _open(self, info: tarfile.TarInfo) -> IO[bytes]:
        file = self._tar.extractfile(info)
        if file is None:
            raise BadArchive(f"it holds {info.name}, which is no file")
        return file

    def _read(self, info: tarfile.TarInfo) -> bytes:
        file = MemberFile(self._open(info))
        raw = file.read(info.size)
        self._contents.write(_line(file.sha256, file.n_bytes, info.name))
        return raw

    def _check_contents(self, info: tarfile.TarInfo) -> None:
        told, found = self._open(info), self._contents
        found.seek(0)
        for line in found:
            wanted = told.readline()
            if wanted != line:
                name = line.split(b" ", 2)[2].decode(errors="replace").strip()
                raise BadArchive(f"{name} is not as it was when the backup was made")
        if told.read(1):
            raise BadArchive("it names more than it holds")


class MemberFile:
    """One member while it is read; its hash is known at its end."""

    def __init__(self, file: IO[bytes]) -> None:
        self._hashing = _Hashing(file)

    def read(self, size: int) -> bytes:
        """Read on; raises BadArchive where the file ends too early."""
        try:
            return self._hashing.read(size)
        except (tarfile.TarError, EOFError) as problem:
            raise BadArchive(f"it cannot be read on ({problem})") from problem

    @property
    def sha256(self) -> str:
        return self._hashing.digest.hexdigest()

    @property
    def n_bytes(self) -> int:
        return self._hashing.n_bytes


@contextmanager
def opened_archive(path: Path, scratch: Path) -> Iterator[ArchiveReader]:
    """Open a backup for reading; raises BadArchive where it is none."""
    with path.open("rb") as file, tempfile.TemporaryFile(dir=scratch) as contents, _opened(file) as tar:
        yield ArchiveReader(tar, contents)


def _opened(file: IO[bytes]) -> tarfile.TarFile:
    try:
        return tarfile.open(fileobj=file, mode="r|")
    except (tarfile.TarError, EOFError) as problem:
        raise BadArchive("it is no backup of Roughproof") from problem


def _line(sha256: str, n_bytes: int, name: str) -> bytes:
    return f"{sha256} {n_bytes} {name}\n".encode()
