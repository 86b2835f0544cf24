"""Which of the pictures in a HEIF container (AVIF, HEIC) are pictures, and which only cells of one.

A large picture is often stored as a grid of cells (ISO/IEC 23008-12, from memory): each cell is an item like any
picture, and a writer that does not mark the cells as hidden has every one of them listed beside the whole. Read from
the container's boxes alone. Standard library only.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

_MOST_BYTES = 16 << 20  # of the box that lists the items: beyond that nothing is counted, only listed
_MOST_ITEMS = 20_000
# Items that are pictures, among masks, metadata and what else a container holds.
_PICTURES = {b"av01", b"hvc1", b"grid", b"iden", b"iovl", b"avc1", b"vvc1", b"jpeg", b"j2k1", b"unci"}
_MADE_OF_CELLS = {b"grid"}
_BESIDE = {b"thmb", b"auxl"}  # a small copy, a transparency or a depth: no picture of its own


@dataclass
class _Items:
    kinds: dict[int, bytes] = field(default_factory=dict)
    hidden: set[int] = field(default_factory=set)
    primary: int | None = None
    beside: set[int] = field(default_factory=set)
    made_of: dict[int, set[int]] = field(default_factory=dict)


def pictures_in(path: Path, n_listed: int) -> tuple[int, ...]:
    """Return the places, among the pictures that a decoder lists, of those that are no cell; the primary one first.

    A decoder lists what is not hidden, by the items' numbers. Where the boxes say something else than its count, or
    cannot be read, all that it lists are pictures.
    """
    everything = tuple(range(n_listed))
    try:
        with path.open("rb") as file:
            items = _items(file)
    except (struct.error, OSError, ValueError):
        return everything
    shown = {item for item, kind in items.kinds.items() if kind in _PICTURES} - items.hidden - items.beside
    listed = sorted(shown)
    if len(listed) != n_listed:
        return everything
    cells = {cell for item in items.made_of if items.kinds.get(item) in _MADE_OF_CELLS for cell in items.made_of[item]}
    whole = [n for n, item in enumerate(listed) if item not in cells]
    if not whole:
        return everything
    return tuple(sorted(whole, key=lambda n: (listed[n] != items.primary, n)))


def _items(file: BinaryIO) -> _Items:
    size, items = os.fstat(file.fileno()).st_size, _Items()
    for kind, start, end in _boxes_of(file, 0, size):
        if kind == b"meta":
            if end - start > _MOST_BYTES:
                raise ValueError("the list of items is too long")
            file.seek(start)
            _read_meta(file.read(end - start), items)
            break
    return items


def _boxes_of(file: BinaryIO, at: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """Give kind, beginning and end of each box's content at the top of the file."""
    while at + 8 <= end:
        file.seek(at)
        length, kind = struct.unpack(">I4s", file.read(8))
        head = 8
        if length == 1:
            (length,) = struct.unpack(">Q", file.read(8))
            head = 16
        length = end - at if length == 0 else length
        if length < head or at + length > end:
            return
        yield kind, at + head, at + length
        at += length


def _boxes(data: bytes, at: int) -> Iterator[tuple[bytes, bytes]]:
    """Give kind and content of each box within one."""
    while at + 8 <= len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        if length < 8 or at + length > len(data):
            return
        yield kind, data[at + 8 : at + length]
        at += length


def _read_meta(data: bytes, items: _Items) -> None:
    for kind, content in _boxes(data, 4):
        version = content[0] if content else 0
        if kind == b"pitm":
            (items.primary,) = struct.unpack_from(">H" if version == 0 else ">I", content, 4)
        elif kind == b"iinf":
            for _, entry in _boxes(content, 6 if version == 0 else 8):
                _read_entry(entry, items)
        elif kind == b"iref":
            for what, content_of in _boxes(content, 4):
                _read_references(what, content_of, "H" if version == 0 else "I", items)


def _read_entry(entry: bytes, items: _Items) -> None:
    if not entry:
        raise ValueError("an item without content")
    version = entry[0]
    if version < 2 or len(items.kinds) >= _MOST_ITEMS:
        return
    form = ">H2x4s" if version == 2 else ">I2x4s"
    item, kind = struct.unpack_from(form, entry, 4)
    items.kinds[item] = kind
    if entry[3] & 1:
        items.hidden.add(item)


def _read_references(what: bytes, content: bytes, number: str, items: _Items) -> None:
    each = struct.calcsize(number)
    item, count = struct.unpack_from(f">{number}H", content)
    if what in _BESIDE:
        items.beside.add(item)
    elif what == b"dimg":
        cells = struct.unpack_from(f">{count}{number}", content, each + 2)
        items.made_of.setdefault(item, set()).update(cells)
