"""Whole TIFFs whose samples lie as few programs store them, written by hand or by another library."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import tifffile
from numpy.typing import NDArray

from tests.imaging.jpeg_streams import flat_blocks, lossless
from tests.imaging.picture_files import SIZE, packbits, quarters

NONE, JPEG, DEFLATE, PACKBITS = 1, 7, 8, 32773
GREY, RGB = 1, 2


def tiff_bytes(
    size: tuple[int, int],
    bits: Sequence[int],
    pieces: Sequence[bytes],
    *,
    compression: int = NONE,
    photometric: int = RGB,
    order: str = "<",
    more: Sequence[tuple[int, Sequence[int]]] = (),
    rows: int | None = None,
) -> bytes:
    """Lay out a TIFF of strips (`rows` to each), or of tiles where `more` tells of these (TIFF 6.0 section 2)."""
    data, places = bytearray(8), []
    for piece in pieces:
        places.append(len(data))
        data += piece + b"\0" * (len(piece) % 2)
    is_tiled = 322 in dict(more)
    tags = {256: size[:1], 257: size[1:], 258: bits, 259: (compression,), 262: (photometric,), 277: (len(bits),)}
    tags |= {324 if is_tiled else 273: places, 325 if is_tiled else 279: [len(piece) for piece in pieces], **dict(more)}
    tags |= {} if is_tiled else {278: (rows or size[1],)}
    entries = []
    for tag, values in sorted(tags.items()):
        packed = struct.pack(f"{order}{len(values)}I", *values)
        if len(packed) > 4:
            at = len(data)
            data += packed
            packed = struct.pack(f"{order}I", at)
        entries.append(struct.pack(f"{order}HHI", tag, 4, len(values)) + packed)
    at = len(data)
    data += struct.pack(f"{order}H", len(entries)) + b"".join(entries) + b"\0" * 4
    data[:8] = (b"II" if order == "<" else b"MM") + struct.pack(f"{order}HI", 42, at)
    return bytes(data)


def packed(samples: NDArray[np.unsignedinteger], bits: int) -> bytes:
    """Pack rows of samples of fewer than 16 bits, each row from a byte of its own."""
    rows = samples.reshape(samples.shape[0], -1).astype(np.uint16)
    single = (rows[..., None] >> np.arange(bits - 1, -1, -1, dtype=np.uint16)) & 1
    return np.packbits(single.reshape(len(rows), -1).astype(np.uint8), axis=1).tobytes()


def art(top: int = 255) -> NDArray[np.uint16]:
    """The quarters with numbers from 0 to `top`, cut so that rows of 12 bits end within a byte."""
    whole = np.asarray(quarters()).astype(np.float64)[:, : SIZE[0] - 1]
    return (whole * (top / 255)).round().astype(np.uint16)


def _twelve(order: str, compression: int) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        samples, rows = art(4095), 50
        strips = [packed(samples[top : top + rows], 12) for top in range(0, len(samples), rows)]
        coder = {NONE: bytes, DEFLATE: zlib.compress, PACKBITS: packbits}[compression]
        size = samples.shape[1], samples.shape[0]
        path.write_bytes(
            tiff_bytes(size, (12,) * 3, [coder(one) for one in strips], compression=compression, order=order, rows=rows)
        )

    return write


def _in_planes(bits: int) -> Callable[[Path], None]:
    def write(path: Path) -> None:
        samples = art(2**bits - 1)
        planes = [packed(samples[..., n], bits) for n in range(3)]
        size = samples.shape[1], samples.shape[0]
        path.write_bytes(tiff_bytes(size, (bits,) * 3, planes, more=[(284, (2,))]))

    return write


def _twelve_in_tiles(path: Path) -> None:
    samples = np.pad(art(4095), ((0, -len(art()) % 64), (0, -art().shape[1] % 64), (0, 0)))
    tiles = [
        packed(samples[top : top + 64, left : left + 64], 12)
        for top in range(0, samples.shape[0], 64)
        for left in range(0, samples.shape[1], 64)
    ]
    size = art().shape[1], art().shape[0]
    path.write_bytes(tiff_bytes(size, (12,) * 3, tiles, more=[(322, (64,)), (323, (64,))]))


def _by_another(stored: Callable[[], NDArray[np.generic]], **options: object) -> Callable[[Path], None]:
    return lambda path: tifffile.imwrite(path, stored(), photometric="rgb", **options)


def _planes(kind: type) -> NDArray[np.generic]:
    """The art plane by plane, floating point as linear light."""
    shares = art().transpose(2, 0, 1) / 255
    if np.issubdtype(kind, np.floating):
        return linear(shares).astype(kind)
    return np.ascontiguousarray((shares * np.iinfo(kind).max).round().astype(kind))


def linear(shares: NDArray[np.floating]) -> NDArray[np.floating]:
    """Undo the coding of sRGB (IEC 61966-2-1)."""
    return np.where(shares <= 0.04045, shares / 12.92, ((shares + 0.055) / 1.055) ** 2.4)


def wide(kind: type) -> NDArray[np.generic]:
    """Spread the art over the whole range of 64-bit numbers, as far as a double goes."""
    top = float(np.iinfo(kind).max)
    return (art() / 255 * top).clip(0, np.nextafter(top, 0)).astype(kind)


def _predicted_tiles(path: Path) -> None:
    """64-bit floating point in tiles, each row's bytes sorted by their weight and told by those before (its note 3)."""
    values = np.pad(linear(art() / 255), ((0, -len(art()) % 64), (0, -art().shape[1] % 64), (0, 0)))
    tiles = []
    for top in range(0, values.shape[0], 64):
        for left in range(0, values.shape[1], 64):
            octets = values[top : top + 64, left : left + 64].astype(">f8").view(np.uint8).reshape(64, -1, 8)
            row = octets.transpose(0, 2, 1).reshape(64, -1)
            row[:, 3:] -= row[:, :-3].copy()
            tiles.append(zlib.compress(row.tobytes()))
    more = [(322, (64,)), (323, (64,)), (317, (3,)), (339, (3,) * 3)]
    size = art().shape[1], art().shape[0]
    path.write_bytes(tiff_bytes(size, (64,) * 3, tiles, compression=DEFLATE, more=more))


