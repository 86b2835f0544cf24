"""Pictures and where their bytes lie."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from reviews import storage
from reviews.imaging.results import INDEX_NAME, METHOD, PYRAMID_NAME
from reviews.imaging.tiles.pyramid import TileIndex, read_index, tile_span
from reviews.models import Book, Note, Picture
from reviews.queries.store_turns import store_turn
from reviews.rules.states import PictureState


def sha256_of(picture_id: int) -> str:
    """Name a picture's content (1 query)."""
    return Picture.objects.values_list("sha256", flat=True).get(pk=picture_id)


def with_places(book: Book, numbers: Iterable[int]) -> dict[int, Picture]:
    """Fetch pictures of a book by their numbers, each with its passage, spread and stage (1 query).

    Whether a seat may see them was asked where the numbers were found.
    """
    rows = Picture.objects.select_related("hand_in__passage__spread", "hand_in__passage__stage")
    found = rows.filter(hand_in__passage__book=book).in_bulk(set(numbers))
    for row in found.values():
        row.hand_in.passage.book = book
    return found


def is_marked(sha256: str) -> bool:
    """Say whether a note lies on a picture of this content (1 query)."""
    return Note.objects.filter(picture__sha256=sha256).exists()


def facts_of(sha256: str) -> tuple[tuple[int, int], dict[str, Any]] | None:
    """Give the size and the facts of a content as it was read, None where it was not (1 query)."""
    found = Picture.objects.filter(sha256=sha256, state=PictureState.READY).order_by("pk").first()
    return ((found.width_px or 0, found.height_px or 0), found.facts) if found else None


def is_waiting_to_be_read(picture_id: int) -> bool:
    """Say whether nobody has read this picture yet (1 query)."""
    return Picture.objects.filter(pk=picture_id, state=PictureState.RECEIVED).exists()


def read_before(sha256: str) -> Picture | None:
    """Find a picture of the same content that was read by the present method, all of whose renditions stand.

    1 query, and on S3 a few small requests where there is one.
    """
    ready = Picture.objects.filter(sha256=sha256, state=PictureState.READY, facts__method=METHOD)
    found = ready.order_by("pk").first()
    return found if found is not None and storage.has_renditions(sha256) else None


def rendition(picture: Picture, file_name: str) -> bytes | None:
    """Read a small rendition whole; None while it is not made yet, or where nothing is left of it."""
    name = storage.rendition_name(picture.sha256, file_name)
    if not picture.has_preview:
        return None
    with store_turn():
        return (storage.read_all(name) or None) if storage.exists(name) else None


def tile(picture: Picture, address: str) -> bytes | None:
    """Read one tile by its IIIF address: one ranged read, the index is kept in memory.

    None where there is no such tile, and where the files were lost: the night's look at the store makes them again.
    """
    if not picture.facts.get("scale_factors"):
        return None
    try:
        with store_turn():
            span = tile_span(_index(picture.sha256, picture.facts.get("made_again", 0)), address)
            if span is None:
                return None
            name = storage.rendition_name(picture.sha256, PYRAMID_NAME)
            read = storage.read_span(name, span.offset, span.length)
    except (FileNotFoundError, ValueError):
        return None
    return read if len(read) == span.length else None


@lru_cache(maxsize=64)
def _index(sha256: str, made_again: int) -> TileIndex:
    # Named by content and by how often it was read anew, so what is kept here is never out of date.
    return read_index(storage.read_all(storage.rendition_name(sha256, INDEX_NAME)))
