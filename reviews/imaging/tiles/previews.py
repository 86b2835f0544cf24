"""Make the preview, the thumb and the tiles from one decode. Runs inside the confined child only.

The file is decoded once, strip by strip. Each strip is shrunk in its own colour space for the preview, and set
aside uncompressed at 8 bits for the tiles; the preview is converted and shown at once, then the tiles are cut from
what was set aside. Decoding twice would cost a quarter more; holding a large picture would cost its size in memory.
"""

from __future__ import annotations

import mmap
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from reviews.imaging._vips import Image, Region
from reviews.imaging.arrays import Pixels
from reviews.imaging.files.colour import Colour, device_8bit, to_srgb
from reviews.imaging.results import (
    INDEX_NAME,
    PREVIEW_NAME,
    PREVIEW_PX,
    PYRAMID_NAME,
    THUMB_NAME,
    THUMB_PX,
    fitted,
)
from reviews.imaging.tiles import tiling
from reviews.imaging.tiles.pyramid import TileIndex

PREVIEW_QUALITY = 88
THUMB_QUALITY = 82
# Rows decoded at a time; a power of two, so that every shrink factor divides it. More rows only cost memory.
STRIP_ROWS = 128
# A decoded picture up to this size stays in memory until its tiles are cut; a larger one goes to a file.
HELD_BYTES = 96 << 20
_TURNS: dict[int, tuple[int | None, int | None]] = {
    1: (None, None),
    2: (None, 1),
    3: (cv2.ROTATE_180, None),
    4: (None, 0),
    5: (cv2.ROTATE_90_CLOCKWISE, 1),
    6: (cv2.ROTATE_90_CLOCKWISE, None),
    7: (cv2.ROTATE_90_COUNTERCLOCKWISE, 1),
    8: (cv2.ROTATE_90_COUNTERCLOCKWISE, None),
}
_VIPS_TURNS = {
    1: (),
    2: ("fliphor",),
    3: ("rot180",),
    4: ("flipver",),
    5: ("rot90", "fliphor"),
    6: ("rot90",),
    7: ("rot270", "fliphor"),
    8: ("rot270",),
}


@dataclass(frozen=True, kw_only=True)
class SetAside:
    """A decoded picture in its file's own colour space: whole, and small enough to work on at once.

    `small` is (rows, columns, channels) uint8, one pixel for each block of `shrunk_by` x `shrunk_by`. `whole` is
    the same without the shrinking, as bytes; `forget` gives back the memory that reading a part of it took.
    """

    whole: Any
    forget: Callable[[], None]
    small: Pixels
    width_px: int
    height_px: int
    shrunk_by: int

    @property
    def n_channels(self) -> int:
        return int(self.small.shape[2])


def set_aside(image: Any, path: Path, *, least_px: int = PREVIEW_PX, keep_whole: bool = True) -> SetAside:
    """Decode a sequential image once; the small copy's longer side is `least_px` or more where the picture's is."""
    device = device_8bit(image)
    by = shrink_factor(device.width, device.height, least_px)
    shape = {"width_px": device.width, "height_px": device.height, "shrunk_by": by}
    n_bytes = device.width * device.height * device.bands
    if n_bytes <= HELD_BYTES:
        whole = np.frombuffer(device.write_to_memory(), np.uint8)
        small = halved(whole.reshape(device.height, device.width, device.bands), by)
        return SetAside(whole=whole, forget=lambda: None, small=small, **shape)
    with path.open("w+b", buffering=0) as out:
        small = _by_strips(device, by, out.write if keep_whole else lambda strip: 0)
        if not keep_whole:
            return SetAside(whole=b"", forget=lambda: None, small=small, **shape)
        out.flush()
        filed = mmap.mmap(out.fileno(), 0)
    return SetAside(whole=filed, forget=lambda: filed.madvise(mmap.MADV_DONTNEED), small=small, **shape)


