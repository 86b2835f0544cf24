"""Where a file lies and how it is named: by the SHA-256 of the original, on whatever storage the portal is given.

Two kinds of place: a folder on this machine, and an S3-compatible store. Callers never ask which.
Originals are written once and never again, unless their bytes rotted; renditions stand under the version of the method
that made them, so a new method never mixes its files with an old one's. Whatever is kept is on the disk when the call
returns (`durable.py`), so a row written afterwards never names bytes that a power cut can take.
"""

from __future__ import annotations

import errno
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

from reviews.durable import flush_file, flush_folder, make_folder, name_files
from reviews.imaging.results import METHOD, MINI_NAME, PLATE_NAMES, RENDITION_NAMES

ARRIVING = ".arriving-"
_SHA256 = re.compile(r"[0-9a-f]{64}")


def _sharded(sha256: str) -> str:
    # The hash becomes a path: anything else must never reach the file system. Two letters of it as a folder keep
    # a local folder listable at a hundred thousand pictures.
    if not _SHA256.fullmatch(sha256):
        raise ValueError("A stored picture is named by 64 small hexadecimal digits.")
    return f"{sha256[:2]}/{sha256}"


def is_content_name(word: str) -> bool:
    """Say whether a word could name a content: 64 small hexadecimal digits."""
    return _SHA256.fullmatch(word) is not None


def original_name(sha256: str) -> str:
    """Name the original, kept bit for bit."""
    return f"originals/{_sharded(sha256)}"


def rendition_name(sha256: str, file_name: str) -> str:
    """Name one rendition (`preview.jpg`, `thumb.jpg`, `pyramid.zip`, `pyramid.json`) made by the present method."""
    return f"renditions/{METHOD}/{_sharded(sha256)}/{file_name}"


def keep_paper(pdf: bytes) -> str:
    """Keep a PDF made here under its hash and give its name; the same bytes are kept once."""
    sha256 = hashlib.sha256(pdf).hexdigest()
    name = paper_name(sha256)
    if not stands(name, sha256):
        _keep([(io.BytesIO(pdf), name)], move=False, sha256=sha256)
    return name


def paper_name(sha256: str) -> str:
    """Name a PDF made here."""
    return f"papers/{_sharded(sha256)}.pdf"


def exists(name: str) -> bool:
    return default_storage.exists(name)


def size(name: str) -> int:
    return default_storage.size(name)


def stands(name: str, sha256: str) -> bool:
    """Say whether a name holds exactly the bytes of this hash, and make sure that a power cut leaves them.

    Reads the whole file: a name alone is no proof, since a disk may keep the name and lose the bytes.
    """
    if not default_storage.exists(name) or hash_of(name) != sha256:
        return False
    if path := _local_path(name):
        # Whoever placed it may not have come to this yet; the caller's row must not be on the disk before the file.
        flush_file(path)
        flush_folder(path.parent)
    return True


def hash_of(name: str) -> str:
    """Give the SHA-256 of a stored file, in hexadecimal; holds one block at a time."""
    with default_storage.open(name, "rb") as stored:
        return _hash_of_open(stored)


def _hash_of_open(handle: Any) -> str:
    digest = hashlib.sha256()
    while block := handle.read(1 << 20):
        digest.update(block)
    return digest.hexdigest()


def _local_path(name: str) -> Path | None:
    try:
        return Path(default_storage.path(name))
    except NotImplementedError:
        return None


def keep_original(file: Any, sha256: str) -> str:
    """Keep a picture under its hash and give its name; what stands there is trusted only if its bytes are right.

    `file` is an uploaded file, an open file, or a path. An upload that lies on this disk as a temporary file is moved,
    not copied (a 500 MB scan would otherwise be written twice) and is gone afterwards; a path is somebody's own file
    and is copied. Once this returns, a power cut leaves the picture.
    """
    name = original_name(sha256)
    if not stands(name, sha256):
        _keep([(file, name)], move=hasattr(file, "temporary_file_path"), sha256=sha256)
    return name


def keep_rendition(sha256: str, path: Path, *, anew: bool = False) -> str:
    """Keep one finished rendition (moved when it is on this disk) and give its name.

    One that stands is left alone, and until another is whole nothing is taken away: a store that takes no writes
    must not cost what is already shown. `anew` puts this one in its place, where that one was found to be wrong.
    """
    return _keep_renditions(sha256, [path], anew)[0]


