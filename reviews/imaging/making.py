"""Make the preview, the thumb and the tiles from one decode. Runs inside the confined child only.

The file is decoded once, strip by strip. Each strip is shrunk in its own colour space for the preview, and set aside
uncompressed at 8 bits for the tiles; the preview is converted and told at once, then the tiles are cut from what was
set aside. Decoding twice would cost a quarter more; holding the picture would cost its size in memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from reviews.imaging import pyramid, tiff_shell
from reviews.imaging._vips import Image, Region
from reviews.imaging.colour import Colour, device_8bit, to_srgb
from reviews.imaging.results import PREVIEW_NAME, PYRAMID_NAME, THUMB_NAME, INDEX_NAME

PREVIEW_PX = 2048
THUMB_PX = 480
# Rows decoded at a time; a power of two, so that every shrink factor divides it.
STRIP_ROWS = 256
# Rows to a strip of the file set aside: small, so that the tiler holds little.
_KEPT_ROWS = 32
PREVIEW_SAVE = {"Q": 88, "keep": "none"}
THUMB_SAVE = {"Q": 82, "keep": "none"}
# Quality 82 keeps pencil grain; measured 40 KB for a 512 px tile of painted art.
TILE_SUFFIX = ".jpg[Q=82,keep=none]"
_TURNS = {1: (), 2: ("fliphor",), 3: ("rot180",), 4: ("flipver",), 5: ("rot90", "fliphor"), 6: ("rot90",),
          7: ("rot270", "fliphor"), 8: ("rot270",)}


@dataclass(frozen=True)
class SetAside:
    """A decoded picture: all of it in a file, and a small copy in memory, both in the file's own colour space."""

    path: Path
    width_px: int
    height_px: int
    n_channels: int
    small: Any
    shrunk_by: int


def set_aside(image: Any, path: Path, *, least_px: int = PREVIEW_PX) -> SetAside:
    """Decode a sequential image once, into a file and a copy whose longer side is still `least_px` or more."""
    device = device_8bit(image)
    by = shrink_factor(device.width, device.height, least_px)
    smalls = []
    with path.open("w+b") as out:
        tiff_shell.start(out)
        region = Region.new(device)
        for top in range(0, device.height, STRIP_ROWS):
            rows = min(STRIP_ROWS, device.height - top)
            strip = region.fetch(0, top, device.width, rows)
            out.write(strip)
            held = Image.new_from_memory(strip, device.width, rows, device.bands, "uchar")
            smalls.append(held.shrink(by, by, ceil=True).copy_memory())
        _finish(out, device)
    small = Image.arrayjoin(smalls, across=1).crop(0, 0, smalls[0].width, sum(each.height for each in smalls))
    return SetAside(path, device.width, device.height, device.bands, small, by)


def _finish(out: BinaryIO, device: Any) -> None:
    row_bytes = device.width * device.bands
    tops = range(0, device.height, _KEPT_ROWS)
    tiff_shell.finish(out, tiff_shell.Shell(
        device.width, device.height, device.bands, 8, {1: "GREY", 3: "RGB", 4: "CMYK"}[device.bands], _KEPT_ROWS,
        [tiff_shell.HEADER_BYTES + top * row_bytes for top in tops],
        [min(_KEPT_ROWS, device.height - top) * row_bytes for top in tops],
    ))


def shrink_factor(width_px: int, height_px: int, least_px: int = PREVIEW_PX) -> int:
    """The largest power of two (at most a strip) that leaves the longer side at a wished size or above."""
    by = 1
    while by < STRIP_ROWS and max(width_px, height_px) // (by * 2) >= least_px:
        by *= 2
    return by


def fitted(width_px: int, height_px: int, longest_px: int) -> tuple[int, int]:
    """The size of a picture made to fit a square; never enlarged, never under one pixel."""
    scale = min(1.0, longest_px / max(width_px, height_px))
    return max(1, round(width_px * scale)), max(1, round(height_px * scale))


def turned(image: Any, orientation: int) -> Any:
    """Turn a picture as its EXIF orientation asks."""
    for step in _TURNS.get(orientation, ()):
        image = getattr(image, step)()
    return image


def small_picture(kept: SetAside, longest_px: int, read_as: Colour, orientation: int) -> Any:
    """Make a converted, turned copy of at most `longest_px`, held in memory."""
    width, height = fitted(kept.width_px, kept.height_px, longest_px)
    small = kept.small
    if (width, height) != (kept.width_px, kept.height_px):
        # The small copy's last column and row stand for less than a whole block of source pixels; scaling by the
        # source's size rather than the copy's keeps every mark within a tenth of a pixel of its place.
        small = small.resize(width * kept.shrunk_by / kept.width_px, vscale=height * kept.shrunk_by / kept.height_px)
        small = small.crop(0, 0, min(width, small.width), min(height, small.height))
    return turned(to_srgb(small, read_as), orientation).copy_memory()


def read_at(image: Any, read_as: Colour, orientation: int, longest_px: int, scratch: Path) -> Any:
    """Decode an image and give it converted and turned as three bands, no side longer than asked, in memory."""
    kept = set_aside(image, scratch / "device.tif", least_px=longest_px)
    shown = small_picture(kept, longest_px, read_as, orientation)
    return shown if shown.bands == 3 else shown.bandjoin([shown, shown]).copy(interpretation="srgb")


def write_small(kept: SetAside, folder: Path, read_as: Colour, orientation: int) -> Path:
    """Write the preview and the thumb; gives the preview's path."""
    preview = small_picture(kept, PREVIEW_PX, read_as, orientation)
    preview.jpegsave(str(folder / PREVIEW_NAME), **PREVIEW_SAVE)
    scale = min(1.0, THUMB_PX / max(preview.width, preview.height))
    preview.resize(scale).jpegsave(str(folder / THUMB_NAME), **THUMB_SAVE)
    return folder / PREVIEW_NAME


def write_tiles(kept: SetAside, folder: Path, read_as: Colour, orientation: int) -> pyramid.TileIndex:
    """Cut the tiles into one uncompressed ZIP and write the index beside it."""
    access = "sequential" if orientation in (1, 2) else "random"
    full = Image.tiffload(str(kept.path), access=access)
    shown = turned(to_srgb(full, read_as), orientation)
    target = folder / PYRAMID_NAME
    shown.dzsave(
        str(target), layout="iiif3", container="zip", compression=0, tile_size=pyramid.TILE_PX, overlap=0,
        suffix=TILE_SUFFIX,
    )
    index = pyramid.index_pyramid(target)
    (folder / INDEX_NAME).write_bytes(index.to_bytes())
    return index
