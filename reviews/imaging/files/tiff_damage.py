"""Damage inside a JPEG that lies in a TIFF: its decoder only warns, and the picture library does not hear it there.

So each strip or tile is taken out, given the tables that the page keeps for all of them (TIFF technical note 2), and
decoded by itself, where the library does hear. Only of the 8 bits that it decodes; it costs a second decode of these
pages. Runs inside the confined child only.
"""

from __future__ import annotations

from pathlib import Path

from reviews.imaging._vips import Image
from reviews.imaging.files import tiff_tags
from reviews.imaging.files.tiff_storage import JPEG, Storage

_TABLES = 347
_BEGIN, _END = b"\xff\xd8", b"\xff\xd9"


def raise_for_damaged_jpeg(path: Path, page: int, storage: Storage) -> None:
    """Decode every JPEG of a page; raises the library's Error at the first that is damaged."""
    if storage.compression != JPEG or storage.jpeg_bits != 8:
        return
    with path.open("rb") as file:
        tables = tiff_tags.byte_tags(file, page, (_TABLES,)).get(_TABLES, b"")
        for at, length in zip(storage.at, storage.lengths, strict=False):
            file.seek(at)
            Image.jpegload_buffer(_whole(tables, file.read(length)), access="sequential", fail_on="warning").avg()


def _whole(tables: bytes, piece: bytes) -> bytes:
    shared = tables.removeprefix(_BEGIN).removesuffix(_END)
    return _BEGIN + shared + piece.removeprefix(_BEGIN)
