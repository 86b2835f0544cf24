"""How a page of a TIFF stores its samples, and whether the picture library reads them so, or we do, or nobody here.

Tags after TIFF 6.0. Standard library only.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, BinaryIO, Literal

from reviews.imaging.files import tiff_tags

Numbers = Literal["whole", "signed", "floating", "complex", "unknown"]
# How what is not usual is read: bytes taken apart here, planes put together here, or decoded by another library.
Reading = Literal["bytes", "planes", "twelve-bit-jpeg"]

WIDTH, HEIGHT, BITS, COMPRESSION, PHOTOMETRIC, N_CHANNELS, PLANAR = 256, 257, 258, 259, 262, 277, 284
PREDICTOR, TILE_WIDTH, TILE_HEIGHT, EXTRA, FORMAT = 317, 322, 323, 338, 339
STRIP_AT, STRIP_BYTES, STRIP_ROWS, TILE_AT, TILE_BYTES = 273, 279, 278, 324, 325
NONE, JPEG = 1, 7
_TAGS = frozenset({
    WIDTH, HEIGHT, BITS, COMPRESSION, PHOTOMETRIC, N_CHANNELS, PLANAR, PREDICTOR, TILE_WIDTH, TILE_HEIGHT, FORMAT,
    STRIP_AT, STRIP_BYTES, TILE_AT, TILE_BYTES,
})  # fmt: skip
_NUMBERS: dict[int, Numbers] = {1: "whole", 2: "signed", 3: "floating", 5: "complex", 6: "complex"}
# None, LZW, Deflate under its two numbers, PackBits: what leaves the bytes as they were.
_PLAIN = frozenset({1, 5, 8, 32773, 32946})
_USUAL_COMPRESSION = _PLAIN | {JPEG}
_FAX = frozenset({2, 3, 4})  # CCITT, for black and white alone
_INVERTED, _GREY, _RGB, _INKS = 0, 1, 2, 5
_NO_PREDICTOR, _FLOATING_PREDICTOR = 1, 3
_MOST_CHANNELS = 64
# The ways in which a JPEG is coded, by the low half of its frame marker (ITU-T T.81 table B.1).
_LOSSLESS = (3, 7, 11, 15)
_JPEG_HEAD = 1 << 16


@dataclass(frozen=True, kw_only=True)
class Storage:
    """What a page's tags say of its samples; `at` and `lengths` are those of its strips or tiles.

    `tile` is width and height, or None for strips. `jpeg_bits` and `is_lossless` are those of the first strip or tile,
    0 and False where that is no JPEG.
    """

    size: tuple[int, int]
    n_channels: int
    bits: int
    numbers: Numbers
    compression: int
    photometric: int
    is_planar: bool
    predictor: int
    tile: tuple[int, int] | None
    at: tuple[int, ...]
    lengths: tuple[int, ...]
    order: str
    jpeg_bits: int = 0
    is_lossless: bool = False

    @property
    def is_usual(self) -> bool:
        """Whether the picture library reads samples that are stored so: what it complains of is damage then."""
        if self.compression == JPEG and (self.is_lossless or self.jpeg_bits not in (0, 8)):
            return False
        is_unpacked = self.bits in (2, 4) and self.n_channels == 1 and self.numbers == "whole"
        is_number = self.bits in (1, 8, 16, 32) and self.numbers in ("whole", "signed", "floating")
        is_coded = self.compression in _USUAL_COMPRESSION or (self.bits == 1 and self.compression in _FAX)
        return (is_number or is_unpacked) and is_coded and not (self.is_planar and self.tile is not None)

    @property
    def reading(self) -> Reading | None:
        """How samples are read that the picture library does not read, None where it does or nobody here does."""
        if self.compression == JPEG and self.bits == 12:
            is_bare = self.n_channels == 1 and self.photometric == _GREY
            return "twelve-bit-jpeg" if is_bare and self.numbers == "whole" else None
        if self.photometric not in (_INVERTED, _GREY, _RGB, _INKS) or not self._is_complete:
            return None
        if self._are_bytes_ours:
            return "bytes"
        is_half = self.numbers == "floating" and self.bits == 16
        is_split = self.is_planar and (self.tile is not None or is_half)
        is_carried = self.bits in (8, 16, 32) and self.compression in _USUAL_COMPRESSION and self.photometric
        return "planes" if is_split and is_carried else None

    def told(self) -> dict[str, Any]:
        """Give what a sentence needs to say what this is."""
        return {
            "bits": self.jpeg_bits or self.bits,
            "numbers": self.numbers,
            "compression": self.compression,
            "is_lossless": self.is_lossless,
            "is_planar": self.is_planar,
            "n_channels": self.n_channels,
        }

    @property
    def _are_bytes_ours(self) -> bool:
        if self.compression not in _PLAIN:
            return False
        if self.numbers == "floating":
            predicted = self.predictor == _FLOATING_PREDICTOR and not self.is_planar
            return self.bits == 64 and bool(self.photometric) and (self.predictor == _NO_PREDICTOR or predicted)
        if self.predictor != _NO_PREDICTOR:
            return False
        if self.bits == 64:
            return self.numbers in ("whole", "signed") and bool(self.photometric)
        is_packed = 2 <= self.bits < 16 and self.bits != 8
        # The library unpacks two and four bits of grey itself.
        return is_packed and self.numbers == "whole" and (self.n_channels > 1 or self.bits not in (2, 4))

    @property
    def _is_complete(self) -> bool:
        n_planes = self.n_channels if self.is_planar else 1
        n = len(self.at)
        return 0 < n == len(self.lengths) and n % n_planes == 0 and 0 < self.n_channels <= _MOST_CHANNELS


def storage_at(path: Path, page: int) -> Storage | None:
    """Read how a page is stored; None where its tags cannot be read. Channels that differ have 0 bits."""
    try:
        with path.open("rb") as file:
            return _storage(file, page)
    except tiff_tags.UNREADABLE:
        return None


def _storage(file: BinaryIO, page: int) -> Storage | None:
    order, tags = tiff_tags.number_tags(file, page, _TAGS)
    bits, forms = set(tags.get(BITS, (1,))), set(tags.get(FORMAT, (1,)))
    if WIDTH not in tags or HEIGHT not in tags:
        return None

    def one(tag: int, otherwise: int) -> int:
        return tags.get(tag, (otherwise,))[0]

    is_tiled = TILE_WIDTH in tags and TILE_HEIGHT in tags
    found = Storage(
        size=(one(WIDTH, 0), one(HEIGHT, 0)),
        n_channels=one(N_CHANNELS, 1),
        bits=bits.pop() if len(bits) == 1 else 0,
        numbers=_NUMBERS.get(forms.pop(), "unknown") if len(forms) == 1 else "unknown",
        compression=one(COMPRESSION, NONE),
        photometric=one(PHOTOMETRIC, _GREY),
        is_planar=one(PLANAR, 1) == 2 and one(N_CHANNELS, 1) > 1,
        predictor=one(PREDICTOR, _NO_PREDICTOR),
        tile=(one(TILE_WIDTH, 0), one(TILE_HEIGHT, 0)) if is_tiled else None,
        at=tags.get(TILE_AT if is_tiled else STRIP_AT, ()),
        lengths=tags.get(TILE_BYTES if is_tiled else STRIP_BYTES, ()),
        order=order,
    )
    if found.compression != JPEG or not found.at:
        return found
    file.seek(found.at[0])
    jpeg_bits, is_lossless = _jpeg_frame(file.read(_JPEG_HEAD))
    return replace(found, jpeg_bits=jpeg_bits, is_lossless=is_lossless)


def _jpeg_frame(data: bytes) -> tuple[int, bool]:
    """Give the bits of a sample of a JPEG, and whether it is coded without loss; 0 and False where it has no frame."""
    at = 2
    while at + 5 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            return data[at + 4], marker & 0x0F in _LOSSLESS
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return 0, False
