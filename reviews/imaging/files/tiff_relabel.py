"""Let a TIFF's pixels be read under other labels than its own: in a scratch copy, further directories point at them.

The picture library reads most ways of packing samples, but not all that can be packed so. It is therefore asked for
the bytes themselves, or for one plane of them, and what they mean is worked out here (`tiff_unusual`). By hand for
memory's sake, as in `tiff_lab`. Layout of directories after TIFF 6.0 section 2, and BigTIFF. Standard library only.
"""

from __future__ import annotations

import shutil
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from reviews.imaging.files import tiff_tags

# Values to stand in a directory, by tag; a tag with None is left out.
Labels = Mapping[int, Sequence[int] | None]
_SHORT = 3


@dataclass(frozen=True)
class Directory:
    """A page's entries as they stand, tag by tag: form, count, and the bytes of its value or of the way to it."""

    order: str
    pointer: str
    entries: dict[int, tuple[int, int, bytes]]


def relabel(path: Path, copy: Path, page: int, instead: Labels, more: Sequence[Labels] = ()) -> None:
    """Write a copy of a file whose page has other labels, and behind its last page further ones of the same pixels.

    Raises struct.error or ValueError where the file ends or points nowhere.
    """
    if copy.exists():
        return
    unfinished = copy.with_suffix(".part")
    shutil.copyfile(path, unfinished)
    with unfinished.open("r+b") as file:
        order, pointer, entries = tiff_tags.directory(file, page)
        own = Directory(
            order, pointer, {tag: _entry(file, pointer, form, count, at) for tag, form, count, at in entries}
        )
        links = tiff_tags.links(file)
        if tiff_tags.number_at(file, order + pointer, links[-1]):
            raise ValueError("more pages than are followed")
        following = tiff_tags.number_at(file, order + pointer, links[page + 1])
        written = _append(file, own, instead, following)
        _write_at(file, links[page], order + pointer, written)
        # Of the last page it is the new directory's link that leads on.
        last = links[-1] if page + 1 < len(links) - 1 else file.seek(0, 2) - struct.calcsize(order + pointer)
        for labels in more:
            further = _append(file, own, labels, 0)
            _write_at(file, last, order + pointer, further)
            last = file.seek(0, 2) - struct.calcsize(order + pointer)
    unfinished.rename(copy)


def _entry(file: BinaryIO, pointer: str, form: int, count: int, at: int) -> tuple[int, int, bytes]:
    file.seek(at)
    return form, count, file.read(struct.calcsize(pointer))


def _append(file: BinaryIO, own: Directory, labels: Labels, following: int) -> int:
    """Write a directory at the file's end, its link last; gives where it begins."""
    order, pointer = own.order, own.pointer
    room, long = struct.calcsize(pointer), 16 if pointer == "Q" else 4
    entries = {tag: entry for tag, entry in own.entries.items() if tag not in labels}
    for tag, values in labels.items():
        if values is None:
            continue
        form = _SHORT if max(values) < 1 << 16 else long
        data = struct.pack(f"{order}{len(values)}{'H' if form == _SHORT else pointer}", *values)
        if len(data) > room:
            data = struct.pack(order + pointer, _put(file, data))
        entries[tag] = form, len(values), data.ljust(room, b"\0")
    packed = [struct.pack(order + ("Q" if pointer == "Q" else "H"), len(entries))]
    for tag, (form, count, data) in sorted(entries.items()):
        packed.append(struct.pack(f"{order}HH{pointer}", tag, form, count) + data)
    return _put(file, b"".join([*packed, struct.pack(order + pointer, following)]))


def _put(file: BinaryIO, data: bytes) -> int:
    end = file.seek(0, 2)
    at = end + end % 2
    file.write(b"\0" * (at - end) + data)
    return at


def _write_at(file: BinaryIO, at: int, form: str, value: int) -> None:
    file.seek(at)
    file.write(struct.pack(form, value))
