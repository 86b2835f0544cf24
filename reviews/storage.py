"""Where a file lies and how it is named: by the SHA-256 of the original, on whatever storage the portal is given.

Two kinds of place: a folder on this machine, and an S3-compatible store. Callers never ask which.
Originals are written once and never again; renditions stand under the version of the method that made them, so a new
method never mixes its files with an old one's.
"""

from __future__ import annotations

import hashlib
import io
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.core.files import File
from django.core.files.storage import Storage, default_storage

from reviews.imaging.results import METHOD, RENDITION_NAMES

_SHA256 = re.compile(r"[0-9a-f]{64}")


def _sharded(sha256: str) -> str:
    # The hash becomes a path: anything else must never reach the file system. Two letters of it as a folder keep
    # a local folder listable at a hundred thousand pictures.
    if not _SHA256.fullmatch(sha256):
        raise ValueError("A stored picture is named by 64 small hexadecimal digits.")
    return f"{sha256[:2]}/{sha256}"


def original_name(sha256: str) -> str:
    """Name the original, kept bit for bit."""
    return f"originals/{_sharded(sha256)}"


def rendition_name(sha256: str, file_name: str) -> str:
    """Name one rendition (`preview.jpg`, `thumb.jpg`, `pyramid.zip`, `pyramid.json`) made by the present method."""
    return f"renditions/{METHOD}/{_sharded(sha256)}/{file_name}"


def keep_paper(pdf: bytes) -> str:
    """Keep a PDF made here under its hash and give its name; the same bytes are kept once."""
    name = f"papers/{_sharded(hashlib.sha256(pdf).hexdigest())}.pdf"
    if not default_storage.exists(name):
        _keep(io.BytesIO(pdf), name, move=False)
    return name


def exists(name: str) -> bool:
    return default_storage.exists(name)


def size(name: str) -> int:
    return default_storage.size(name)


def _local_path(name: str) -> Path | None:
    try:
        return Path(default_storage.path(name))
    except NotImplementedError:
        return None


def keep_original(file: Any, sha256: str) -> str:
    """Keep a picture under its hash and give its name; a picture already kept is left as it is.

    `file` is an uploaded file, an open file, or a path. An upload that lies on this disk as a temporary file is moved,
    not copied (a 500 MB scan would otherwise be written twice) and is gone afterwards; a path is somebody's own file
    and is copied.
    """
    name = original_name(sha256)
    if not default_storage.exists(name):
        _keep(file, name, move=hasattr(file, "temporary_file_path"))
    return name


def keep_rendition(sha256: str, path: Path) -> str:
    """Keep one finished rendition (moved when it is on this disk) and give its name; an older one is replaced."""
    name = rendition_name(sha256, path.name)
    _keep(path, name, move=True)
    return name


def keep_renditions(sha256: str, folder: Path) -> list[str]:
    """Keep every rendition found in a folder. The index goes last, so whoever sees it finds the pyramid there."""
    return [keep_rendition(sha256, folder / each) for each in RENDITION_NAMES if (folder / each).exists()]


def _keep(file: Any, name: str, *, move: bool) -> None:
    target, source = _local_path(name), _source_path(file)
    if target is not None:
        target.parent.mkdir(parents=True, exist_ok=True)
        _place(source, file, target, move=move)
        return
    with _opened(source, file) as handle:
        if default_storage.exists(name):
            default_storage.delete(name)
        kept = default_storage.save(name, File(handle, name=name))
    if kept != name:
        raise RuntimeError(f"The storage kept {name} under another name, {kept}; it must allow names to be replaced.")


def _source_path(file: Any) -> Path | None:
    if isinstance(file, str | os.PathLike):
        return Path(file)
    if hasattr(file, "temporary_file_path"):
        return Path(file.temporary_file_path())
    return None


@contextmanager
def _opened(source: Path | None, file: Any) -> Iterator[Any]:
    if source is not None:
        with source.open("rb") as handle:
            yield handle
    else:
        file.seek(0)
        yield file


def _place(source: Path | None, file: Any, target: Path, *, move: bool) -> None:
    """Put a file in place in one step: a reader sees the whole file or none, even if we are killed half-way."""
    if move and source is not None and source.stat().st_dev == target.parent.stat().st_dev:
        _settle(source, target)
        return
    descriptor, waiting = tempfile.mkstemp(prefix=".arriving-", dir=target.parent)
    with _opened(source, file) as incoming, os.fdopen(descriptor, "wb") as out:
        shutil.copyfileobj(incoming, out, 1 << 20)
        out.flush()
        os.fsync(out.fileno())
    _settle(Path(waiting), target)
    if move and source is not None:
        source.unlink(missing_ok=True)


def _settle(arrived: Path, target: Path) -> None:
    # A temporary file is made readable by its owner only; a web server run by another user must be able to read it.
    arrived.chmod(0o644)
    arrived.replace(target)


@contextmanager
def open_original_locally(sha256: str) -> Iterator[Path]:
    """Give a path on this machine that holds the original: its own place, or a temporary copy from the store."""
    name = original_name(sha256)
    path = _local_path(name)
    if path is not None:
        yield path
        return
    with tempfile.TemporaryDirectory(prefix="original-") as folder:
        copy = Path(folder) / sha256
        with default_storage.open(name, "rb") as stored, copy.open("wb") as out:
            shutil.copyfileobj(stored, out, 1 << 20)
        yield copy


def read_all(name: str) -> bytes:
    """Read a small stored file whole (an index, a preview)."""
    with default_storage.open(name, "rb") as stored:
        return bytes(stored.read())


def read_span(name: str, offset: int, length: int) -> bytes:
    """Read a run of bytes of a stored file without reading the rest: one seek, or one ranged request."""
    if length <= 0:
        return b""
    path = _local_path(name)
    if path is not None:
        with path.open("rb") as stored:
            stored.seek(offset)
            return stored.read(length)
    return _ranged_request(default_storage, name, offset, length)


def _ranged_request(storage: Storage, name: str, offset: int, length: int) -> bytes:
    # The storage's own file object downloads the whole object at the first read, even after a seek; a pyramid of
    # 20 MB per tile would be the price. So the object is asked for the span itself.
    key = storage._normalize_name(name)  # type: ignore[attr-defined]
    answer = storage.bucket.Object(key).get(Range=f"bytes={offset}-{offset + length - 1}")  # type: ignore[attr-defined]
    return bytes(answer["Body"].read())


def open_stored(name: str) -> File:
    """Open a stored file for reading from its beginning; a caller that streams it holds one block at a time."""
    return default_storage.open(name, "rb")
