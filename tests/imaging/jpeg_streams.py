"""Two small encoders of JPEG (ITU-T T.81), for streams that our picture libraries read but do not write."""

from __future__ import annotations

import struct

import numpy as np
from numpy.typing import NDArray

# One code of five bits for each category of a difference; all ones stays free, as section C asks. The last category
# is for coding without loss alone.
_CATEGORIES, _CODE_BITS = tuple(range(17)), 5
_LOSSLESS = 0xC3


def lossless(samples: NDArray[np.unsignedinteger], bits: int) -> bytes:
    """Write (rows, columns) or (rows, columns, channels) without loss, each sample told by the one before it."""
    values = samples.reshape(*samples.shape[:2], -1).astype(np.int64)
    told = np.empty_like(values)
    told[:, 1:], told[1:, 0], told[0, 0] = values[:, :-1], values[:-1, 0], 1 << (bits - 1)
    differences = ((values - told + 32768) % 65536 - 32768).reshape(-1)
    differences[differences == -32768] = 32768
    return _stream(_LOSSLESS, values.shape, bits, _coded(differences, b""), tables=b"", scan=(1, 0, 0))


def flat_blocks(shades: NDArray[np.unsignedinteger], bits: int) -> bytes:
    """Write a grey picture of flat blocks of 8 x 8 pixels by cosines, one block for each shade of (rows, columns)."""
    # The mean of a block is an eighth of its first coefficient; by a quantiser of 8 they are the same.
    means = shades.astype(np.int64).reshape(-1) - (1 << (bits - 1))
    differences = np.diff(means, prepend=0)
    shape = (shades.shape[0] * 8, shades.shape[1] * 8, 1)
    quantiser = _segment(0xDB, b"\x00" + bytes([8]) * 64)
    # Of the other coefficients there is only "no more": one code of two bits.
    others = _segment(0xC4, bytes((0x10, 0, 1, *[0] * 14, 0)))
    return _stream(0xC1, shape, bits, _coded(differences, b"00"), tables=quantiser + others, scan=(0, 63, 0))


def _coded(differences: NDArray[np.int64], after: bytes) -> bytes:
    bits = []
    for difference in differences.tolist():
        category = abs(difference).bit_length()
        bits.append(f"{category:0{_CODE_BITS}b}")
        if 0 < category < 16:
            extra = difference if difference > 0 else difference + (1 << category) - 1
            bits.append(f"{extra:0{category}b}")
        bits.append(after.decode())
    row = "".join(bits)
    row += "1" * (-len(row) % 8)
    return int(row, 2).to_bytes(len(row) // 8, "big").replace(b"\xff", b"\xff\x00")


def _stream(
    frame: int, shape: tuple[int, ...], bits: int, data: bytes, *, tables: bytes, scan: tuple[int, int, int]
) -> bytes:
    rows, columns, n = shape
    parts = b"".join(bytes((1 + each, 0x11, 0)) for each in range(n))
    heads = _segment(frame, struct.pack(">BHHB", bits, rows, columns, n) + parts)
    counts = [0] * 16
    categories = _CATEGORIES if frame == _LOSSLESS else _CATEGORIES[:-1]
    counts[_CODE_BITS - 1] = len(categories)
    heads += _segment(0xC4, bytes((0, *counts, *categories))) + tables
    heads += _segment(0xDA, bytes((n,)) + b"".join(bytes((1 + each, 0)) for each in range(n)) + bytes(scan))
    return b"\xff\xd8" + heads + data + b"\xff\xd9"


def _segment(marker: int, body: bytes) -> bytes:
    return bytes((0xFF, marker)) + struct.pack(">H", len(body) + 2) + body
