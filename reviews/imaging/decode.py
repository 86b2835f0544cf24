"""The door: an untrusted file becomes checked facts, or a refusal. Nothing is decoded in this process.

Each call runs in a confined child (see `child.sandbox`): it never crashes and never hangs, whatever it is fed.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reviews.imaging.child import sandbox
from reviews.imaging.limits import Limits
from reviews.imaging.results import PageBox, PictureFacts, Refusal, SpotPlate

DEFAULT_LIMITS = Limits()


def examine(
    path: Path, *, page: int = 0, ppi: float | None = None, limits: Limits = DEFAULT_LIMITS
) -> PictureFacts | Refusal:
    """Say from its header what a file holds. Cheap, and cannot see damage further in; `check` can."""
    return _facts("examine", path, page, ppi, limits)


def check(
    path: Path, *, page: int = 0, ppi: float | None = None, limits: Limits = DEFAULT_LIMITS
) -> PictureFacts | Refusal:
    """Decode a file to its end and say what it holds, or why it cannot be taken."""
    return _facts("check", path, page, ppi, limits)


def _facts(task: str, path: Path, page: int, ppi: float | None, limits: Limits) -> PictureFacts | Refusal:
    refused = unreadable(path)
    if refused is not None:
        return refused
    answer = sandbox.run(task, {"path": str(path.resolve()), "page": page, "ppi": ppi}, limits)
    return answer if isinstance(answer, Refusal) else facts_from(answer["facts"])


def unreadable(path: Path) -> Refusal | None:
    """Refuse what is not a file at all, or one we may not read."""
    try:
        if path.is_file():
            with path.open("rb"):
                return None
    except OSError:
        pass
    return Refusal("not-found")


def facts_from(raw: dict[str, Any]) -> PictureFacts:
    """Rebuild facts that came through JSON (from the child, or from where they were stored)."""
    return PictureFacts(
        **raw
        | {
            "layer_names": tuple(raw["layer_names"]),
            "page_boxes": tuple(PageBox(**box) for box in raw["page_boxes"]),
            "plates": tuple(SpotPlate(**plate) for plate in raw.get("plates", ())),
        }
    )


def read_rgb(
    path: Path,
    longest_px: int,
    *,
    page: int = 0,
    ppi: float | None = None,
    is_strict: bool = True,
    limits: Limits = DEFAULT_LIMITS,
) -> NDArray[np.uint8] | Refusal:
    """Read a picture as it is looked at: sRGB, turned, over white.

    Parameters
    ----------
    longest_px : the longer side is reduced to this where it is longer; a picture is never enlarged.
    is_strict : refuse a JPEG whose data are damaged; not of one that was accepted and is shown.

    Returns
    -------
    (rows, columns, 3) uint8, red first; or a refusal.
    """
    refused = unreadable(path)
    if refused is not None:
        return refused
    with tempfile.TemporaryDirectory(prefix="pixels-") as folder:
        out = Path(folder) / "rgb"
        request = {"path": str(path.resolve()), "page": page, "ppi": ppi, "longest_px": longest_px, "out": str(out)}
        request["is_strict"] = is_strict
        answer = sandbox.run("read", request, limits)
        if isinstance(answer, Refusal):
            return answer
        return np.fromfile(out, dtype=np.uint8).reshape(answer["height"], answer["width"], 3)
