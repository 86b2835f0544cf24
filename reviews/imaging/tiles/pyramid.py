"""The stored tile pyramid: one uncompressed ZIP and a small index that says where each tile lies.

The tiles are IIIF Image API 3, level 0 (https://iiif.io/api/image/3.0/): a tile's address is
`x,y,w,h/w,h/0/default.jpg` in pixels of the full picture. Because nothing in the ZIP is compressed, a tile is
one contiguous run of bytes, and one ranged read serves it from a disk or from an object store.
Standard library only: the web side reads the index without loading a picture library.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from reviews.imaging.results import PyramidFacts, TileSpan

TILE_PX = 512
# A ZIP member needs a date; a fixed one makes the same picture give the same bytes.
_DATE = (1980, 1, 1, 0, 0, 0)


class TileIndex:
    """The index of one pyramid: its shape, and a span for each tile address."""

    def __init__(self, facts: PyramidFacts, spans: Mapping[str, tuple[int, int]]) -> None:
        self.facts = facts
        self._spans = spans

    def span(self, address: str) -> TileSpan | None:
        """Find a tile by its address; None when this pyramid has no such tile."""
        found = self._spans.get(address)
        return TileSpan(*found) if found else None

    def addresses(self) -> tuple[str, ...]:
        return tuple(self._spans)

    def to_bytes(self) -> bytes:
        facts = self.facts
        raw = {
            "width": facts.width_px,
            "height": facts.height_px,
            "tile": facts.tile_px,
            "scale_factors": facts.scale_factors,
            "n_tiles": facts.n_tiles,
            "spans": self._spans,
        }
        return json.dumps(raw, separators=(",", ":")).encode()


def read_index(data: bytes) -> TileIndex:
    """Read an index written by `TileIndex.to_bytes`."""
    raw = json.loads(data)
    spans = {address: (int(span[0]), int(span[1])) for address, span in raw["spans"].items()}
    scales = tuple(int(scale) for scale in raw["scale_factors"])
    return TileIndex(PyramidFacts(raw["width"], raw["height"], raw["tile"], scales, raw["n_tiles"]), spans)


def tile_span(index: bytes | TileIndex, address: str) -> TileSpan | None:
    """Say where the tile at an IIIF address lies in the pyramid file; None when there is no such tile."""
    return (index if isinstance(index, TileIndex) else read_index(index)).span(address)


def scale_factors(width_px: int, height_px: int) -> tuple[int, ...]:
    """List the levels of a picture: 1, 2, 4, … until all of it fits one tile."""
    scales = [1]
    while max(-(-width_px // scales[-1]), -(-height_px // scales[-1])) > TILE_PX:
        scales.append(scales[-1] * 2)
    return tuple(scales)


def tile_address(facts: PyramidFacts, scale: int, column: int, row: int) -> str:
    """Name the tile in a column and row of the level that shows 1/scale of the full size."""
    side = facts.tile_px * scale
    x, y = column * side, row * side
    width, height = min(side, facts.width_px - x), min(side, facts.height_px - y)
    return f"{x},{y},{width},{height}/{-(-width // scale)},{-(-height // scale)}/0/default.jpg"


class PyramidWriter:
    """Pack tiles one after another; `close` adds the description and gives the index."""

    def __init__(self, path: Path, width_px: int, height_px: int) -> None:
        scales = scale_factors(width_px, height_px)
        self.facts = PyramidFacts(width_px, height_px, TILE_PX, scales, 0)
        self._pack = zipfile.ZipFile(path, "w", zipfile.ZIP_STORED)
        self._spans: dict[str, tuple[int, int]] = {}
        self._n_tiles = 0

    def add(self, scale: int, column: int, row: int, jpeg: bytes) -> None:
        """Add the tile of one level, column and row."""
        address = tile_address(self.facts, scale, column, row)
        span = self._store(address, jpeg)
        self._spans[address] = span
        self._n_tiles += 1
        if scale == self.facts.scale_factors[-1]:
            # The standard's own name for the level that is one tile; the same bytes answer to both.
            self._spans["full" + address[address.index("/") :]] = span

    def _store(self, name: str, data: bytes) -> tuple[int, int]:
        member = zipfile.ZipInfo(name, _DATE)
        self._pack.writestr(member, data)
        return member.header_offset + len(member.FileHeader(False)), len(data)

    def close(self) -> TileIndex:
        """Write the description, end the file and give its index."""
        self._spans["info.json"] = self._store("info.json", json.dumps(self._description(), indent=1).encode())
        self._pack.close()
        facts = self.facts
        counted = PyramidFacts(facts.width_px, facts.height_px, TILE_PX, facts.scale_factors, self._n_tiles)
        return TileIndex(counted, self._spans)

    def _description(self) -> dict[str, Any]:
        facts, last = self.facts, self.facts.scale_factors[-1]
        return {
            "@context": "http://iiif.io/api/image/3/context.json",
            # A file does not know the address it will be served at; whoever serves it does.
            "id": "pyramid",
            "type": "ImageService3",
            "protocol": "http://iiif.io/api/image",
            "profile": "level0",
            "width": facts.width_px,
            "height": facts.height_px,
            "sizes": [{"width": -(-facts.width_px // last), "height": -(-facts.height_px // last)}],
            "tiles": [{"width": TILE_PX, "scaleFactors": list(facts.scale_factors)}],
        }
