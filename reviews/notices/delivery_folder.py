"""The delivery folder as a zip that is written while it is sent: approved originals, and their fingerprints."""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from reviews import storage
from reviews.notices.farewell_archive import Pipe, zip_date
from reviews.pages.delivery import DeliveredFile
from reviews.press.delivery_names import MANIFEST, READ_ME

_BLOCK = 1 << 20


class NotTheApproved(Exception):
    """The store gave other bytes than those that were approved: the folder breaks off rather than hold them."""


def folder_of(files: Sequence[DeliveredFile], at: datetime, note: str) -> Iterator[bytes]:
    """Write the folder piece by piece; memory holds one block of one file at a time.

    The manifest comes last, in the form that ``sha256sum --check`` reads, so a folder that broke off has none. What a
    file holds beside its art stands above it, in a line that such programs pass over.
    """
    pipe, date = Pipe(), zip_date(at.astimezone(UTC))
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_STORED) as archive:
        for file in files:
            yield from _file(archive, pipe, file, date)
        archive.writestr(zipfile.ZipInfo(READ_ME, date), note)
        sums = "".join(_sum(file) for file in files)
        archive.writestr(zipfile.ZipInfo(MANIFEST, date), sums)
    yield pipe.drain()


def _sum(file: DeliveredFile) -> str:
    return "".join(f"# {file.name}: {one}\n" for one in file.holds) + f"{file.picture.sha256}  {file.name}\n"


def _file(
    archive: zipfile.ZipFile, pipe: Pipe, file: DeliveredFile, date: tuple[int, int, int, int, int, int]
) -> Iterator[bytes]:
    told, digest = zipfile.ZipInfo(file.name, date), hashlib.sha256()
    told.external_attr = 0o644 << 16
    with (
        storage.open_stored(storage.original_name(file.picture.sha256)) as stored,
        archive.open(told, "w", force_zip64=True) as out,
    ):
        while block := stored.read(_BLOCK):
            digest.update(block)
            out.write(block)
            yield pipe.drain()
    if digest.hexdigest() != file.picture.sha256:
        raise NotTheApproved(file.name)
