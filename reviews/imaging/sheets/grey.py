"""The profile that goes with the grey pictures made here: grey on the tone curve of sRGB. Standard library only.

Written after ICC.1:2022 (header in clause 7.2, `mluc`, `XYZ `, `para` in clause 10), from memory, and checked by
converting with littleCMS: every grey comes out as itself.
"""

from __future__ import annotations

import struct

NAME = "Grey on the sRGB tone curve"
# White of the profile connection space (D50), and IEC 61966-2-1's curve: ((x + 0.055) / 1.055) ** 2.4, x / 12.92 below.
_D50 = (0.9642, 1.0, 0.8249)
_CURVE = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)


def grey_profile() -> bytes:
    """Give the profile; the same bytes each time, so that a picture made again has the same hash."""
    tags = {
        b"desc": _words(NAME),
        b"cprt": _words("No rights are reserved in this profile."),
        b"wtpt": b"XYZ \0\0\0\0" + _fixed(*_D50),
        b"kTRC": b"para\0\0\0\0" + struct.pack(">HH", 3, 0) + _fixed(*_CURVE),
    }
    table, body, at = b"", b"", 128 + 4 + 12 * len(tags)
    for name, tag in tags.items():
        padded = tag + b"\0" * (-len(tag) % 4)
        table += struct.pack(">4sII", name, at + len(body), len(tag))
        body += padded
    return _header(at + len(body)) + struct.pack(">I", len(tags)) + table + body


def _header(size: int) -> bytes:
    date = struct.pack(">6H", 2026, 1, 1, 0, 0, 0)
    head = struct.pack(">I4sI4s4s4s", size, b"\0" * 4, 0x04300000, b"mntr", b"GRAY", b"XYZ ") + date + b"acsp"
    head += b"\0" * 28 + _fixed(*_D50)
    return head + b"\0" * (128 - len(head))


def _fixed(*values: float) -> bytes:
    return struct.pack(f">{len(values)}i", *(round(value * 65536) for value in values))


def _words(text: str) -> bytes:
    coded = text.encode("utf-16-be")
    return b"mluc\0\0\0\0" + struct.pack(">II2s2sII", 1, 12, b"en", b"US", len(coded), 28) + coded
