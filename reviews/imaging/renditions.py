"""The pictures that are shown: a preview at once, a thumb, and the zoom tiles."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from reviews.imaging.child import sandbox
from reviews.imaging.decode import DEFAULT_LIMITS, facts_from, unreadable
from reviews.imaging.limits import Limits
from reviews.imaging.results import (
    INDEX_NAME,
    PREVIEW_NAME,
    PYRAMID_NAME,
    THUMB_NAME,
    PictureFacts,
    PyramidFacts,
    Refusal,
    Renditions,
)
from reviews.imaging.tiles.pyramid import TileIndex, read_index, tile_address, tile_span

__all__ = ["TileIndex", "make_renditions", "read_index", "tile_address", "tile_span"]


def make_renditions(
    path: Path,
    out_dir: Path,
    *,
    on_preview: Callable[[Path, PictureFacts], None] | None = None,
    page: int = 0,
    ppi: float | None = None,
    is_strict: bool = True,
    limits: Limits = DEFAULT_LIMITS,
) -> Renditions | Refusal:
    """Write preview.jpg, thumb.jpg, mini.jpg, pyramid.zip and pyramid.json for a picture into a folder.

    Parameters
    ----------
    path : the original; read, never written.
    out_dir : an existing folder; needs room for the decoded picture (up to 4 bytes a pixel) while it works.
    on_preview : called with the preview's path and the facts as soon as there is something to show; preview and
        thumb are both written by then.
    page, ppi : which page of a TIFF or PDF, and how finely to draw a PDF page (300 when None).
    is_strict : refuse a JPEG whose data are damaged; not of one that was accepted before, whose renditions were lost.

    Notes
    -----
    Runs in a confined child; memory does not grow with the picture, save for interlaced and progressive files.
    A refusal may come after `on_preview`, when damage lies further in; nothing in the folder is then to be kept.
    """
    refused = unreadable(path)
    if refused is not None:
        return refused

    def heard(event: sandbox.Event) -> None:
        if event["event"] == "preview" and on_preview is not None:
            on_preview(Path(event["path"]), facts_from(event["facts"]))

    request = {"path": str(path.resolve()), "folder": str(out_dir.resolve()), "page": page, "ppi": ppi}
    request["is_strict"] = is_strict
    answer = sandbox.run("render", request, limits, heard)
    if isinstance(answer, Refusal):
        return answer
    shape = answer["pyramid"] | {"scale_factors": tuple(answer["pyramid"]["scale_factors"])}
    return Renditions(
        facts=facts_from(answer["facts"]),
        pyramid=PyramidFacts(**shape),
        preview=out_dir / PREVIEW_NAME,
        thumb=out_dir / THUMB_NAME,
        pyramid_file=out_dir / PYRAMID_NAME,
        index_file=out_dir / INDEX_NAME,
        colours=tuple((code, share) for code, share in answer["colours"]),
        cpu_seconds=answer["cpu_seconds"],
        peak_bytes=answer["peak_bytes"],
    )
