"""Read a TIFF's samples where the picture library does not: 12 bits, 64 bits, a tile for each plane, 12-bit JPEG.

The library is handed the file under other labels (`tiff_relabel`) and gives bytes, or planes; what they mean is put
together by its own operations, so that pixels stream here too. Only 12-bit JPEG is decoded whole, by Pillow, whose
libtiff can: grey alone. Packing after TIFF 6.0; byte planes of floating-point numbers after its technical note 3;
checked against tifffile and imagecodecs. Runs inside the confined child only.
"""

from __future__ import annotations

from functools import reduce
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image as PillowImage

from reviews.imaging._vips import Image
from reviews.imaging.files import tiff_relabel, tiff_storage
from reviews.imaging.files.tiff_relabel import Labels
from reviews.imaging.files.tiff_storage import Storage

_GREY, _UNSPECIFIED = 1, 0
_PREDICTED_BYTES = 2
_ROWS, _MOST_HELD = 8, 32


class Undecodable(Exception):
    """The other library could not decode what a file of this kind holds."""


def relabelled(path: Path, copy: Path, page: int, storage: Storage) -> None:
    """Write the copy that `header` and `samples` read: its page has a header that the library takes."""
    tiff_relabel.relabel(path, copy, page, _header_labels(storage), _labels(storage))


def header(copy: Path, page: int) -> Any:
    """Give an image that is right in all but its pixels, which are not to be read."""
    return _load(copy, page)


def n_further(storage: Storage) -> int:
    """Say how many pages the copy has beyond those of the file."""
    return len(_labels(storage))


def samples(path: Path, copy: Path, page: int, storage: Storage, fail_on: str) -> Any:
    """Give every channel as 16 bits or as floating point, in a sequential image."""
    like = header(copy, page)
    if storage.reading == "twelve-bit-jpeg":
        image = _twelve_bit_jpeg(path, page, storage)
    else:
        first = like.get("n-pages") - n_further(storage)
        planes = [_load(copy, first + n, fail_on) for n in range(n_further(storage))]
        if storage.reading == "bytes":
            planes = [_meant(plane, storage, 1 if storage.is_planar else storage.n_channels) for plane in planes]
        image = planes[0].bandjoin(planes[1:]) if len(planes) > 1 else planes[0]
    out = like.copy()  # its resolution, profile and direction
    return _with_metadata(image.copy(interpretation=like.interpretation), out)


def _with_metadata(image: Any, like: Any) -> Any:
    image = image.copy(xres=like.xres, yres=like.yres)
    for name in like.get_fields():
        if name in ("icc-profile-data", "orientation", "resolution-unit", "n-pages"):
            image.set_type(like.get_typeof(name), name, like.get(name))
    return image


def _header_labels(storage: Storage) -> Labels:
    n, wide = storage.n_channels, storage.numbers == "floating" or storage.bits == 64
    form = {"floating": 3, "signed": 2}.get(storage.numbers, 1)
    return {
        tiff_storage.BITS: (storage.bits if storage.bits in (8, 16, 32) and not wide else 32 if wide else 16,) * n,
        tiff_storage.FORMAT: (form,) * n,
        tiff_storage.COMPRESSION: (tiff_storage.NONE,),
        tiff_storage.PLANAR: (1,),
        tiff_storage.STRIP_AT: storage.at[:1],
        tiff_storage.STRIP_BYTES: storage.lengths[:1],
        tiff_storage.STRIP_ROWS: (storage.size[1],),
    } | dict.fromkeys(
        (tiff_storage.PREDICTOR, tiff_storage.TILE_WIDTH, tiff_storage.TILE_HEIGHT, tiff_storage.TILE_AT,
         tiff_storage.TILE_BYTES)
    )  # fmt: skip


def _labels(storage: Storage) -> list[Labels]:
    """Give the labels of each further page: one for each plane of the samples."""
    if storage.reading == "twelve-bit-jpeg":
        return []
    n_planes = storage.n_channels if storage.is_planar else 1
    each = len(storage.at) // n_planes
    is_tiled = storage.tile is not None
    at, lengths = (
        (tiff_storage.TILE_AT, tiff_storage.TILE_BYTES) if is_tiled
        else (tiff_storage.STRIP_AT, tiff_storage.STRIP_BYTES)
    )  # fmt: skip
    as_what = _as_bytes(storage) if storage.reading == "bytes" else _as_plane(storage)
    return [
        as_what
        | {
            tiff_storage.PLANAR: (1,),
            tiff_storage.PHOTOMETRIC: (_GREY,),
            at: storage.at[n * each : (n + 1) * each],
            lengths: storage.lengths[n * each : (n + 1) * each],
        }
        for n in range(n_planes)
    ]


def _as_plane(storage: Storage) -> dict[int, Any]:
    form = {"floating": 3, "signed": 2}.get(storage.numbers, 1)
    return {
        tiff_storage.N_CHANNELS: (1,),
        tiff_storage.BITS: (storage.bits,),
        tiff_storage.FORMAT: (form,),
        tiff_storage.EXTRA: None,
    }


