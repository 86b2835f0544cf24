"""Tags of one page of a TIFF that hold whole numbers of 16 bits, read by hand where the picture library keeps them.

After TIFF 6.0 section 2, and its 64-bit form. Standard library only.
"""

from __future__ import annotations

import struct
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

_EXTRA_SAMPLES = 338
_ASSOCIATED, _UNASSOCIATED = 1, 2
_MAX_TAGS, _MAX_VALUES, _MAX_BYTES = 1000, 64, 4 << 20
_ONE_BYTE_FORMS = {1, 2, 7}  # bytes, letters, undefined
# Bits, compression (none, LZW, JPEG, Deflate under its two numbers, PackBits), channels together, and sample format
# (whole numbers, floating point).
_USUAL: dict[int, frozenset[int]] = {
    258: frozenset({1, 8, 16, 32}),
    259: frozenset({1, 5, 7, 8, 32773, 32946}),
    284: frozenset({1}),
    339: frozenset({1, 3}),
}


@dataclass(frozen=True)
class ShortTags:
    """The values of the tags that were asked for and are there; where the value stands in the file; the byte order."""

    values: dict[int, tuple[int, ...]]
    at: dict[int, int]
    order: str


def short_tags(file: BinaryIO, page: int, wanted: Collection[int]) -> ShortTags:
    """Read some tags of one page. Raises struct.error, OSError or ValueError where the file ends or points nowhere."""
    order, pointer, entries = _directory(file, page)
    found = ShortTags({}, {}, order)
    for tag, _, count, at in entries:
        if tag in wanted:
            found.at[tag] = at
            _go_to_values(file, at, count * 2, order + pointer)
            found.values[tag] = _take(file, f"{order}{min(count, _MAX_VALUES)}H")
    return found


def byte_tags(file: BinaryIO, page: int, wanted: Collection[int]) -> dict[int, bytes]:
    """Read some tags of one page that hold bytes or letters, but for those too long; raises as `short_tags` does."""
    order, pointer, entries = _directory(file, page)
    found = {}
    for tag, form, count, at in entries:
        if tag in wanted and form in _ONE_BYTE_FORMS and count <= _MAX_BYTES:
            _go_to_values(file, at, count, order + pointer)
            found[tag] = file.read(count)
    return found


def _directory(file: BinaryIO, page: int) -> tuple[str, str, list[tuple[int, int, int, int]]]:
    """Give byte order, the letter of an offset, and each entry of a page: tag, form, count, and where its value is."""
    order = {b"II": "<", b"MM": ">"}.get(file.read(2), "")
    (version,) = _take(file, f"{order}H")
    is_big = version == 43
    counts, pointer, entry = ("Q", "Q", 20) if is_big else ("H", "I", 12)
    if is_big:
        file.seek(8)
    (at,) = _take(file, order + pointer)
    for _ in range(page):
        file.seek(at)
        (n_tags,) = _take(file, order + counts)
        file.seek(min(n_tags, _MAX_TAGS) * entry, 1)
        (at,) = _take(file, order + pointer)
    file.seek(at)
    (n_tags,) = _take(file, order + counts)
    first, entries = file.tell(), []
    for n in range(min(n_tags, _MAX_TAGS)):
        file.seek(first + n * entry)
        tag, form, count = _take(file, f"{order}HH{pointer}")
        entries.append((tag, form, count, file.tell()))
    return order, pointer, entries


def _go_to_values(file: BinaryIO, at: int, n_bytes: int, form: str) -> None:
    """Go to a tag's values: in the entry itself where they fit, else where it points."""
    file.seek(at)
    if n_bytes > struct.calcsize(form):
        file.seek(_take(file, form)[0])


def is_stored_as_usual(path: Path, page: int) -> bool:
    """Whether a page's samples are stored as drawing programs store them; else it may be whole and merely unusual.

    Said of the tags alone. A file whose tags cannot be read is damaged, whatever else it is.
    """
    try:
        with path.open("rb") as file:
            tags = short_tags(file, page, _USUAL).values
    except (struct.error, OSError, ValueError):
        return True
    return all(set(values) <= _USUAL[tag] for tag, values in tags.items())


def clear_channel(path: Path, page: int) -> int | None:
    """Say which of a page's extra channels is its transparency (0 is the first beyond the colours), None if none is.

    Only what ExtraSamples names so (TIFF 6.0 section 18). Any other channel is a plate or a mask: it belongs to the
    press, and the art does not end where it does.
    """
    try:
        with path.open("rb") as file:
            meanings = short_tags(file, page, (_EXTRA_SAMPLES,)).values.get(_EXTRA_SAMPLES, ())
    except (struct.error, OSError, ValueError):
        return None
    return next((n for n, meaning in enumerate(meanings) if meaning in (_ASSOCIATED, _UNASSOCIATED)), None)


def _take(file: BinaryIO, form: str) -> tuple[Any, ...]:
    return struct.unpack(form, file.read(struct.calcsize(form)))
