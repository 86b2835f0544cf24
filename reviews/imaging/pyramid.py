"""The stored tile pyramid: one uncompressed ZIP and a small index that says where each tile lies.

The tiles are IIIF Image API 3, level 0 (https://iiif.io/api/image/3.0/): a tile's address is
`x,y,w,h/w,h/0/default.jpg` in pixels of the full picture. Because nothing in the ZIP is compressed, a tile is one
contiguous run of bytes, and one ranged read serves it from a disk or from an object store.
Standard library only: the web side reads the index without loading a picture library.
"""

from __future__ import annotations

import json
import struct
import zipfile
from collections.abc import Mapping
from pathlib import Path

from reviews.imaging.results import PyramidFacts, TileSpan

TILE_PX = 512
_LOCAL_HEADER = struct.Struct("<4s22xHH")


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
        return json.dumps({
            "width": facts.width_px, "height": facts.height_px, "tile": facts.tile_px,
            "scale_factors": list(facts.scale_factors),
            "spans": {address: list(span) for address, span in self._spans.items()},
        }, separators=(",", ":")).encode()


def read_index(data: bytes) -> TileIndex:
    """Read an index written by `TileIndex.to_bytes`."""
    raw = json.loads(data)
    spans = {address: (int(span[0]), int(span[1])) for address, span in raw["spans"].items()}
    facts = PyramidFacts(raw["width"], raw["height"], raw["tile"], tuple(raw["scale_factors"]), len(spans))
    return TileIndex(facts, spans)


def tile_span(index: bytes | TileIndex, address: str) -> TileSpan | None:
    """Say where the tile at an IIIF address lies in the pyramid file; None when there is no such tile."""
    return (index if isinstance(index, TileIndex) else read_index(index)).span(address)


def tile_address(facts: PyramidFacts, scale: int, column: int, row: int) -> str:
    """Name the tile in a column and row of the level that shows 1/scale of the full size."""
    side = facts.tile_px * scale
    x, y = column * side, row * side
    width, height = min(side, facts.width_px - x), min(side, facts.height_px - y)
    return f"{x},{y},{width},{height}/{-(-width // scale)},{-(-height // scale)}/0/default.jpg"


def index_pyramid(pyramid_file: Path) -> TileIndex:
    """Walk the ZIP that the tiler wrote and note where each tile's bytes begin and end.

    The ZIP's own directory gives the start of each *header*; the data begins after a name and an extra field whose
    lengths stand in that header, so each is read once here rather than at every request.
    """
    spans: dict[str, tuple[int, int]] = {}
    with zipfile.ZipFile(pyramid_file) as pack, pyramid_file.open("rb") as raw:
        info_name = next(name for name in pack.namelist() if name.endswith("info.json"))
        prefix = info_name.removesuffix("info.json")
        shape = json.loads(pack.read(info_name))
        for member in pack.infolist():
            if not member.filename.startswith(prefix) or member.compress_type != zipfile.ZIP_STORED:
                continue
            raw.seek(member.header_offset)
            _, n_name, n_extra = _LOCAL_HEADER.unpack(raw.read(_LOCAL_HEADER.size))
            start = member.header_offset + _LOCAL_HEADER.size + n_name + n_extra
            spans[member.filename.removeprefix(prefix)] = (start, member.file_size)
    tiles = shape["tiles"][0]
    facts = PyramidFacts(shape["width"], shape["height"], tiles["width"], tuple(tiles["scaleFactors"]), len(spans))
    return TileIndex(facts, spans)
