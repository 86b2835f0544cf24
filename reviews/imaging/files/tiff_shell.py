"""Put a TIFF's shell around pixels that already lie in a file, so that the picture library can stream them.

Used for the decoded pixels we set aside between preview and tiles, and for the merged picture inside a PSD, whose
rows are packed exactly as TIFF's PackBits. By hand for memory's sake: a library that writes a TIFF wants the pixels,
and here they are on disk already and never pass through memory. BigTIFF, big-endian, as the TIFF 6.0 and BigTIFF
descriptions lay it out; checked against tifffile, which reads what is written here. Standard library only.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import BinaryIO

HEADER_BYTES = 16
PHOTOMETRIC = {"BILEVEL": 0, "GREY": 1, "RGB": 2, "INDEXED": 3, "LAB": 2, "CMYK": 5}
N_COLOURS = {"BILEVEL": 1, "GREY": 1, "RGB": 3, "INDEXED": 1, "LAB": 3, "CMYK": 4}
_SHORT, _LONG8 = 3, 16
_FORMS = {_SHORT: "H", _LONG8: "Q"}


@dataclass(frozen=True, kw_only=True)
class Shell:
    """What the shell says about the pixels: `offsets` and `lengths` give each strip, plane by plane if `planar`."""

    width_px: int
    height_px: int
    n_channels: int
    bits: int
    space: str
    rows_per_strip: int
    offsets: Sequence[int]
    lengths: Sequence[int]
    packed: bool = False
    planar: bool = False
    palette: Sequence[int] = field(default=())


def start(out: BinaryIO) -> None:
    """Leave room for the header; pixels may follow."""
    out.write(b"\x00" * HEADER_BYTES)


def finish(out: BinaryIO, shell: Shell) -> None:
    """Write the directory behind the pixels and the header before them."""
    entries = _entries(shell)
    out.seek(0, 2)
    at = out.tell() + (out.tell() % 2)
    out.seek(at)
    spill = at + 8 + 20 * len(entries) + 8
    head, tail = [struct.pack(">Q", len(entries))], []
    for tag, form, values in entries:
        letter = _FORMS[form]
        data = struct.pack(f">{len(values)}{letter}", *values)
        if len(data) > 8:
            tail.append(data)
            inline, spill = struct.pack(">Q", spill), spill + len(data)
        else:
            inline = data.ljust(8, b"\x00")
        head.append(struct.pack(">HHQ", tag, form, len(values)) + inline)
    out.write(b"".join([*head, struct.pack(">Q", 0), *tail]))
    out.seek(0)
    out.write(struct.pack(">2sHHHQ", b"MM", 43, 8, 0, at))


def _entries(shell: Shell) -> list[tuple[int, int, Sequence[int]]]:
    entries: list[tuple[int, int, Sequence[int]]] = [
        (256, _LONG8, [shell.width_px]),
        (257, _LONG8, [shell.height_px]),
        (258, _SHORT, [shell.bits] * shell.n_channels),
        (259, _SHORT, [32773 if shell.packed else 1]),
        (262, _SHORT, [PHOTOMETRIC[shell.space]]),
        (273, _LONG8, shell.offsets),
        (277, _SHORT, [shell.n_channels]),
        (278, _LONG8, [shell.rows_per_strip]),
        (279, _LONG8, shell.lengths),
        (284, _SHORT, [2 if shell.planar else 1]),
    ]
    if shell.n_channels > N_COLOURS[shell.space]:
        entries.append((338, _SHORT, [2]))  # the last channel is transparency, its colours not multiplied by it
    if shell.palette:
        entries.append((320, _SHORT, shell.palette))
    entries.append((339, _SHORT, [3 if shell.bits == 32 else 1] * shell.n_channels))
    return sorted(entries, key=lambda entry: entry[0])