def keep_renditions(sha256: str, folder: Path, *, anew: bool = False) -> list[str]:
    """Keep every rendition found in a folder. The index goes last, so whoever sees it finds the pyramid there."""
    found = [folder / each for each in (MINI_NAME, *PLATE_NAMES, *RENDITION_NAMES) if (folder / each).exists()]
    return _keep_renditions(sha256, found, anew)


def keep_restored(path: Path, name: str) -> None:
    """Put a file that was checked under a name that is free in an empty store (moved when it is on this disk)."""
    _keep([(path, name)], move=True)


def has_renditions(sha256: str) -> bool:
    """Say whether all that is shown of a picture stands already; an empty file does not count."""
    names = [rendition_name(sha256, each) for each in RENDITION_NAMES]
    return all(default_storage.exists(name) and default_storage.size(name) > 0 for name in names)


def _keep_renditions(sha256: str, paths: list[Path], anew: bool) -> list[str]:
    names = [rendition_name(sha256, path.name) for path in paths]
    wanted = [(path, name) for path, name in zip(paths, names, strict=True) if anew or not _has_its_size(name, path)]
    _keep(wanted, move=True)
    return names


def _has_its_size(name: str, path: Path) -> bool:
    return default_storage.exists(name) and default_storage.size(name) == path.stat().st_size


def _keep(files: list[tuple[Any, str]], *, move: bool, sha256: str = "") -> None:
    """Put files under their names. Where a hash is given, bytes that are copied or replace others must have it."""
    placed, moved = [], []
    for file, name in files:
        target, source = _local_path(name), _source_path(file)
        if target is None:
            _save_to_store(file, source, name, sha256)
            continue
        make_folder(target.parent)
        placed.append((_arrived(source, file, target, move=move, sha256=sha256), target))
        if move and source is not None:
            moved.append(source)
    name_files(placed)
    for source in moved:
        source.unlink(missing_ok=True)  # still there where it was copied from another disk


def _save_to_store(file: Any, source: Path | None, name: str, sha256: str) -> None:
    with _opened(source, file) as handle:
        if sha256:
            _refuse_other_bytes(_hash_of_open(handle), sha256)
            handle.seek(0)
        # Never deleted first: the store replaces in one step, and one that takes no writes keeps what it has.
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


def _arrived(source: Path | None, file: Any, target: Path, *, move: bool, sha256: str) -> Path:
    """Have the bytes on the target's disk, under a name of no meaning: the file itself, or a copy beside the target."""
    if move and source is not None and source.stat().st_dev == target.parent.stat().st_dev:
        if sha256 and target.exists():  # what lies there is wrong: what replaces it must be right
            with source.open("rb") as handle:
                _refuse_other_bytes(_hash_of_open(handle), sha256)
        arrived = source
    else:
        arrived = _copied(source, file, target.parent, sha256)
    # Nobody else on this machine reads what an illustrator has not shown yet, whatever it was copied from.
    arrived.chmod(0o600)
    return arrived


def _copied(source: Path | None, file: Any, folder: Path, sha256: str) -> Path:
    descriptor, name = tempfile.mkstemp(prefix=ARRIVING, dir=folder)
    digest = hashlib.sha256()
    try:
        with _opened(source, file) as incoming, os.fdopen(descriptor, "wb") as out:
            while block := incoming.read(1 << 20):
                digest.update(block)
                out.write(block)
        _refuse_other_bytes(digest.hexdigest(), sha256)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return Path(name)


def _refuse_other_bytes(found: str, sha256: str) -> None:
    if sha256 and found != sha256:
        raise ValueError(f"These bytes have the SHA-256 {found}, so they cannot be kept as {sha256}.")


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


def check_still_there(path: Path, sha256: str) -> None:
    """Raise OSError where a path holds these bytes no more: what was found wrong with it is no verdict on the file."""
    with path.open("rb") as handle:
        if _hash_of_open(handle) != sha256:
            raise OSError(errno.EIO, os.strerror(errno.EIO), str(path))


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


def fetch_stored(name: str) -> File:
    """Open a stored file that is on this machine whole: reading it from here on needs the store no more."""
    stored = default_storage.open(name, "rb")
    # A file of this disk is open already; the store's own is fetched when its contents are first asked for.
    stored.file  # noqa: B018
    return stored


def remove(name: str) -> None:
    """Remove a stored file for good; one that is gone already is no trouble."""
    default_storage.delete(name)
