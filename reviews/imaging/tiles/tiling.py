"""Cut a picture into the tiles of its pyramid, in one pass from top to bottom. Runs in the confined child only."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from reviews.imaging._vips import Region
from reviews.imaging.arrays import Pixels
from reviews.imaging.tiles.pyramid import TILE_PX, PyramidWriter, TileIndex

# Keeps pencil grain; measured 40 KB for a tile of painted art.
TILE_QUALITY = 82
# Rows converted at a time: what a wide CMYK picture has in memory at once goes by this.
_FETCHED_ROWS = 64


# A pixel whose colour stands out from its neighbour's by so much (red less green, or blue less green) is part of a thin
# coloured line or edge; from so many of them on, one in 500, the colour is kept at full size.
_COLOUR_STEP, _COLOUR_SHARE = 40, 0.002


def jpeg(pixels: Any, quality: int) -> bytes:
    """Encode grey, or colour with blue first, as JPEG; colour at full size only where thin coloured lines need it."""
    how = [cv2.IMWRITE_JPEG_QUALITY, quality]
    if pixels.ndim == 3 and has_coloured_line(pixels):
        how += [cv2.IMWRITE_JPEG_SAMPLING_FACTOR, cv2.IMWRITE_JPEG_SAMPLING_FACTOR_444]
    done, data = cv2.imencode(".jpg", pixels, how)
    if not done:
        raise RuntimeError("a JPEG could not be written")
    return data.tobytes()


def has_coloured_line(pixels: Pixels) -> bool:
    """Whether halving the colour (4:2:0) would take it from thin lines; one pixel in sixteen is asked."""
    one, other = pixels[:-1:4, :-1:4].astype(np.int16), pixels[1::4, 1::4].astype(np.int16)
    if not one.size:
        return False
    steps = np.maximum(*(np.abs((one[..., c] - one[..., 1]) - (other[..., c] - other[..., 1])) for c in (0, 2)))
    return float((steps > _COLOUR_STEP).mean()) > _COLOUR_SHARE


class _Level:
    """One level of the pyramid: takes rows from above, gives tiles to the pack and half of itself to the next."""

    def __init__(self, writer: PyramidWriter, scale: int) -> None:
        self._writer, self._scale = writer, scale
        self._rows: list[Pixels] = []
        self._n_rows = 0
        self._tile_row = 0
        self._next = _Level(writer, scale * 2) if scale < writer.facts.scale_factors[-1] else None

    def take(self, rows: Pixels) -> None:
        """Take some rows: exactly as many as fill a tile, or half as many when they come from the level above."""
        self._rows.append(rows)
        self._n_rows += rows.shape[0]
        if self._n_rows >= TILE_PX:
            self._flush()

    def end(self) -> None:
        """Give away what is left at the bottom of the picture."""
        if self._n_rows:
            self._flush()
        if self._next is not None:
            self._next.end()

    def _flush(self) -> None:
        band = self._rows[0] if len(self._rows) == 1 else np.concatenate(self._rows)
        self._rows, self._n_rows = [], 0
        for column, left in enumerate(range(0, band.shape[1], TILE_PX)):
            tile = jpeg(band[:, left : left + TILE_PX], TILE_QUALITY)
            self._writer.add(self._scale, column, self._tile_row, tile)
        self._tile_row += 1
        if self._next is not None:
            self._next.take(_half(band))


def _half(band: Pixels) -> Pixels:
    down, across = band.shape[0] % 2, band.shape[1] % 2
    if down or across:
        band = cv2.copyMakeBorder(band, 0, down, 0, across, cv2.BORDER_REPLICATE)  # type: ignore[assignment]
    size = (band.shape[1] // 2, band.shape[0] // 2)
    return cv2.resize(band, size, interpolation=cv2.INTER_AREA)  # type: ignore[return-value]


def cut(shown: Any, path: Path, forget: Callable[[], None]) -> TileIndex:
    """Cut an image (sRGB or grey, as it is looked at) into a pyramid file.

    `forget` is called after each few rows, so that the memory its source took can be given back.
    """
    writer = PyramidWriter(path, shown.width, shown.height)
    level, region = _Level(writer, 1), Region.new(shown)
    for top in range(0, shown.height, TILE_PX):
        n_rows = min(TILE_PX, shown.height - top)
        band = np.empty((n_rows, shown.width, 3) if shown.bands == 3 else (n_rows, shown.width), np.uint8)
        for at in range(0, n_rows, _FETCHED_ROWS):
            part = band[at : at + _FETCHED_ROWS]
            fetched = np.frombuffer(region.fetch(0, top + at, shown.width, part.shape[0]), np.uint8).reshape(part.shape)
            if shown.bands == 3:
                cv2.cvtColor(fetched, cv2.COLOR_RGB2BGR, dst=part)
            else:
                part[:] = fetched
            forget()
        level.take(band)
    level.end()
    return writer.close()
