"""Hold what is shown of a picture against what was read of it, and make it again where it is wrong.

What this can tell: that all four files are there; that preview and thumbnail decode to their last row and have the size
that follows from the picture's; that the index describes a picture of that size; that every tile's bytes are those that
were packed (CRC-32), each where the index says. What it cannot tell: whether they show the right picture, since a
rendition has no fingerprint of its own. Making it again from the original is the only proof, and `repair` does that.
"""

from __future__ import annotations

import io
import json
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from PIL import Image

from reviews import storage
from reviews.actions.pictures import keep_colours
from reviews.imaging.renditions import make_renditions
from reviews.imaging.results import (
    INDEX_NAME,
    PREVIEW_NAME,
    PREVIEW_PX,
    PYRAMID_NAME,
    RENDITION_NAMES,
    THUMB_NAME,
    THUMB_PX,
    Refusal,
    fitted,
)
from reviews.imaging.tiles.pyramid import TileIndex, read_index

_LONGEST = {PREVIEW_NAME: PREVIEW_PX, THUMB_NAME: THUMB_PX}


def wrong_renditions(sha256: str, size_px: tuple[int, int]) -> list[tuple[str, str]]:
    """List (code, stored name) of every rendition that is missing or wrong."""
    found = []
    for each in RENDITION_NAMES:
        name = storage.rendition_name(sha256, each)
        if not storage.exists(name):
            found.append(("rendition-missing", name))
        elif not _is_right(sha256, each, size_px):
            found.append(("rendition-wrong", name))
    return found


def make_again(sha256: str) -> bool:
    """Make all renditions of a picture from its original, in place of what stands; say whether that could be done."""
    with (
        storage.open_original_locally(sha256) as original,
        tempfile.TemporaryDirectory(prefix="renditions-") as name,
    ):
        made = make_renditions(original, Path(name), is_strict=False)
        if isinstance(made, Refusal):
            return False
        storage.keep_renditions(sha256, Path(name), anew=True)
        keep_colours(sha256, made.colours)
    return True


def _is_right(sha256: str, each: str, size_px: tuple[int, int]) -> bool:
    try:
        if each in _LONGEST:
            return _picture_is_right(storage.rendition_name(sha256, each), fitted(*size_px, _LONGEST[each]))
        index = read_index(storage.read_all(storage.rendition_name(sha256, INDEX_NAME)))
        if each == INDEX_NAME:
            return (index.facts.width_px, index.facts.height_px) == size_px and index.facts.n_tiles > 0
        return _pyramid_is_right(storage.rendition_name(sha256, PYRAMID_NAME), index)
    except (OSError, SyntaxError, ValueError, KeyError, TypeError, zipfile.BadZipFile, Image.DecompressionBombError):
        # A file of noise can stop its reader in any of these ways; each means the same here.
        return False


def _picture_is_right(name: str, size: tuple[int, int]) -> bool:
    with Image.open(io.BytesIO(storage.read_all(name))) as image:
        image.load()
        return image.size == size


def _pyramid_is_right(name: str, index: TileIndex) -> bool:
    with _opened(name) as file, zipfile.ZipFile(file) as pack:
        if pack.testzip() is not None:
            return False
        lengths = {info.filename: info.file_size for info in pack.infolist()}
        for address in index.addresses():
            span = index.span(address)
            if span is None or (address in lengths and lengths[address] != span.length):
                return False
        description: dict[str, Any] = json.loads(pack.read("info.json"))
        whole = index.facts.n_tiles + 1 == len(lengths)
        return whole and (description["width"], description["height"]) == (index.facts.width_px, index.facts.height_px)


@contextmanager
def _opened(name: str) -> Iterator[Any]:
    # A store's own file object downloads the whole into a temporary file at the first read, which is what is wanted.
    with storage.open_stored(name) as stored:
        yield stored
