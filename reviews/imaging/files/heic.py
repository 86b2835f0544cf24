"""HEIC as phones write it: HEVC in a HEIF container, which the engine's wheel does not carry.

Turning and mirroring stand in the container and are undone by the decoder; an EXIF orientation beside them is only
a copy, which readers must leave aside (ISO/IEC 23008-12, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pillow_heif
from numpy.typing import NDArray

from reviews.imaging.files.heif_items import pictures_in


class HeicError(Exception):
    """The container or its picture cannot be read; the message is the library's."""


# What the library and Python's layer over it raise for broken files.
_COMPLAINTS = (OSError, ValueError, RuntimeError, EOFError, SyntaxError, IndexError)


@dataclass(frozen=True, kw_only=True)
class HeicHeader:
    """What stands in the header. Sizes are of the picture as it is looked at; `bits` per channel as stored."""

    width_px: int
    height_px: int
    mode: str
    bits: int
    n_pages: int
    profile: bytes | None


def read_header(path: Path, page: int) -> HeicHeader | None:
    """Read one picture's header; None where the file has no such page. Raises HeicError for damage."""
    try:
        file = pillow_heif.open_heif(path)
        if len(file) == 0:
            raise HeicError("truncated: no picture is in the container")
        order = _order(file, path)
        if page >= len(order):
            return None
        image: Any = file[order[page]]
        width, height = image.size
        mode = {"L": "GREY", "LA": "GREYA"}.get(image.mode, image.mode)
        return HeicHeader(
            width_px=width,
            height_px=height,
            mode=mode,
            bits=int(image.info.get("bit_depth", 8)),
            n_pages=len(order),
            profile=image.info.get("icc_profile") or None,
        )
    except _COMPLAINTS as problem:
        raise HeicError(str(problem)) from problem


def read_pixels(path: Path, page: int) -> NDArray[np.uint8]:
    """Decode one picture whole, (rows, columns, channels) uint8; deeper ones are brought to 8 bits."""
    try:
        file = pillow_heif.open_heif(path, convert_hdr_to_8bit=True)
        pixels: NDArray[np.uint8] = np.ascontiguousarray(np.asarray(file[_order(file, path)[page]]))
    except _COMPLAINTS as problem:
        raise HeicError(str(problem)) from problem
    return pixels if pixels.ndim == 3 else pixels[:, :, None]


def _order(file: Any, path: Path) -> tuple[int, ...]:
    """Page 0 is the primary picture, wherever it stands in the file; cells of a grid are no pages."""
    whole = pictures_in(path, len(file))
    return (file.primary_index, *(n for n in whole if n != file.primary_index))