def _lossless_colour(path: Path) -> None:
    samples = art().astype(np.uint8)
    size = samples.shape[1], samples.shape[0]
    path.write_bytes(tiff_bytes(size, (8,) * 3, [lossless(samples, 8)], compression=JPEG))


# Name of a form -> (bits that are told, how far a level may be off, how it is written); all show `art`.
READ: dict[str, tuple[int, int, Callable[[Path], None]]] = {
    "12 bits": (12, 0, _twelve("<", NONE)),
    "12 bits, other byte order, Deflate": (12, 0, _twelve(">", DEFLATE)),
    "12 bits, PackBits": (12, 0, _twelve("<", PACKBITS)),
    "12 bits in tiles": (12, 0, _twelve_in_tiles),
    "12 bits by plane": (12, 0, _in_planes(12)),
    "10 bits by plane": (10, 1, _in_planes(10)),
    "14 bits by plane": (14, 0, _in_planes(14)),
    "4 bits by plane": (4, 9, _in_planes(4)),
    "tiles by plane": (8, 0, _by_another(lambda: _planes(np.uint8), planarconfig="separate", tile=(64, 64))),
    "16-bit tiles by plane": (16, 0, _by_another(lambda: _planes(np.uint16), planarconfig="separate", tile=(64, 64))),
    "16-bit tiles by plane, Deflate": (
        16, 0, _by_another(lambda: _planes(np.uint16), planarconfig="separate", tile=(64, 64), compression="zlib",
                           predictor=2, byteorder=">"),
    ),
    "16-bit floating point by plane": (16, 1, _by_another(lambda: _planes(np.float16), planarconfig="separate")),
    "64-bit floating point": (64, 1, _by_another(lambda: linear(art() / 255))),
    "64-bit floating point, other byte order": (64, 1, _by_another(lambda: linear(art() / 255), byteorder=">")),
    "64-bit floating point by plane": (64, 1, _by_another(lambda: _planes(np.float64), planarconfig="separate")),
    "64-bit floating point, predicted, in tiles": (64, 1, _predicted_tiles),
    "64-bit whole numbers": (64, 0, _by_another(lambda: wide(np.uint64))),
    "64-bit whole numbers with a sign": (64, 0, _by_another(lambda: wide(np.int64))),
    "lossless JPEG": (8, 0, _lossless_colour),
}  # fmt: skip


def grey_jpeg_of_12_bits(path: Path, *, is_lossless: bool) -> NDArray[np.uint8]:
    """Write a grey TIFF of flat blocks as a 12-bit JPEG; gives what it shows at 8 bits."""
    shades = np.linspace(0, 4095, 48).round().astype(np.uint16).reshape(6, 8)
    whole = np.kron(shades, np.ones((8, 8), np.uint16))
    stream = lossless(whole, 12) if is_lossless else flat_blocks(shades, 12)
    path.write_bytes(tiff_bytes((64, 48), (12,), [stream], compression=JPEG, photometric=GREY))
    return (whole.astype(np.float64) * (255 / 4095)).round().astype(np.uint8)
