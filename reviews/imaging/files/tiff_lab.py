"""Lab in a TIFF, which the picture library does not read at 8 bits: its pixels are let through as they are.

The library refuses 8-bit CIE Lab ("bad labq format") and guesses at 16-bit. So the one tag that names the colour space
is changed in a scratch copy, the samples come through untouched whatever their compression, and are read here. By hand
for memory's sake: another library would hold all pixels of the page, where this one streams them. Sample coding after
TIFF 6.0 section 23 (photometric 8: a and b signed) and Adobe's ICCLab note (9: offset); checked against tifffile over
files that it writes. Standard library only, save for the image that is handed in.
"""

from __future__ import annotations

import shutil
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from reviews.imaging.files import tiff_tags

_BITS, _PHOTOMETRIC = 258, 262
_AS_RGB = 2
_SIGNED, _OFFSET = 8, 9


@dataclass(frozen=True)
class LabPage:
    """Where a page names its colour space, and how its samples are coded."""

    tag_at: int
    order: str
    is_signed: bool
    bits: int


def find(path: Path, page: int) -> LabPage | None:
    """Look at one page's tags; None unless it is Lab at 8 or 16 bits."""
    try:
        with path.open("rb") as file:
            return _find(file, page)
    except tiff_tags.UNREADABLE:
        # Cut short, or pointing where no file reaches: the library will say so in its own way.
        return None


def _find(file: BinaryIO, page: int) -> LabPage | None:
    tags = tiff_tags.short_tags(file, page, (_BITS, _PHOTOMETRIC))
    if _PHOTOMETRIC not in tags.values or _BITS not in tags.values:
        return None
    (coding, *_), (bits, *_) = tags.values[_PHOTOMETRIC], tags.values[_BITS]
    if coding not in (_SIGNED, _OFFSET) or bits not in (8, 16):
        return None
    return LabPage(tags.at[_PHOTOMETRIC], tags.order, coding == _SIGNED, bits)


def let_through(path: Path, page: LabPage, copy: Path) -> None:
    """Write a copy of the file whose page claims to be RGB."""
    if copy.exists():
        return
    shutil.copyfile(path, copy)
    with copy.open("r+b") as file:
        file.seek(page.tag_at)
        file.write(struct.pack(f"{page.order}H", _AS_RGB))


def decoded(image: Any, page: LabPage) -> Any:
    """Turn the samples that came through into Lab: L 0 to 100, a and b about 0."""
    full, half = (256, 128) if page.bits == 8 else (65536, 32768)
    lightness, around = image[0] * (100 / (full - 1)), image.extract_band(1, n=2)
    around = ((around + half) % full) - half if page.is_signed else around - half
    return lightness.bandjoin(around * (256 / full)).copy(interpretation="lab")
