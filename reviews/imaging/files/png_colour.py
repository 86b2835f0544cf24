"""What a PNG without a profile states of its colours (gAMA, cHRM), as a profile by which they can be shown.

PNG specification (W3C, third edition), 11.3.2: an ICC profile or sRGB goes before these two. A gamma near 1/2.2 with
sRGB's primaries, or with none stated, is what programs write that mean sRGB, and is shown as that.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path

import numpy as np

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_MOST_CHUNKS, _MOST_BYTES = 200, 64
_UNIT = 100_000  # both chunks count in it
_SRGB_GAMMA, _NEAR_GAMMA, _NEAR_XY = 0.45455, 0.01, 0.005
_SRGB_XY = (0.3127, 0.3290, 0.64, 0.33, 0.30, 0.60, 0.15, 0.06)  # white, red, green, blue: x and y of each
_GAMMAS = (0.1, 1.5)  # beyond these nothing is meant that could be shown
_D50 = (0.9642, 1.0, 0.8249)
# Bradford's cone responses, as ICC.1:2022 annex E has them, from memory.
_CONES = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])


def stated_profile(path: Path, *, is_grey: bool) -> bytes | None:
    """Return an ICC profile of what a PNG states; None where it states nothing, or what it states is sRGB."""
    chunks = dict(_before_pixels(path))
    if b"iCCP" in chunks or b"sRGB" in chunks or b"cICP" in chunks or len(chunks.get(b"gAMA", b"")) != 4:
        return None
    (gamma,) = (v / _UNIT for v in struct.unpack(">I", chunks[b"gAMA"]))
    places = chunks.get(b"cHRM", b"")
    xy = tuple(v / _UNIT for v in struct.unpack(">8I", places)) if len(places) == 32 else _SRGB_XY
    is_primaries = is_grey or max(abs(a - b) for a, b in zip(xy, _SRGB_XY, strict=True)) < _NEAR_XY
    if not _GAMMAS[0] <= gamma <= _GAMMAS[1] or (is_primaries and abs(gamma - _SRGB_GAMMA) < _NEAR_GAMMA):
        return None
    curve = b"curv" + bytes(4) + struct.pack(">IH", 1, round(256 / gamma))
    if is_grey:
        return _profile(b"GRAY", {b"wtpt": _xyz(_D50), b"kTRC": curve})
    columns = _colorants(xy)
    if columns is None:
        return None
    tags = {name: _xyz(tuple(columns[:, i])) for i, name in enumerate((b"rXYZ", b"gXYZ", b"bXYZ"))}
    return _profile(b"RGB ", {b"wtpt": _xyz(_D50), **tags, b"rTRC": curve, b"gTRC": curve, b"bTRC": curve})


def _before_pixels(path: Path) -> Iterator[tuple[bytes, bytes]]:
    """Give the small chunks that stand before the pixels; whatever is odd ends the reading."""
    with path.open("rb") as file:
        if file.read(8) != _SIGNATURE:
            return
        for _ in range(_MOST_CHUNKS):
            head = file.read(8)
            if len(head) < 8:
                return
            length, name = struct.unpack(">I4s", head)
            if name in (b"IDAT", b"IEND"):
                return
            data = file.read(length) if length <= _MOST_BYTES else b""
            file.seek(4 if length <= _MOST_BYTES else length + 4, 1)
            yield name, data


def _colorants(xy: tuple[float, ...]) -> np.ndarray | None:
    """Return the primaries (3, 3: X, Y, Z by red, green, blue) as seen under D50; None where they span no colours."""
    white, *primaries = ((xy[i], xy[i + 1]) for i in range(0, 8, 2))
    if min(y for _, y in (white, *primaries)) <= 0.01:
        return None
    columns = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in primaries]).T
    light = np.array([white[0] / white[1], 1.0, (1 - white[0] - white[1]) / white[1]])
    if abs(np.linalg.det(columns)) < 1e-4:
        return None
    columns = columns * np.linalg.solve(columns, light)
    seen, wanted = _CONES @ light, _CONES @ np.array(_D50)
    if min(seen) <= 0:
        return None
    return np.asarray(np.linalg.inv(_CONES) @ np.diag(wanted / seen) @ _CONES @ columns)


def _xyz(values: tuple[float, ...]) -> bytes:
    return b"XYZ " + bytes(4) + struct.pack(">3i", *(round(max(-30.0, min(30.0, float(v))) * 65536) for v in values))


def _profile(space: bytes, tags: dict[bytes, bytes]) -> bytes:
    """Return a display profile, ICC version 2 (header in clause 7.2, from memory), of these tags."""
    words = b"as the PNG states\x00"
    tags = {b"desc": b"desc" + bytes(4) + struct.pack(">I", len(words)) + words + bytes(78), **tags}
    at, table, body = 132 + 12 * len(tags), b"", b""
    for name, tag in tags.items():
        table += struct.pack(">4sII", name, at + len(body), len(tag))
        body += tag + bytes(-len(tag) % 4)
    head = struct.pack(">I4sI4s4s4s", 0, bytes(4), 0x02100000, b"mntr", space, b"XYZ ")
    head += bytes(12) + b"acsp" + bytes(28) + struct.pack(">3i", *(round(v * 65536) for v in _D50)) + bytes(48)
    whole = head + struct.pack(">I", len(tags)) + table + body
    return struct.pack(">I", len(whole)) + whole[4:]
