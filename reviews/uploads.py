"""Receiving files: straight to disk, hashed on the way, each within its own size.

500 MB pass through in 64 KB pieces. A file over the limit is not written any further but does not break the
request either: the other files of a hand-in are kept, and this one arrives with what refuses it.
"""

import hashlib
import shutil
import tempfile
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from time import monotonic
from typing import Any, cast

from django.conf import settings
from django.core.files.uploadedfile import TemporaryUploadedFile
from django.core.files.uploadhandler import SkipFile, TemporaryFileUploadHandler
from django.urls import Resolver404, resolve
from django.utils import timezone

from reviews.press.soft_proof import MOST_PROFILE_BYTES
from reviews.rules.manuscript import MOST_BYTES
from reviews.rules.states import Refused

# No upload and no job takes a day: what is older was left by a process that was killed.
LEFT_AFTER = timedelta(days=1)
_LOOK_EVERY_SECONDS = 3600.0
_looked_at = float("-inf")
_MEGABYTE = 1024 * 1024
#: The addresses that take files.
_TAKE_FILES = frozenset({"reviews:add-picture", "reviews:add-references"})
#: Addresses that take one smaller file, and how large that may be.
_TAKE_ONE = {"reviews:bring-profile": MOST_PROFILE_BYTES, "reviews:break-manuscript": MOST_BYTES}
#: Boundaries, file names and field names of a hand-in's files.
_AROUND_FILES = 4 * _MEGABYTE


@dataclass(frozen=True)
class TooMuch:
    """A body that is not taken: the status that says so, and why."""

    status: int
    why: Refused


def most_bytes(path: str, *, signed_in: bool) -> int:
    """Say how long a body may be that is sent to an address."""
    if not signed_in:
        return settings.MAX_ANONYMOUS_BYTES
    try:
        name = resolve(path).view_name
    except Resolver404:
        name = ""
    if name in _TAKE_ONE:
        return _TAKE_ONE[name] + _AROUND_FILES
    if name in _TAKE_FILES:
        return settings.DATA_UPLOAD_MAX_NUMBER_FILES * settings.MAX_PICTURE_BYTES + _AROUND_FILES
    return settings.DATA_UPLOAD_MAX_MEMORY_SIZE


def too_much(path: str, n_bytes: int, *, signed_in: bool) -> TooMuch | None:
    """Say why a body of this length is not taken, or nothing where it is."""
    most = most_bytes(path, signed_in=signed_in)
    if n_bytes > most:
        code = "body-too-large" if signed_in else "body-too-large-unknown"
        return TooMuch(413, Refused(code, size=_megabytes(n_bytes), limit=_megabytes(most)))
    return no_room_for(n_bytes)


def no_room_for(n_bytes: int) -> TooMuch | None:
    """Say that the disk has no room for so much more, or nothing where it has. A small form is always taken."""
    if n_bytes <= settings.MAX_ANONYMOUS_BYTES:
        return None
    if shutil.disk_usage(spool_folder()).free - n_bytes >= settings.KEEP_FREE_BYTES:
        return None
    return TooMuch(507, Refused("disk-nearly-full"))


def spool_folder() -> str:
    """Name the folder in which uploads are gathered: the data folder's own, or the machine's where it has none."""
    return settings.FILE_UPLOAD_TEMP_DIR or tempfile.gettempdir()


class HashedFile(TemporaryUploadedFile):
    """What an uploaded file has once it is here. For annotations only: at run time it is Django's own."""

    sha256: str
    refusal: Refused | None


class HashingUploadHandler(TemporaryFileUploadHandler):
    """Gives each uploaded file `sha256` (hex) and `refusal` (why it is not taken, or None)."""

    chunk_size = 64 * 1024
    file: TemporaryUploadedFile

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        # Forms are read before anybody asks who posts them: a stranger's file must not fill the disk meanwhile.
        user = getattr(self.request, "user", None)
        if user is not None and not user.is_authenticated:
            raise SkipFile
        clear_scratch_now_and_then()
        super().new_file(*args, **kwargs)
        self.digest = hashlib.sha256()
        self.n_bytes = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        self.n_bytes += len(raw_data)
        if self.n_bytes <= settings.MAX_PICTURE_BYTES:
            self.digest.update(raw_data)
            self.file.write(raw_data)

    def file_complete(self, file_size: int) -> HashedFile:
        complete = cast(HashedFile, super().file_complete(file_size))
        complete.sha256 = self.digest.hexdigest()
        complete.refusal = self._refusal(complete.name or "")
        if complete.refusal:
            # The rest was never kept: leave nothing that could pass for the file.
            self.file.truncate(0)
            complete.size = 0
        return complete

    def _refusal(self, name: str) -> Refused | None:
        limit = settings.MAX_PICTURE_BYTES
        if self.n_bytes > limit:
            return Refused("upload-too-large", name=name, size=_megabytes(self.n_bytes), limit=_megabytes(limit))
        return Refused("upload-empty", name=name) if self.n_bytes == 0 else None


def clear_scratch(now: datetime) -> int:
    """Remove what killed processes left half-received or half-made on this machine; say how many names went."""
    n_gone = 0
    for folder in map(Path, settings.SCRATCH_DIRS):
        for left in folder.iterdir() if folder.is_dir() else ():
            if _last_touched(left) < (now - LEFT_AFTER).timestamp():
                if left.is_dir() and not left.is_symlink():
                    shutil.rmtree(left, ignore_errors=True)
                else:
                    left.unlink(missing_ok=True)
                n_gone += 1
    return n_gone


def clear_scratch_now_and_then() -> None:
    """Clear this machine's own left-overs once an hour of uploads or jobs: the sweep may run on another machine."""
    global _looked_at
    if monotonic() - _looked_at > _LOOK_EVERY_SECONDS:
        _looked_at = monotonic()
        clear_scratch(timezone.now())


def _last_touched(path: Path) -> float:
    """Give the newest time at which a file, or anything in a folder, was written; one that goes meanwhile is new."""
    try:
        inside = [each.lstat().st_mtime for each in path.rglob("*")] if path.is_dir() and not path.is_symlink() else []
        return max([path.lstat().st_mtime, *inside])
    except FileNotFoundError:
        return float("inf")


def _megabytes(n_bytes: int) -> int:
    return -(-n_bytes // _MEGABYTE)
