"""Tags of one page of a TIFF that hold whole numbers of 16 bits, read by hand where the picture library keeps them.

After TIFF 6.0 section 2, and its 64-bit form. Standard library only.
"""

from __future__ import annotations

import struct
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

#: What reading the tags of a broken file may raise; the last where it points beyond what any file can hold.
UNREADABLE = (struct.error, OSError, ValueError, OverflowError)
_EXTRA_SAMPLES = 338
_ASSOCIATED, _UNASSOCIATED = 1, 2
_MAX_TAGS, _MAX_VALUES, _MAX_BYTES = 1000, 64, 4 << 20
_MAX_PAGES, _MAX_NUMBERS = 1000, 1 << 20
_NUMBER_FORMS = {1: "B", 3: "H", 4: "I", 16: "Q"}
_ONE_BYTE_FORMS = {1, 2, 7}  # bytes, letters, undefined


@dataclass(frozen=True)
class ShortTags:
    """The values of the tags that were asked for and are there; where the value stands in the file; the byte order."""

    values: dict[int, tuple[int, ...]]
    at: dict[int, int]
    order: str


def short_tags(file: BinaryIO, page: int, wanted: Collection[int]) -> ShortTags:
    """Read some tags of one page. Raises one of `UNREADABLE` where the file ends or points nowhere."""
    order, pointer, entries = directory(file, page)
    found = ShortTags({}, {}, order)
    for tag, form, count, at in entries:
        if tag in wanted:
            found.at[tag] = at
            letter = _NUMBER_FORMS.get(form, "H")
            _go_to_values(file, at, count * struct.calcsize(order + letter), order + pointer)
            found.values[tag] = _take(file, f"{order}{min(count, _MAX_VALUES)}{letter}")
    return found


def byte_tags(file: BinaryIO, page: int, wanted: Collection[int]) -> dict[int, bytes]:
    """Read some tags of one page that hold bytes or letters, but for those too long; raises as `short_tags` does."""
    order, pointer, entries = directory(file, page)
    found = {}
    for tag, form, count, at in entries:
        if tag in wanted and form in _ONE_BYTE_FORMS and count <= _MAX_BYTES:
            _go_to_values(file, at, count, order + pointer)
            found[tag] = file.read(count)
    return found


def number_tags(file: BinaryIO, page: int, wanted: Collection[int]) -> tuple[str, dict[int, tuple[int, ...]]]:
    """Read the byte order and some tags of one page that hold whole numbers; raises as `short_tags` does."""
    order, pointer, entries = directory(file, page)
    found = {}
    for tag, form, count, at in entries:
        letter = _NUMBER_FORMS.get(form)
        if tag in wanted and letter and 0 < count <= _MAX_NUMBERS:
            _go_to_values(file, at, count * struct.calcsize(order + letter), order + pointer)
            found[tag] = _take(file, f"{order}{count}{letter}")
    return order, found


def directory(file: BinaryIO, page: int) -> tuple[str, str, list[tuple[int, int, int, int]]]:
    """Give byte order, the letter of an offset, and each entry of a page: tag, form, count, and where its value is."""
    order, counts, pointer, entry = _layout(file)
    ways = links(file, page)
    at = number_at(file, order + pointer, ways[page]) if page < len(ways) else 0
    if not at:
        raise ValueError("no such page")
    n_tags = number_at(file, order + counts, at)
    first, entries = file.tell(), []
    for n in range(min(n_tags, _MAX_TAGS)):
        file.seek(first + n * entry)
        tag, form, count = _take(file, f"{order}HH{pointer}")
        entries.append((tag, form, count, file.tell()))
    return order, pointer, entries


def links(file: BinaryIO, most: int = _MAX_PAGES) -> list[int]:
    """Say where in the file the way to each page stands, and where the last one says that there is no further."""
    order, counts, pointer, entry = _layout(file)
    found = [8 if pointer == "Q" else 4]
    while len(found) <= most:
        at = number_at(file, order + pointer, found[-1])
        if not at:
            break
        n_tags = number_at(file, order + counts, at)
        found.append(file.tell() + min(n_tags, _MAX_TAGS) * entry)
    return found


def number_at(file: BinaryIO, form: str, at: int) -> int:
    """Read one number where it stands, and stay behind it."""
    file.seek(at)
    return int(_take(file, form)[0])


def _layout(file: BinaryIO) -> tuple[str, str, str, int]:
    """Give byte order, the letters of a count of tags and of an offset, and how many bytes an entry has."""
    file.seek(0)
    order = {b"II": "<", b"MM": ">"}.get(file.read(2), "")
    (version,) = _take(file, f"{order}H")
    return (order, "Q", "Q", 20) if version == 43 else (order, "H", "I", 12)


def _go_to_values(file: BinaryIO, at: int, n_bytes: int, form: str) -> None:
    """Go to a tag's values: in the entry itself where they fit, else where it points."""
    file.seek(at)
    if n_bytes > struct.calcsize(form):
        file.seek(_take(file, form)[0])


def clear_channel(path: Path, page: int) -> int | None:
    """Say which of a page's extra channels is its transparency (0 is the first beyond the colours), None if none is.

    Only what ExtraSamples names so (TIFF 6.0 section 18). Any other channel is a plate or a mask: it belongs to the
    press, and the art does not end where it does.
    """
    try:
        with path.open("rb") as file:
            meanings = short_tags(file, page, (_EXTRA_SAMPLES,)).values.get(_EXTRA_SAMPLES, ())
    except UNREADABLE:
        return None
    return next((n for n, meaning in enumerate(meanings) if meaning in (_ASSOCIATED, _UNASSOCIATED)), None)


def _take(file: BinaryIO, form: str) -> tuple[Any, ...]:
    return struct.unpack(form, file.read(struct.calcsize(form)))