def _by_strips(device: Any, by: int, keep: Callable[[Any], int]) -> Pixels:
    """Decode from top to bottom, hand each strip on as it comes, and give the small copy."""
    small = np.empty((-(-device.height // by), -(-device.width // by), device.bands), np.uint8)
    region = Region.new(device)
    for top in range(0, device.height, STRIP_ROWS):
        rows = min(STRIP_ROWS, device.height - top)
        strip = region.fetch(0, top, device.width, rows)
        keep(strip)
        shrunk = halved(np.frombuffer(strip, np.uint8).reshape(rows, device.width, device.bands), by)
        small[top // by : top // by + shrunk.shape[0]] = shrunk
    return small


def shrink_factor(width_px: int, height_px: int, least_px: int) -> int:
    """The largest power of two (at most a strip) that leaves the longer side at a wished size or above."""
    by = 1
    while by < STRIP_ROWS and max(width_px, height_px) // (by * 2) >= least_px:
        by *= 2
    return by


def halved(pixels: Pixels, by: int) -> Pixels:
    """Average blocks of 2 x 2, again and again until `by` pixels have become one.

    At an odd edge the last pixel stands for the one that is missing.
    """
    while by > 1:
        rows, columns, n_channels = pixels.shape
        if rows % 2 or columns % 2:
            pixels = np.pad(pixels, ((0, rows % 2), (0, columns % 2), (0, 0)), mode="edge")
        size = (pixels.shape[1] // 2, pixels.shape[0] // 2)
        shrunk = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
        pixels = shrunk.reshape(size[1], size[0], n_channels).astype(np.uint8, copy=False)
        by //= 2
    return pixels


def small_rgb(kept: SetAside, longest_px: int, read_as: Colour, orientation: int) -> Pixels:
    """Make a converted, turned copy of at most `longest_px`: (rows, columns, 3) uint8, red first."""
    small = _small(kept, longest_px)
    shown = to_srgb(small, read_as)
    pixels: Pixels = np.frombuffer(shown.write_to_memory(), np.uint8).reshape(small.height, small.width, shown.bands)
    return turned_pixels(np.repeat(pixels, 3, axis=2) if shown.bands == 1 else pixels, orientation)


def small_device(kept: SetAside, longest_px: int) -> Pixels:
    """Make a copy of at most `longest_px` in the file's own colours, not turned: (rows, columns, channels) uint8."""
    small = _small(kept, longest_px)
    return np.frombuffer(small.write_to_memory(), np.uint8).reshape(small.height, small.width, small.bands)


def _small(kept: SetAside, longest_px: int) -> Any:
    width, height = fitted(kept.width_px, kept.height_px, longest_px)
    small = _image(kept.small, kept.small.shape[1], kept.small.shape[0], kept.n_channels)
    if (small.width, small.height) != (width, height):
        # The small copy's last column and row may stand for less than a whole block of source pixels. Scaling by
        # the source's size rather than the copy's keeps every mark in its place.
        across, down = width * kept.shrunk_by / kept.width_px, height * kept.shrunk_by / kept.height_px
        small = small.resize(across, vscale=down).crop(0, 0, width, height)
    return small


def turned_pixels(pixels: Pixels, orientation: int) -> Pixels:
    """Turn pixels as an EXIF orientation of 1 to 8 asks."""
    rotate, mirror = _TURNS[orientation]
    if rotate is not None:
        pixels = np.asarray(cv2.rotate(pixels, rotate), np.uint8)
    return pixels if mirror is None else np.asarray(cv2.flip(pixels, mirror), np.uint8)


def _image(data: Any, width: int, height: int, n_channels: int) -> Any:
    return Image.new_from_memory(
        np.ascontiguousarray(data) if isinstance(data, np.ndarray) else data, width, height, n_channels, "uchar"
    )


def write_small(kept: SetAside, folder: Path, read_as: Colour, orientation: int) -> Path:
    """Write the preview and the thumb; gives the preview's path."""
    preview = cv2.cvtColor(small_rgb(kept, PREVIEW_PX, read_as, orientation), cv2.COLOR_RGB2BGR)
    height, width = preview.shape[:2]
    thumb = cv2.resize(preview, fitted(width, height, THUMB_PX), interpolation=cv2.INTER_AREA)
    (folder / THUMB_NAME).write_bytes(tiling.jpeg(thumb, THUMB_QUALITY))
    (folder / PREVIEW_NAME).write_bytes(tiling.jpeg(preview, PREVIEW_QUALITY))
    return folder / PREVIEW_NAME


def write_tiles(kept: SetAside, folder: Path, read_as: Colour, orientation: int) -> TileIndex:
    """Cut the tiles into one uncompressed ZIP and write the index beside it."""
    shown = to_srgb(_image(kept.whole, kept.width_px, kept.height_px, kept.n_channels), read_as)
    for step in _VIPS_TURNS[orientation]:
        shown = getattr(shown, step)()
    index = tiling.cut(shown, folder / PYRAMID_NAME, kept.forget)
    (folder / INDEX_NAME).write_bytes(index.to_bytes())
    return index