def _as_bytes(storage: Storage) -> dict[int, Any]:
    """Label samples as bytes: a grey picture of a row's bytes, or where they were predicted, as wide as that asks."""
    n_channels = 1 if storage.is_planar else storage.n_channels
    width, across = storage.size[0], storage.tile[0] if storage.tile else storage.size[0]
    n_across = -(-width // across)
    if storage.predictor != 1:
        bands, row = n_channels, across * storage.bits // 8
    else:
        bands, row = 1, -(-across * n_channels * storage.bits // 8)
    out: dict[int, Any] = {
        tiff_storage.WIDTH: (row * n_across,),
        tiff_storage.N_CHANNELS: (bands,),
        tiff_storage.BITS: (8,) * bands,
        tiff_storage.FORMAT: (1,) * bands,
        tiff_storage.EXTRA: (_UNSPECIFIED,) * (bands - 1) or None,
        tiff_storage.PREDICTOR: (_PREDICTED_BYTES,) if storage.predictor != 1 else None,
    }
    return out | {tiff_storage.TILE_WIDTH: (row,)} if storage.tile else out


def _meant(plane: Any, storage: Storage, n_channels: int) -> Any:
    """Turn bytes into what they mean: 16 bits, or floating point."""
    if storage.bits < 16:
        image = _unpacked(plane, storage, n_channels)
    elif storage.predictor != 1:
        image = _from_byte_planes(plane, storage)
    else:
        image = _from_eight(plane.bandfold(factor=8), storage).bandfold(factor=n_channels)
    # Each step holds as many rows as it is asked for at once.
    return image.crop(0, 0, *storage.size).tilecache(
        tile_width=storage.size[0], tile_height=_ROWS, max_tiles=_MOST_HELD, access="sequential"
    )


def _unpacked(plane: Any, storage: Storage, n_channels: int) -> Any:
    """Take samples of fewer than 16 bits out of their bytes: eight samples lie in as many bytes as one has bits."""
    bits, top = storage.bits, 2**storage.bits - 1
    groups = -(-plane.width // bits)
    octets = plane.embed(0, 0, groups * bits, plane.height).bandfold(factor=bits)
    found = []
    for n in range(8):
        first, last = n * bits // 8, (n * bits + bits - 1) // 8
        whole = reduce(lambda high, low: high * 256 + low, (octets[at].cast("uint") for at in range(first, last + 1)))
        found.append(((whole.cast("uint") >> ((last + 1) * 8 - (n + 1) * bits)) & top).cast("ushort"))
    row = found[0].bandjoin(found[1:]).bandunfold(factor=8)
    n_whole = row.width // n_channels
    values = row.crop(0, 0, n_whole * n_channels, row.height).bandfold(factor=n_channels)
    spread = (values * (65535 / top)).rint().cast("ushort")
    return (65535 - spread).cast("ushort") if storage.photometric == 0 else spread


def _from_eight(octets: Any, storage: Storage) -> Any:
    """Join eight bytes to a number: floating point, or the upper half of a whole number."""
    ordered = [octets[n if storage.order == "<" else 7 - n] for n in range(8)]
    if storage.numbers == "floating":
        return ordered[0].bandjoin(ordered[1:]).copy(format="double", bands=1).cast("float")
    upper = ordered[4].bandjoin(ordered[5:])
    return upper.copy(format="int" if storage.numbers == "signed" else "uint", bands=1)


def _from_byte_planes(plane: Any, storage: Storage) -> Any:
    """Join floating-point numbers whose rows, in each tile, hold all first bytes, then all second ones, and so on."""
    across = storage.tile[0] if storage.tile else storage.size[0]
    columns = []
    for left in range(0, plane.width, 8 * across):
        planes = [plane.crop(left + n * across, 0, across, plane.height) for n in range(7, -1, -1)]
        bands = []
        for band in range(plane.bands):
            eight = [one[band] for one in planes]
            bands.append(eight[0].bandjoin(eight[1:]).copy(format="double", bands=1).cast("float"))
        columns.append(bands[0].bandjoin(bands[1:]) if len(bands) > 1 else bands[0])
    return Image.arrayjoin(columns, across=len(columns)) if len(columns) > 1 else columns[0]


def _twelve_bit_jpeg(path: Path, page: int, storage: Storage) -> Any:
    # Its size was checked against the limits before.
    PillowImage.MAX_IMAGE_PIXELS = None
    try:
        with PillowImage.open(path, formats=["TIFF"]) as opened:
            opened.seek(page)
            if opened.size != storage.size or opened.mode != "I;16":
                raise Undecodable("the other library sees another picture")
            pixels = np.asarray(opened)
    except (OSError, SyntaxError, ValueError, EOFError, TypeError, KeyError) as problem:
        raise Undecodable(str(problem)) from problem
    image = Image.new_from_memory(pixels.data, storage.size[0], storage.size[1], 1, "ushort")
    return (image * (65535 / 4095)).rint().cast("ushort")


def _load(path: Path, page: int, fail_on: str = "error") -> Any:
    return Image.tiffload(str(path), access="sequential", fail_on=fail_on, page=page)
